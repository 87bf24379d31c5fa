"""One cause, one alarm: what follows from another spell is listed under it, not announced."""

from dataclasses import replace

from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.spells import PRIORITIES, Spell

NEVER_HELD_BACK = ("over-pressure", "effective-stress-low")
TOGETHER_S = 120.0
"""A consequence may be seen this much before its cause. [s]"""

_FLOWS = ("leak-cell", "leak-drainage", "leak-membrane")
_PRESSURES = ("pressure-drift", "pressure-unsteady", "effective-stress-high")
CONSEQUENCES: dict[str, tuple[str, ...]] = {
    "supply-lost": (*_PRESSURES, *_FLOWS, "drainage-state", "saturation-stalled"),
    "membrane-burst": (
        *_PRESSURES, *_FLOWS, "drainage-state", "saturation-stalled", "load-not-taken",
        "volume-gauge-end", "consolidation-overdue", "shear-stopped",
    ),
    "log-silent": ("reading-missed", "shear-stopped", "watch-sparse", "sensor-fault"),
    "sensor-fault": ("reading-missed",),
    "shear-stopped": ("reading-missed", "load-not-taken"),
    "leak-membrane": (
        "leak-cell", "leak-drainage", "consolidation-overdue", "saturation-stalled",
        "drainage-state", "pressure-drift",
    ),
    "drainage-state": ("saturation-stalled", "consolidation-overdue", "leak-membrane"),
    "volume-gauge-end": ("drainage-state", "consolidation-overdue"),
    "pressure-drift": ("pressure-unsteady", *_FLOWS, "drainage-state"),
    "temperature-swing": (*_FLOWS,),
    "leak-drainage": ("consolidation-overdue",),
    "effective-stress-high": ("pressure-drift",),
    "over-pressure": ("pressure-drift", "effective-stress-high"),
}  # fmt: skip
"""By cause, what follows from it in the same cell: common practice, no source."""
BLINDED: dict[str, tuple[str, ...]] = {
    "cell_pressure": _PRESSURES,
    "back_pressure": _PRESSURES,
    "back_volume": ("leak-drainage",),
    "cell_volume": ("leak-cell",),
    "axial_displacement": ("rate-too-fast", "load-not-taken"),
    "axial_load": ("load-not-taken",),
    "temperature": ("temperature-swing",),
}
"""What a failed gauge seems to show, besides what is said of itself; nothing urgent is."""
GAUGE_ENDS = ("volume-gauge-end", "travel-limit")
"""A gauge that has come to its end shows at last more than it can: that follows from the end."""


def held_back(spells: tuple[Spell, ...]) -> tuple[Spell, ...]:
    """The same with consequences marked as such.

    A consequence that goes on when its cause has cleared is raised then, on its own.

    Args:
        spells: of one cell, in the order of raising.

    Returns:
        In the order of raising; one that outlasts its cause is there twice.
    """
    found: list[Spell] = []
    for spell in spells:
        cause = _cause_of(spell, spells)
        found += [spell] if cause is None else behind(spell, cause)
    return tuple(sorted(found, key=lambda spell: (spell.raised_at, spell.kind)))


def behind(spell: Spell, cause: Spell) -> list[Spell]:
    """A consequence as it is held back, and from when on it is told itself, if it goes on."""
    over, ends = cause.cleared_at, spell.cleared_at
    if over is None or (ends is not None and ends <= over):
        return [replace(spell, held_back=cause.kind)]
    held = replace(spell, held_back=cause.kind, cleared_at=over)
    return [held, replace(spell, raised_at=over)] if over > spell.raised_at else [held]


def follows(spell: Spell, cause: Spell) -> bool:
    """Whether a spell is explained by another one, which is as urgent at least.

    What is more urgent is told all the same, whatever seems to explain it: that a gauge failed, or
    that a clock was set, is no more than a guess at what its readings mean.
    """
    if spell.kind in NEVER_HELD_BACK:
        return False
    if PRIORITIES.index(spell.priority) > PRIORITIES.index(cause.priority):
        return False
    if spell.kind in CONSEQUENCES.get(cause.kind, ()):
        return True
    if cause.kind != "sensor-fault" or spell.kind in ("sensor-fault", *GAUGE_ENDS):
        return False
    return spell.about == cause.about or spell.kind in _blinded(cause.about)


def _blinded(channel: str | None) -> tuple[str, ...]:
    return BLINDED.get(channel or "", ())


def _cause_of(spell: Spell, spells: tuple[Spell, ...]) -> Spell | None:
    """The spell that it follows from: one that was there when it began."""
    causes = [
        one
        for one in spells
        if one is not spell
        and not KINDS[one.kind].of_bench  # of one cell alone it is no alarm yet
        and follows(spell, one)
        and one.since <= spell.since + TOGETHER_S
        and (one.cleared_at is None or one.cleared_at > spell.since)
        # Of two that could each follow from the other the earlier is the cause.
        and not (follows(one, spell) and _earlier(spell, one))
    ]
    return min(causes, key=lambda one: one.since, default=None)


def _earlier(a: Spell, b: Spell) -> bool:
    return (a.since, a.kind) < (b.since, b.kind)
