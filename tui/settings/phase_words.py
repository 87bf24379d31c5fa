"""The phases and their steps, as marks, logs and settings name them."""

PHASE_STEPS: dict[str, tuple[str, ...]] = {
    "setup": ("mount", "flush", "vented", "hold"),
    "saturation": ("b-check", "raise", "hold", "ramp"),
    "consolidation": ("build-up", "drained"),
    "shear": ("dock", "shear"),
    "ended": (),
    "interrupted": (),
}
"""Every phase with its steps."""

PHASE_WORDS = tuple(
    word
    for phase, steps in PHASE_STEPS.items()
    for word in (phase, *(f"{phase}/{step}" for step in steps))
)
"""What a log's phase column, or `[log] phases`, may lead to: `saturation`, `saturation/b-check`."""
