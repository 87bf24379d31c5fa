"""What needs a person next, and when."""

from statistics import median

from tui.bench.picture import BCheck, Hand, Phase, Projection, ScheduleCount
from tui.bench.projections import step_durations
from tui.settings.cell_toml import CellToml


def hands(
    cell: str,
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    projection: Projection,
    schedule: ScheduleCount | None,
) -> tuple[Hand, ...]:
    """The visits that this cell asks for, soonest first."""
    asked: list[Hand] = []
    if phase.name == "setup":
        asked.append(_at(cell, "go on with setting up", None))
    elif phase.name == "saturation":
        asked.append(_next_step(cell, settings, phase, checks))
    elif phase.name == "consolidation" and phase.step == "build-up":
        asked.append(_at(cell, "open drainage once pore pressure has settled", None))
    elif phase.name == "consolidation":
        asked.append(_expected(cell, "consolidation ends: dock and shear", projection))
    elif phase.name == "shear":
        asked.append(_expected(cell, "strain limit: stop, save, let pressures down", projection))
    if schedule is not None and schedule.last_at is not None and _ends_early(schedule, projection):
        asked.append(_at(cell, "reading schedule runs out", schedule.last_at))
    return tuple(asked)


def _ends_early(schedule: ScheduleCount, projection: Projection) -> bool:
    return (
        schedule.last_at is not None
        and projection.at is not None
        and schedule.last_at < projection.at
        and schedule.next_at is not None
        and schedule.kind != "strain"
        and not projection.event.startswith("B")
    )


def _next_step(cell: str, settings: CellToml, phase: Phase, checks: tuple[BCheck, ...]) -> Hand:
    target = settings.plan.b_target
    last = checks[-1] if checks else None
    if phase.step == "b-check" and last is not None:
        if not last.settled:
            return _at(cell, "B check: wait until pore pressure settles", None)
        if target <= last.B <= 1.02:
            return _at(cell, f"B {last.B:.2f} has reached the target: consolidate", last.at)
        return _at(cell, "B check has settled: raise back pressure", last.at)
    passed = last is not None and last.settled and target <= last.B <= 1.02
    what = "B passed: build up cell pressure" if passed else f"B check {len(checks) + 1}"
    paces = step_durations(checks)
    pace = median(paces) if paces else settings.plan.step_time_s
    return _at(cell, what, None if last is None or pace is None else last.began + pace)


def _expected(cell: str, what: str, projection: Projection) -> Hand:
    return Hand(cell, what, projection.at, projection.earliest, projection.latest)


def _at(cell: str, what: str, moment: float | None) -> Hand:
    return Hand(cell, what, moment, None, None)


def soonest_first(asked: list[Hand]) -> tuple[Hand, ...]:
    """Of all cells: those with a time first, by their earliest time."""

    def order(hand: Hand) -> tuple[bool, float, str]:
        moment = hand.earliest if hand.earliest is not None else hand.at
        return moment is None, moment or 0.0, hand.cell

    return tuple(sorted(asked, key=order))
