"""Alarms that rest on what is foreseen of a phase, and not on a reading alone.

They are told from the picture as it was drawn, so as of the reading that its forecast is made of.
Their onset is that of what they rest on, so that it does not depend on when somebody looks.
"""

from dataclasses import dataclass, replace
from math import inf

from reduce.forecast import ConsolidationForecast, SaturationForecast
from tui.bench.alarms.complete import consolidated, saturated
from tui.bench.alarms.kinds import judged_in
from tui.bench.alarms.overdue import overdue
from tui.bench.alarms.rules.drained_course import DrainedCourse
from tui.bench.alarms.spells import Spell
from tui.bench.alarms.too_fast import Rates, advice_for, too_fast
from tui.bench.picture import BCheck, Cell
from tui.bench.schedules import schedule_of
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
    fit: ConsolidationForecast | None = None
    """Of a consolidation, as of its end once it is over."""
    met_at: float | None = None
    """When consolidation meets its criterion by the clock, or the reading by which it has. [s]"""
    rates: Rates = ()
    """Of a shear."""


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
    if ahead.settings.test.kind != "UU":
        found += saturated(ahead.settings, ahead.cell)
        if ahead.met_at is not None and ahead.met_at <= ahead.now:
            found += consolidated(ahead.cell, ahead.met_at)
    if ahead.rates:
        limits, ended = ahead.limits, phase.since if phase.name == "ended" else None
        factor, over = limits("rate-too-fast", "factor"), limits("rate-too-fast", "over")
        advice = advice_for(ahead.settings, ahead.fit)
        found += too_fast(ahead.rates, advice, factor, over, ended)
    since = _ends_early_since(ahead)
    if since is not None and "schedule-ends-early" in judged and ahead.now >= since[1]:
        said = "; ".join(ahead.cell.advice[:1])
        found.append(Spell("schedule-ends-early", None, "warning", *since, message=said))
    return tuple(sorted(found, key=lambda spell: (spell.raised_at, spell.kind)))


def unforeseen(ahead: Ahead) -> dict[str, str]:
    """Kinds that rest on what is not known, and why."""
    if ahead.cell.phase is None or ahead.cell.phase.name != "shear":
        return {}
    advice = advice_for(ahead.settings, ahead.fit)
    return {"rate-too-fast": advice.basis} if advice.rate_percent_per_min is None else {}


def next_at(ahead: Ahead) -> float:
    """When something foreseen is raised if no reading comes. [s]"""
    since = _ends_early_since(ahead)
    moments = (None if since is None else since[1], ahead.met_at)
    return min((one for one in moments if one is not None and one > ahead.now), default=inf)


def _ends_early_since(ahead: Ahead) -> tuple[float, float] | None:
    """Zero of the slots that end too early, and when that is worth a word; None: they do not.

    That they do is known from the newest forecast; it is dated to the begin of what they count, so
    that it does not depend on which forecasts were made.
    """
    cell = ahead.cell
    if not cell.slots_end_early or cell.schedule is None or cell.phase is None:
        return None
    begun = cell.phase.step_since
    if cell.schedule.kind != "strain" and cell.schedule.last_at is not None:
        table = getattr(ahead.settings.schedule, cell.phase.name)
        begun = cell.schedule.last_at - schedule_of(table).due[-1]
    return begun, begun + ahead.limits("schedule-ends-early", "on")


def _out_of_reach(ahead: Ahead, told: list[Spell]) -> list[Spell]:
    """The target lies beyond the back-pressure limit: whatever stalls, this is why."""
    wetting, checks = ahead.wetting, _settled(ahead.cell.checks)
    target = ahead.settings.plan.b_target
    if wetting is None or wetting.reach is None or wetting.reach >= HARDLY or len(checks) < 2:
        return told
    last = checks[-1]
    if target <= last.B:
        return told
    basis = ahead.cell.projection.basis.removeprefix("out of reach: ")
    said = f"B {last.B:.2f}, and {target:.2f} is out of reach: {basis}"
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
