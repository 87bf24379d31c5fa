"""One cause, one alarm: what follows from another spell is listed under it, not announced."""

from dataclasses import replace

from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.spells import PRIORITIES, Spell

UNREAL = ("sensor-fault", "clock-jump")
"""What follows from these is in the readings alone."""
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
    "clock-jump": ("reading-missed",),
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
    "pore_pressure": ("saturation-stalled", "membrane-burst", "leak-membrane", "drainage-state"),
    "cell_pressure": (*_PRESSURES, "supply-lost"),
    "back_pressure": (*_PRESSURES, "supply-lost"),
    "back_volume": ("leak-drainage", "leak-membrane", "drainage-state", "volume-gauge-end"),
    "cell_volume": ("leak-cell", "leak-membrane"),
    "axial_displacement": ("shear-stopped", "rate-too-fast", "load-not-taken"),
    "axial_load": ("load-not-taken", "membrane-burst"),
    "temperature": ("temperature-swing",),
}
"""What a failed gauge seems to show."""


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
        if cause is None:
            found.append(spell)
            continue
        over = cause.cleared_at
        ends = spell.cleared_at
        if over is None or (ends is not None and ends <= over):
            found.append(replace(spell, held_back=cause.kind))
            continue
        found.append(replace(spell, held_back=cause.kind, cleared_at=over))
        if over > spell.raised_at:
            found.append(replace(spell, raised_at=over))
    return tuple(sorted(found, key=lambda spell: (spell.raised_at, spell.kind)))


def follows(spell: Spell, cause: Spell) -> bool:
    """Whether a spell is explained by another one.

    What is more urgent than its cause is told all the same, unless a gauge has failed or a clock
    was set: then it was never there.
    """
    if spell.kind in NEVER_HELD_BACK:
        return False
    if cause.kind == "sensor-fault" and (
        spell.about == cause.about or spell.kind in _blinded(cause.about)
    ):
        return spell.kind != "sensor-fault"
    if spell.kind not in CONSEQUENCES.get(cause.kind, ()):
        return False
    more_urgent = PRIORITIES.index(spell.priority) > PRIORITIES.index(cause.priority)
    return cause.kind in UNREAL or not more_urgent


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
