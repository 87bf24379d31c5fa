"""The straight line through the early part of consolidation on the root of time.

With drained ends U goes with √t up to about 60 %, and the line is the tangent at the start. With a
drained curved surface it bends from the very beginning, so a line through the first readings is
flatter than the tangent, the more so the farther it reaches. How much follows from the exact
series, for the share of consolidation that was really used.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reduce.columns import Column
from reduce.consolidation_curve import ConsolidationCurve
from reduce.drainage import degree_of_factor, factor_for, lambda_factor
from reduce.errors import ReductionError, UntoldError

STRAIGHT_TO = 0.6
"""Of U: as far as end drainage is straight on √t, within 0.5 %. [-]"""
STRAIGHT_TO_RADIAL = 0.25
"""Of U: as far as a line is drawn where the curved surface drains. [-]"""
FEWEST_ON_LINE = 3
LEVEL = 1e-9
"""A line whose readings rise by no more than this share of the whole change is level: it would
meet the end in no time that anybody waits. [-]"""


def straight_line(x: Column, y: Column) -> tuple[float, float]:
    """Intercept and slope of least squares; level where all x are alike."""
    across = x - x.mean()
    spread = float(across @ across)
    slope = float(across @ y) / spread if spread > 0.0 else 0.0
    return float(y.mean()) - slope * float(x.mean()), slope


@dataclass(frozen=True, slots=True)
class SeriesLine:
    """The line that theory puts through given degrees of consolidation, over √(cv t/D²)."""

    intercept: float
    """U of the line at the start; 0 for the tangent. [-]"""
    slope: float
    """U per √(cv t/D²). [-]"""
    steeper: float
    """Slope of the tangent at the start over that of this line. [-]"""
    offset: float
    """Of the second line: abscissae on it over those on the early line, to cross at 90 %. [-]"""


def series_line(drainage: str, slenderness: float, degrees: ArrayLike) -> SeriesLine:
    """What the exact series says of a line through readings at certain degrees of consolidation.

    line U = a + b √F by least squares, F = cv t/D²; offset = b √F90 / (0.9 − a)

    Args:
        drainage: one of `reduce.drainage.DRAINAGES`.
        slenderness: H/D. [-]
        degrees: (n,) U of the readings on the line, at least two different ones. [-]

    Raises:
        ReductionError: as `reduce.drainage.factor_for`; degrees that are all alike or late.

    Source:
        Taylor (1948), Fundamentals of soil mechanics, for drained ends (1.15); derived from the
        series in `reduce.drainage` for the others.

    Example:
        >>> ends = series_line("both ends", 2.0, [0.0, 0.5])
        >>> side = series_line("radial + both ends", 2.0, [0.0, 0.5])
        >>> round(ends.offset, 3), round(side.offset, 3), round(side.steeper**2, 2)
        (1.153, 1.369, 1.43)
    """
    wanted = np.asarray(degrees, dtype=np.float64)
    factors = np.array([factor_for(drainage, float(u), slenderness) for u in wanted])
    line = _line_at(drainage, slenderness, factors, wanted)
    if line is None:
        raise ReductionError("the degrees of consolidation given make no early line")
    return line


def _line_at(
    drainage: str, slenderness: float, factors: Column, degrees: Column
) -> SeriesLine | None:
    intercept, slope = straight_line(np.sqrt(factors), degrees)
    if slope <= 0.0 or intercept >= 0.5:
        return None
    f90 = factor_for(drainage, 0.9, slenderness)
    tangent = math.sqrt(lambda_factor(drainage, slenderness) / math.pi)
    return SeriesLine(intercept, slope, tangent / slope, slope * math.sqrt(f90) / (0.9 - intercept))


def series_line_at_times(
    drainage: str, slenderness: float, times_min: Column, t90_min: float
) -> SeriesLine | None:
    """The same for readings at given times, once t90 is about known; None if all are late."""
    factors = factor_for(drainage, 0.9, slenderness) * times_min / t90_min
    return _line_at(
        drainage, slenderness, factors, degree_of_factor(drainage, factors, slenderness)
    )


@dataclass(frozen=True, slots=True)
class EarlyLine:
    """A line through readings `first` … `last` of a curve: change = start + slope √t."""

    first: int
    last: int
    start: float
    """[as given]"""
    slope: float
    """[as given, per √min]"""

    @property
    def readings(self) -> slice:
        """Those it goes through."""
        return slice(self.first, self.last + 1)


def _some(of: NDArray[np.intp], most: int) -> list[int]:
    """At most so many of the whole numbers, evenly spread."""
    if len(of) <= most:
        return [int(i) for i in of]
    return [int(of[i]) for i in np.unique(np.linspace(0, len(of) - 1, most).round().astype(int))]


def _lines(
    curve: ConsolidationCurve, share: Column, farthest: float
) -> Iterator[tuple[EarlyLine, float]]:
    """Lines that could be drawn, each with its root mean square miss."""
    within = np.flatnonzero(share <= farthest)
    if len(within) < FEWEST_ON_LINE:
        return
    stop = int(within[-1])
    starts = np.flatnonzero((share <= 0.6 * farthest) & (np.arange(len(share)) <= stop - 2))
    ends = np.flatnonzero((share >= 0.6 * farthest) & (share <= farthest))
    ends = ends if len(ends) else np.array([stop])
    for first, last in product(_some(starts, 7), _some(ends, 9)):
        if last - first + 1 < FEWEST_ON_LINE:
            continue
        x, y = curve.root[first : last + 1], curve.change[first : last + 1]
        start, slope = straight_line(x, y)
        if slope * (x[-1] - x[0]) > LEVEL * curve.reach:
            miss = math.sqrt(float(np.mean((y - start - slope * x) ** 2)))
            yield EarlyLine(first, last, start, slope), miss


def early_lines(
    curve: ConsolidationCurve, drainage: str, start: float, final: float
) -> list[EarlyLine]:
    """All lines through the early readings that are straight enough.

    Args:
        curve: the readings.
        drainage: decides how far the line may reach: 60 % of consolidation with drained ends, 25 %
            with a drained curved surface (50 % where readings are too few).
        start: d0 as far as it is known. [as given]
        final: d100 as far as it is known. [as given]

    Raises:
        UntoldError: fewer than three readings there.
    """
    share = (curve.change - start) / (final - start)
    # Only what comes before the first reading beyond the limit: later scatter is no early part.
    share = np.maximum.accumulate(share)
    radial = "radial" in drainage
    reaches = (STRAIGHT_TO_RADIAL, 0.35, 0.5) if radial else (STRAIGHT_TO,)
    for farthest in reaches:
        found = list(_lines(curve, share, farthest))
        if found:
            best = min(miss for _, miss in found)
            good = 3.0 * best + 0.003 * (final - start)
            return [line for line, miss in found if miss <= good]
    raise UntoldError(
        f"fewer than {FEWEST_ON_LINE} readings in the first {100 * reaches[-1]:.0f} % of "
        "consolidation"
    )
