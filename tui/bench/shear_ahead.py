"""What is to come in shear: the strain limit, the peak of the set's siblings, the end of travel."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from statistics import median

import numpy as np

from reduce.forecast import Forecast
from reduce.forecast import shear as forecast_shear
from tui.bench.curves import Curves
from tui.bench.picture import Projection
from tui.bench.projections import projection_of, shear_event, untold
from tui.bench.readings import Readings
from tui.bench.surroundings import Sibling
from tui.settings.cell_toml import CellToml

SPREAD = 1.3
"""By this factor a peak may lie elsewhere than that of one sibling: common practice, no source."""
TRAVEL = 0.95
"""Share of a displacement gauge's range at which shear has to end: common practice, no source."""

Points = tuple[tuple[float, float], ...]
Reaches = Callable[[float], Forecast]
"""When a strain is reached."""


@dataclass(frozen=True, slots=True)
class ShearAhead:
    """The projections of a shear."""

    limit: Projection
    """When the strain limit is reached: the event of the phase."""
    on_the_way: tuple[Projection, ...]
    """Peak and end of travel, where something is known of them."""
    strain_per_s: float | None
    """The present pace. [1/s]"""


def shear_ahead(
    settings: CellToml,
    curves: Curves,
    readings: Readings,
    siblings: tuple[Sibling, ...],
    now: float,
    peak: float | None,
) -> ShearAhead:
    """Everything that can be foreseen of the shear.

    Args:
        settings: of the cell.
        curves: of its readings.
        readings: that are kept; those beside the zero are.
        siblings: what other specimens of the set came to.
        now: readings after it are not looked at. [s]
        peak: axial strain at the greatest deviator, once that has passed. [-]
    """
    event = shear_event(settings)
    points, zero = curves.strain.points(), curves.zero_strain
    if zero is None or not points:
        return ShearAhead(untold(event, "needs axial_displacement in shear"), (), None)
    known = [point for point in points if point[0] <= now]
    times, strains = tuple(time for time, _ in known), tuple(strain for _, strain in known)
    doubt = _zero_doubt(readings, zero.time) / curves.consolidated.height_mm

    def reaches(strain: float) -> Forecast:
        return _forecast(
            times, strains, now=now, limit=strain, zero_strain_time=zero.time, zero_doubt=doubt
        )

    limit = projection_of(event, reaches(settings.plan.strain_limit), now)
    way = [_travel(settings, curves, readings, reaches, limit, now)]
    way.append(_peak(curves.deviator.last, peak, siblings, reaches, now))
    return ShearAhead(limit, tuple(one for one in way if one is not None), _pace(points))


_forecast = lru_cache(maxsize=256)(forecast_shear)
"""Of most readings none is made anew; see `forecast_moment`."""


def _zero_doubt(readings: Readings, zero_s: float) -> float:
    """Travel from the zero reading to the next one. [mm]"""
    times, travel = readings.times, readings.as_columns()["axial_displacement"]
    place = int(times.searchsorted(zero_s))
    if place + 1 >= len(times) or times[place] != zero_s:
        return 0.0
    step = float(travel[place + 1] - travel[place])
    return max(step, 0.0) if np.isfinite(step) else 0.0


def _travel(
    settings: CellToml,
    curves: Curves,
    readings: Readings,
    reaches: Reaches,
    limit: Projection,
    now: float,
) -> Projection | None:
    """The end of travel, where it comes before the strain limit."""
    end, zero = curves.ends.get("axial_displacement"), curves.zero_strain
    if end is None or zero is None or not np.isfinite(end[1]):
        return None
    shown = readings.as_shown()["axial_displacement"][-1]
    offset = shown - readings.as_columns()["axial_displacement"][-1]
    room = TRAVEL * end[1] - (zero.axial_displacement + offset)
    strain = float(room / curves.consolidated.height_mm)
    if not 0.0 < strain < settings.plan.strain_limit or limit.at is None:
        return None
    found = reaches(strain)
    event = f"travel at {TRAVEL:.0%} of its gauge"
    if found.at is None:
        return untold(event, found.basis)
    words = f"{found.basis}; the gauge ends before the strain limit"
    return projection_of(event, found, now, words)


def _peak(
    newest: tuple[float, float] | None,
    passed: float | None,
    siblings: tuple[Sibling, ...],
    reaches: Reaches,
    now: float,
) -> Projection | None:
    """The peak deviator: passed, or to come as in other specimens of the set."""
    if passed is not None:
        words = f"q was greatest at {100.0 * passed:.1f} % and has fallen since"
        return Projection("peak", None, None, None, None, 1.0, words)
    peaks = sorted(one.peak_strain for one in siblings if one.peak_strain is not None)
    if not peaks:
        return None
    middle, cells = median(peaks), ", ".join(sorted(s.cell for s in siblings if s.peak_strain))
    low, high = min(peaks[0], middle / SPREAD), max(peaks[-1], middle * SPREAD)
    at, early, late = reaches(middle), reaches(low), reaches(high)
    event = f"peak about {100.0 * middle:.1f} %"
    if at.at is None or early.earliest is None or late.latest is None:
        return untold(event, at.basis)
    if newest is not None and newest[0] > middle:
        return untold(
            event, f"as in {cells}, but q has not fallen yet at {100.0 * newest[0]:.1f} %"
        )
    found = Forecast(at.at, early.earliest, late.latest, at.confidence, None, at.basis)
    return projection_of(event, found, now, f"as in {cells}; {at.basis}")


def _pace(points: Points) -> float | None:
    """Strain per second over the last readings; None while it does not grow. [1/s]"""
    recent = points[-8:]
    if len(recent) < 2 or recent[-1][0] <= recent[0][0]:
        return None
    pace = (recent[-1][1] - recent[0][1]) / (recent[-1][0] - recent[0][0])
    return pace if pace > 0 else None
