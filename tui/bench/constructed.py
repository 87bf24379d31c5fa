"""What the standard constructs on the consolidation curve of a running test, now and then.

Constructing takes longer than a forecast, and a line that is laid through many readings hardly
moves by one more: it is made anew for every twentieth that the consolidation has grown.
"""

from dataclasses import dataclass

from reduce.construction import Construction
from reduce.log_time import casagrande
from reduce.record import STANDARD_OF_KIND
from reduce.root_time import root_time_to_t100, taylor
from tui.bench.curves import Curves
from tui.bench.picture import Figure
from tui.settings.cell_toml import CellToml

GROWTH = 1.05
"""Time of the consolidation from one construction to the next."""
_FEWEST = 6
"""Readings below which nothing is constructed: common practice, no source."""
_TIMES = {"t50_min": "t50", "t90_min": "t90", "t100_min": "t100"}


@dataclass(frozen=True, slots=True)
class Constructed:
    """On each time axis; None where the standard wants none there."""

    root: Construction | None = None
    log: Construction | None = None


def construct(settings: CellToml, curves: Curves, until: float) -> Constructed:
    """The constructions of the standard: ASTM t90 by root time and t50 by log time, else t100.

    Args:
        settings: of the cell.
        curves: of its readings.
        until: readings after it are not looked at. [s]
    """
    zero, drainage = curves.zero_consolidation, settings.specimen.drainage
    if zero is None or drainage is None:
        return Constructed()
    last = ((until - zero.time) / 60.0) ** 0.5 if until > zero.time else 0.0
    points = [point for point in curves.volume.points() if point[0] <= last]
    if len(points) < _FEWEST:
        return Constructed()
    times, change = [root**2 for root, _ in points], [out for _, out in points]
    height, diameter = curves.set_up.height_mm, curves.set_up.diameter_mm
    standard = settings.test.standard or STANDARD_OF_KIND[settings.test.kind]
    if not standard.startswith("ASTM"):
        root = root_time_to_t100(
            times, change, drainage=drainage, height_mm=height, diameter_mm=diameter
        )
        return Constructed(root)
    return Constructed(
        taylor(times, change, drainage=drainage, height_mm=height, diameter_mm=diameter),
        casagrande(times, change, drainage=drainage, height_mm=height, diameter_mm=diameter),
    )


def figures_of(found: Constructed) -> tuple[Figure, ...]:
    """Times and cv with their standard uncertainty from the choice of lines."""
    told = []
    for one in (found.root, found.log):
        if one is None:
            continue
        how = one.method.split(",", maxsplit=1)[0]
        for name, short, unit in (
            *((name, short, "min") for name, short in _TIMES.items()),
            ("cv_m2_per_year", "cv", "m²/year"),
        ):
            value = getattr(one, name)
            if value is not None:
                share = one.relative_uncertainty.get(name)
                told.append(
                    Figure(short, value, unit, None if share is None else share * value, how)
                )
    return tuple(told)
