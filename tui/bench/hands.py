"""What needs a person next, when, and how long it can wait.

How long is common practice, no source: a specimen that rests at its pressures loses nothing but
time, a ram that goes on or a schedule that has ended loses the test or its readings.
"""

from dataclasses import replace
from statistics import median

from tui.bench.attended import Attended
from tui.bench.phases import Mark
from tui.bench.picture import BCheck, Hand, Phase, Projection, ScheduleCount
from tui.bench.projections import step_durations
from tui.settings.cell_toml import CellToml

STEP_WAITS_S = 2 * 3600.0
"""A due step, a check that has settled or passed, a planned hold. [s]"""
PHASE_WAITS_S = 4 * 3600.0
"""Consolidation that has met its end: only creep goes on. [s]"""
LIMIT_WAITS_S = 15 * 60.0
"""A strain limit, the end of a schedule. [s]"""


def hands(
    cell: str,
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    projection: Projection,
    schedule: ScheduleCount | None,
    hold: Mark | None,
    newest: float,
) -> tuple[Hand, ...]:
    """What this cell asks for.

    Args:
        hold: the planned hold that it is in.
        newest: time of its newest reading. [s]
    """
    asked: list[Hand] = []
    if hold is not None:
        asked.append(hold_ends(cell, hold))
    elif phase.name == "setup":
        asked.append(_at(cell, "go on with setting up", None))
    elif phase.name == "saturation":
        asked.append(_next_step(cell, settings, phase, checks, newest))
    elif phase.name == "consolidation" and phase.step == "build-up":
        asked.append(_drainage(cell, phase, checks))
    elif phase.name == "consolidation":
        what = "consolidation ends: dock and shear"
        asked.append(_expected(cell, what, projection, PHASE_WAITS_S))
    elif phase.name == "shear":
        what = "strain limit: stop, save, let pressures down"
        asked.append(_expected(cell, what, projection, LIMIT_WAITS_S))
    if schedule is not None and schedule.last_at is not None and _ends_early(schedule, projection):
        asked.append(_at(cell, "reading schedule runs out", schedule.last_at, LIMIT_WAITS_S))
    return tuple(asked)


def hold_ends(cell: str, hold: Mark) -> Hand:
    """The end of a hold that somebody has planned."""
    return _at(cell, "planned hold ends", hold.until)


def hold_of(marks: tuple[Mark, ...], phase: Phase, newest: float) -> Mark | None:
    """The planned hold that a cell is in: the newest mark, while it does what was marked.

    Args:
        newest: time of its newest reading. [s]
    """
    held = [mark for mark in marks if mark.held_at <= newest]
    mark = max(held, key=lambda mark: mark.held_at, default=None)
    if mark is None or mark.until is None or phase.source != "marks":
        return None
    same = mark.phase == phase.name and mark.step in (None, phase.step)
    return mark if same else None


def _ends_early(schedule: ScheduleCount, projection: Projection) -> bool:
    return (
        schedule.last_at is not None
        and projection.at is not None
        and schedule.last_at < projection.at
        and schedule.next_at is not None
        and schedule.kind != "strain"
        and not projection.event.startswith("B")
    )


def _next_step(
    cell: str, settings: CellToml, phase: Phase, checks: tuple[BCheck, ...], newest: float
) -> Hand:
    target = settings.plan.b_target
    last = checks[-1] if checks else None
    if phase.step == "b-check" and last is not None:
        if not last.settled:
            return _at(cell, "B check: wait until pore pressure settles", _settles(checks, newest))
        if target <= last.B <= 1.02:
            return _at(cell, f"B {last.B:.2f} has reached the target: consolidate", last.at)
        return _at(cell, "B check has settled: raise back pressure", last.at)
    passed = last is not None and last.settled and target <= last.B <= 1.02
    what = "B passed: build up cell pressure" if passed else f"B check {len(checks) + 1}"
    paces = step_durations(checks)
    pace = median(paces) if paces else settings.plan.step_time_s
    return _at(cell, what, None if last is None or pace is None else last.began + pace)


def _settles(checks: tuple[BCheck, ...], newest: float) -> float | None:
    """When a check that runs has settled if it takes as long as those before it. [s]"""
    took = [check.at - check.began for check in checks[:-1] if check.settled]
    settles = checks[-1].began + median(took) if took else newest
    return settles if settles > newest else None


def _drainage(cell: str, phase: Phase, checks: tuple[BCheck, ...]) -> Hand:
    """The build-up is a check as well: drainage waits until pore pressure has settled."""
    last = checks[-1] if checks else None
    if last is not None and last.settled and last.at >= phase.step_since:
        return _at(cell, "pore pressure has settled: open drainage", last.at)
    return _at(cell, "open drainage once pore pressure has settled", None)


def _expected(cell: str, what: str, projection: Projection, waits_s: float) -> Hand:
    ready = _at(cell, what, projection.at, waits_s)
    return replace(ready, earliest=projection.earliest, latest=projection.latest)


def _at(cell: str, what: str, moment: float | None, waits_s: float = STEP_WAITS_S) -> Hand:
    good_until = None if moment is None else moment + waits_s
    return Hand(cell, what, moment, None, None, good_until=good_until)


def when_attended(
    asked: tuple[Hand, ...], attended: Attended | None, now: float
) -> tuple[Hand, ...]:
    """The same with when somebody is there for each, where that is later than it is ready.

    Args:
        asked: as the readings tell.
        attended: None if somebody is always there.
        now: what is late waits for the next who comes. [s]
    """
    if attended is None:
        return asked
    return tuple(replace(hand, attended_at=_attended_at(hand, attended, now)) for hand in asked)


def _attended_at(hand: Hand, attended: Attended, now: float) -> float | None:
    if hand.at is None:
        return None
    ready = max(hand.at, now)
    comes = attended.next(ready)
    return comes if comes > ready else None


def soonest_first(asked: list[Hand]) -> tuple[Hand, ...]:
    """Of all cells: those with a time first, by their earliest time."""

    def order(hand: Hand) -> tuple[bool, float, str]:
        moment = hand.earliest if hand.earliest is not None else hand.at
        return moment is None, moment or 0.0, hand.cell

    return tuple(sorted(asked, key=order))
