"""The history that a lane draws: each phase by its own quantity on a fixed scale."""

from bisect import bisect_left
from functools import lru_cache
from math import inf

from tui.bench.curves import Curves
from tui.bench.phases import Phases
from tui.bench.picture import BCheck, LaneSegment, PhaseName
from tui.settings.cell_toml import CellToml

Points = tuple[tuple[float, float], ...]


def lane(
    settings: CellToml,
    phases: Phases,
    checks: tuple[BCheck, ...],
    curves: Curves,
    full_volume_ml: tuple[float, float] | None,
) -> tuple[LaneSegment, ...]:
    """One segment a phase, in time order.

    Args:
        settings: of the cell.
        phases: where each phase begins.
        checks: the B checks.
        curves: consolidation and shear.
        full_volume_ml: v0 and v100 of the fitted consolidation, to turn volume into U.
    """
    return tuple(
        _segment(name, start, end, settings, checks, curves, full_volume_ml)
        for name, start, end in _phases(phases)
    )


def _phases(phases: Phases) -> list[tuple[PhaseName, float, float | None]]:
    """Spans of one phase joined."""
    joined: list[tuple[PhaseName, float, float | None]] = []
    for span in phases.spans:
        if joined and joined[-1][0] == span.name:
            joined[-1] = (span.name, joined[-1][1], span.end)
        else:
            joined.append((span.name, span.start, span.end))
    return joined


def _segment(
    name: PhaseName,
    start: float,
    end: float | None,
    settings: CellToml,
    checks: tuple[BCheck, ...],
    curves: Curves,
    full_volume_ml: tuple[float, float] | None,
) -> LaneSegment:
    plan = settings.plan
    if name == "saturation":
        points = tuple((check.at, check.B) for check in checks if check.at >= start)
        return LaneSegment(name, start, end, "B", "", 0.0, 1.0, plan.b_target, points)
    if name == "consolidation":
        points = _degrees(curves, full_volume_ml)
        return LaneSegment(name, start, end, "U", "", 0.0, 1.0, None, points)
    if name == "shear":
        strains = curves.strain.points()
        strains = strains[bisect_left(strains, (start,)) :]
        limit = plan.strain_limit
        return LaneSegment(name, start, end, "ε₁", "", 0.0, limit, limit, strains)
    top = plan.cell_step_kPa + plan.excess_kPa
    points = curves.pressures["cell"].between(start, end or inf)
    return LaneSegment(name, start, end, "σ₃", "kPa", 0.0, top, None, points)


def _degrees(curves: Curves, full_volume_ml: tuple[float, float] | None) -> Points:
    zero = curves.zero_consolidation
    if zero is None or full_volume_ml is None or full_volume_ml[1] <= 0:
        return ()
    kept, last = curves.volume.kept, curves.volume.last
    told = _as_degrees(kept, zero.time, *full_volume_ml)
    if last is None or kept[-1:] == (last,):
        return told
    return told + _as_degrees((last,), zero.time, *full_volume_ml)


@lru_cache(maxsize=256)  # most readings are not kept: they change nothing but the newest point
def _as_degrees(volumes: Points, zero_s: float, offset_ml: float, full_ml: float) -> Points:
    return tuple((zero_s + 60.0 * root**2, (out - offset_ml) / full_ml) for root, out in volumes)
