"""Phases that have met their criterion: hands are wanted for the next one."""

from collections.abc import Callable, Sequence
from functools import lru_cache

from reduce.acceptance import Check, judge_checks
from tui.bench.alarms.spells import Spell
from tui.bench.picture import BCheck, Cell, PhaseSpan
from tui.settings.cell_toml import CellToml

KIND = "phase-complete"


def saturated(settings: CellToml, cell: Cell) -> list[Spell]:
    """The check by which saturation is accepted, until consolidation begins.

    Source:
        `reduce.acceptance`: the plan's target, or B unchanged after the standard named.
    """
    found = _accepted(cell.checks, settings.plan.b_target, settings.test.standard)
    if found is None:
        return []
    check, ground = found
    return _until_next(cell.spans, "saturation", check.at, _said(check, ground, settings))


@lru_cache(maxsize=256)  # asked at every reading, of checks that were made long ago
def _accepted(
    checks: tuple[BCheck, ...], target: float, standard: str | None
) -> tuple[BCheck, str] | None:
    """The first check that is accepted, and on what ground."""
    judged: list[Check] = []
    for one in checks:
        if not (one.settled and one.finished) and one is not checks[-1]:
            continue
        judged.append(Check(one.B, one.settled, one.back_pressure_kPa))
        found = judge_checks(judged, target=target, standard=standard)
        if found.accepted:
            return one, found.ground
    return None


def _said(check: BCheck, ground: str, settings: CellToml) -> str:
    if ground == "unchanged":
        return f"B {check.B:.2f} stays unchanged: accepted after {settings.test.standard}"
    return f"B {check.B:.2f}, target {settings.plan.b_target:.2f}: saturation is complete"


def consolidated(cell: Cell, met_at: float) -> list[Spell]:
    """Consolidation has met its criterion, until what comes next."""
    said = "consolidation has met its criterion and is complete"
    if cell.phase is not None and cell.phase.name == "consolidation":
        said = f"{cell.projection.event} is met: consolidation is complete"
    return _until_next(cell.spans, "consolidation", met_at, said)


def _until_next(spans: Sequence[PhaseSpan], phase: str, since: float, said: str) -> list[Spell]:
    last = max((k for k, span in enumerate(spans) if span.name == phase), default=None)
    if last is None:
        return []
    over = spans[last].end
    if over is not None and over <= since:
        return []
    spell = Spell(KIND, phase, "note", since, since, over, said, by_phase=over is not None)
    return [spell]


def first_met(moments: Sequence[float], progress_at: Callable[[float], float | None]) -> float:
    """The first of some moments by which all is done, when it is by the last.

    Args:
        moments: in order, not empty.
        progress_at: 1 when it is; it is asked a handful of times.

    Example:
        >>> first_met([1.0, 2.0, 3.0, 4.0, 5.0], lambda at: at / 3.5)
        4.0
    """
    low, high = 0, len(moments) - 1
    while low < high:
        middle = (low + high) // 2
        done = progress_at(moments[middle])
        if done is not None and done >= 1.0:
            high = middle
        else:
            low = middle + 1
    return moments[high]
