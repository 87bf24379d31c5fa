"""Alarms that rest on what is foreseen of a phase, and not on a reading alone.

They are told from the picture as it was drawn, so as of the reading that its forecast is made of.
Their onset is that of what they rest on, so that it does not depend on when somebody looks.
"""

from dataclasses import dataclass, replace

from reduce.forecast import SaturationForecast
from tui.bench.alarms.kinds import judged_in
from tui.bench.alarms.overdue import overdue
from tui.bench.alarms.rules.drained_course import DrainedCourse
from tui.bench.alarms.spells import Spell
from tui.bench.picture import BCheck, Cell
from tui.settings.alarm_limits import Limits
from tui.settings.cell_toml import CellToml

HARDLY = 0.05
"""A chance below this to reach the target is none: common practice, no source. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """What a cell's picture rests on, as far as alarms ask for it."""

    settings: CellToml
    limits: Limits
    cell: Cell
    """As it was drawn."""
    wetting: SaturationForecast | None = None
    """Of a saturation."""
    course: DrainedCourse | None = None
    """Of a consolidation."""
    now: float = 0.0
    """Not before the newest reading. [s]"""


def foreseen(ahead: Ahead, told: tuple[Spell, ...]) -> tuple[Spell, ...]:
    """The spells of the readings with those of what is foreseen.

    Args:
        ahead: what is foreseen.
        told: of the readings, in the order of raising.
    """
    phase = ahead.cell.phase
    if phase is None:
        return told
    judged = judged_in(phase.name, phase.step, ahead.settings.test.kind)
    found = list(told)
    if "saturation-stalled" in judged:
        found = _out_of_reach(ahead, found)
    if ahead.course is not None:
        found += overdue(ahead.course, ahead.now)
    return tuple(sorted(found, key=lambda spell: (spell.raised_at, spell.kind)))


def _out_of_reach(ahead: Ahead, told: list[Spell]) -> list[Spell]:
    """The target lies beyond the back-pressure limit: whatever stalls, this is why."""
    wetting, checks = ahead.wetting, _settled(ahead.cell.checks)
    target = ahead.settings.plan.b_target
    if wetting is None or wetting.reach is None or wetting.reach >= HARDLY or len(checks) < 2:
        return told
    last = checks[-1]
    if target <= last.B:
        return told
    said = f"B {last.B:.2f}, and {target:.2f} is out of reach: {ahead.cell.projection.basis}"
    open_one = next(
        (
            spell
            for spell in told
            if spell.kind == "saturation-stalled"
            and spell.cleared_at is None
            and spell.reason == "more pressure"
        ),
        None,
    )
    if open_one is not None:
        place = told.index(open_one)
        changed = replace(open_one, reason="out of reach", message=said)
        return [*told[:place], changed, *told[place + 1 :]]
    spell = Spell(
        "saturation-stalled", None, "urgent", last.at, last.at, message=said, reason="out of reach"
    )
    return [*told, spell]


def _settled(checks: tuple[BCheck, ...]) -> list[BCheck]:
    return [check for check in checks if check.settled]
