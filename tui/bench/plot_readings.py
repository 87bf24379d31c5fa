"""What the root-time and log-time plots of a consolidation still need, each in one line."""

from datetime import tzinfo
from functools import lru_cache
from typing import NamedTuple

from reduce.construction_readings import Part, Wanted, construction_readings
from reduce.forecast import ConsolidationForecast
from reduce.record import STANDARD_OF_KIND
from tui.bench.curves import Curves
from tui.bench.moments import day_and_time
from tui.settings.cell_toml import CellToml

_GIVES: dict[Wanted, tuple[str, str]] = {
    "log time": ("log-time plot", "t50"),
    "root time to t90": ("root-time plot", "t90"),
    "root time to t100": ("root-time plot", "t100"),
}
_FOR = {"t90": " to pass t90", "end": " for its end", "tail": " for its tail"}
_MISSED = {"early line": "on its early line", "parabola": "in its early part"}
_WIDE = 1.25
"""A later bound than this many times the even bet is named beside it."""


_readings = lru_cache(maxsize=256)(construction_readings)
"""Of most readings nothing is asked anew; see `forecast_moment`."""


class PlotNeeds(NamedTuple):
    """One construction."""

    words: str
    until: float | None
    """Readings are needed until then; None where none are, or where it is too late. [s]"""


def plot_needs(
    settings: CellToml,
    curves: Curves,
    fit: ConsolidationForecast | None,
    moment: float,
    newest: float,
    zone: tzinfo,
) -> tuple[PlotNeeds, ...]:
    """The constructions that the standard goes by; none before the forecast tells a pace.

    ASTM: t50 by log time, t90 by root time. Others: t100 by root time.

    Args:
        settings: of the cell.
        curves: of its readings.
        fit: of its consolidation.
        moment: readings after it, of which the fit is made, are not looked at. [s]
        newest: time of the newest reading. [s]
        zone: of the bench.
    """
    drainage, zero = settings.specimen.drainage, curves.zero_consolidation
    if drainage is None or zero is None or fit is None or not curves.stress_kept:
        return ()
    if fit.at is None or fit.t50_s is None:
        return ()
    standard = settings.test.standard or STANDARD_OF_KIND[settings.test.kind]
    wanted: tuple[Wanted, ...] = ("root time to t100",)
    if standard.startswith("ASTM"):
        wanted = ("log time", "root time to t90")
    t50 = fit.t50_s / 60.0
    between = None
    if fit.cv_m2_year is not None and fit.cv_range_m2_year is not None:
        low, high = fit.cv_range_m2_year
        between = (t50 * fit.cv_m2_year / high, t50 * fit.cv_m2_year / low)
    passed_min = (moment - zero.time) / 60.0
    times = tuple(root**2 for root, _ in curves.volume.points() if root**2 <= passed_min)
    found = []
    for construction in wanted:
        parts = _readings(
            construction,
            times,
            t50_min=t50,
            t50_range_min=between,
            drainage=drainage,
            height_mm=curves.set_up.height_mm,
            diameter_mm=curves.set_up.diameter_mm,
        )
        told = _needs(construction, parts, zero.time, newest, zone, whole=not curves.volume.thinned)
        found += [] if told is None else [told]
    return tuple(found)


def _needs(
    construction: Wanted,
    parts: tuple[Part, ...],
    zero: float,
    newest: float,
    zone: tzinfo,
    *,
    whole: bool,
) -> PlotNeeds | None:
    plot, time = _GIVES[construction]
    missed = [part for part in parts if part.standing == "missed"]
    if missed and not whole:
        return None  # of thinned readings it cannot be told
    if missed:
        part = missed[0]
        lack = "a hole in its middle"
        if part.kind in _MISSED:
            lack = f"only {part.have} of {part.wanted} readings {_MISSED[part.kind]}"
        return PlotNeeds(f"{plot}: {lack}, {time} will be doubtful", None)
    ahead = [part for part in parts if part.standing == "to come"]
    if not ahead:
        return PlotNeeds(f"{plot}: complete", None)
    last = max(ahead, key=lambda part: part.until_min)
    even, latest = zero + 60.0 * last.until_min, zero + 60.0 * last.latest_min
    why = _FOR.get(last.kind, "")
    if latest <= newest:
        return PlotNeeds(f"{plot}: needs another reading{why}", newest)
    words = f"{plot}: needs readings until about {day_and_time(max(even, newest), zone, newest)}"
    if even <= newest:
        words = f"{plot}: needs readings until {day_and_time(latest, zone, newest)} at the latest"
    elif last.latest_min > _WIDE * last.until_min:
        words += f" (latest {day_and_time(latest, zone, newest)})"
    return PlotNeeds(words + why, latest)
