"""The straight line through the early part of consolidation on the root of time.

With drained ends U goes with √t up to about 60 %, and the line is the tangent at the start. With a
drained curved surface it bends from the very beginning, so a line through the first readings is
flatter than the tangent, the more so the farther it reaches. How much follows from the exact
series, for the share of consolidation that was really used.
"""

import math
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

Rows = NDArray[np.intp]
Picked = NDArray[np.bool_]
"""(m, n) which of n readings count for each of m lines."""


def straight_line(x: Column, y: Column) -> tuple[float, float]:
    """Intercept and slope of least squares; level where all x are alike."""
    across = x - x.mean()
    spread = float(across @ across)
    slope = float(across @ y) / spread if spread > 0.0 else 0.0
    return float(y.mean()) - slope * float(x.mean()), slope


def straight_lines(x: Column, y: Column, within: Picked) -> tuple[Column, Column]:
    """The same for many lines: each goes through the readings of its row in `within`.

    Args:
        x, y: (n,) for all lines, or (m, n).
        within: (m, n) at least one in each row.

    Returns:
        (m,) intercepts and (m,) slopes.
    """
    count = within.sum(axis=1)
    middle = np.where(within, x, 0.0).sum(axis=1) / count
    across = np.where(within, x - middle[:, None], 0.0)
    y = np.where(within, y, 0.0)
    spread, rise = (across**2).sum(axis=1), (across * y).sum(axis=1)
    slope = np.divide(rise, spread, out=np.zeros_like(rise), where=spread > 0.0)
    return y.sum(axis=1) / count - slope * middle, slope


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


@dataclass(frozen=True, slots=True, eq=False)
class SeriesLines:
    """Such lines, (m,) each; NaN where the readings are too late for one."""

    intercept: Column
    slope: Column
    steeper: Column
    offset: Column

    def line(self, row: int) -> SeriesLine:
        """One of them."""
        return SeriesLine(
            *(float(of[row]) for of in (self.intercept, self.slope, self.steeper, self.offset))
        )


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
    lines = _lines_at(drainage, slenderness, factors[None], wanted[None], np.isfinite(wanted)[None])
    if not math.isfinite(lines.slope[0]):
        raise ReductionError("the degrees of consolidation given make no early line")
    return lines.line(0)


def _lines_at(
    drainage: str, slenderness: float, factors: Column, degrees: Column, within: Picked
) -> SeriesLines:
    intercept, slope = straight_lines(np.sqrt(factors), degrees, within)
    early = (slope > 0.0) & (intercept < 0.5)
    intercept, slope = np.where(early, intercept, np.nan), np.where(early, slope, np.nan)
    f90 = factor_for(drainage, 0.9, slenderness)
    tangent = math.sqrt(lambda_factor(drainage, slenderness) / math.pi)
    offset = slope * math.sqrt(f90) / (0.9 - intercept)
    return SeriesLines(intercept, slope, tangent / slope, offset)


def series_lines_at_times(
    drainage: str, slenderness: float, times_min: Column, within: Picked, t90_min: Column
) -> SeriesLines:
    """The same for lines through readings at given times, once t90 is about known.

    Args:
        drainage, slenderness: as for `series_line`.
        times_min: (n,) since drainage opened. [min]
        within: (m, n) which readings are on each line.
        t90_min: (m,) as each line has it; NaN gives NaN. [min]
    """
    factors = factor_for(drainage, 0.9, slenderness) * times_min / t90_min[:, None]
    degrees = np.zeros_like(factors)
    degrees[within] = degree_of_factor(drainage, factors[within], slenderness)
    return _lines_at(drainage, slenderness, factors, degrees, within)


@dataclass(frozen=True, slots=True)
class EarlyLine:
    """A line through readings `first` … `last` of a curve: change = start + slope √t."""

    first: int
    last: int
    start: float
    """[as given]"""
    slope: float
    """[as given, per √min]"""


@dataclass(frozen=True, slots=True, eq=False)
class EarlyLines:
    """Such lines, (m,) each."""

    first: Rows
    last: Rows
    start: Column
    slope: Column

    def within(self, count: int) -> Picked:
        """(m, count) which of the readings of the curve are on each line."""
        return _readings(self.first, self.last, count)

    def those(self, rows: Rows | Picked) -> "EarlyLines":
        """Some of them."""
        return EarlyLines(self.first[rows], self.last[rows], self.start[rows], self.slope[rows])

    def line(self, row: int) -> EarlyLine:
        """One of them."""
        ends = int(self.first[row]), int(self.last[row])
        return EarlyLine(*ends, float(self.start[row]), float(self.slope[row]))


def _readings(first: Rows, last: Rows, count: int) -> Picked:
    reading = np.arange(count)
    return (first[:, None] <= reading) & (reading <= last[:, None])


def _some(of: NDArray[np.intp], most: int) -> list[int]:
    """At most so many of the whole numbers, evenly spread."""
    if len(of) <= most:
        return [int(i) for i in of]
    return [int(of[i]) for i in np.unique(np.linspace(0, len(of) - 1, most).round().astype(int))]


def _lines(
    curve: ConsolidationCurve, share: Column, farthest: float
) -> tuple[EarlyLines, Column] | None:
    """Lines that could be drawn, and the root mean square miss of each; None if there are none."""
    reached = np.flatnonzero(share <= farthest)
    if len(reached) < FEWEST_ON_LINE:
        return None
    stop = int(reached[-1])
    starts = np.flatnonzero((share <= 0.6 * farthest) & (np.arange(len(share)) <= stop - 2))
    ends = np.flatnonzero((share >= 0.6 * farthest) & (share <= farthest))
    ends = ends if len(ends) else np.array([stop])
    pairs = np.array(list(product(_some(starts, 7), _some(ends, 9))), dtype=np.intp).reshape(-1, 2)
    first, last = pairs[pairs[:, 1] - pairs[:, 0] + 1 >= FEWEST_ON_LINE].T
    within = _readings(first, last, len(share))
    x, y = curve.root, curve.change
    start, slope = straight_lines(x, y, within)
    off = np.where(within, y - start[:, None] - slope[:, None] * x, 0.0)
    miss = np.sqrt((off**2).sum(axis=1) / within.sum(axis=1))
    rises = slope * (x[last] - x[first]) > LEVEL * curve.reach
    if not rises.any():
        return None
    return EarlyLines(first, last, start, slope).those(rises), miss[rises]


def early_lines(curve: ConsolidationCurve, drainage: str, start: float, final: float) -> EarlyLines:
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
        found = _lines(curve, share, farthest)
        if found is not None:
            lines, miss = found
            return lines.those(miss <= 3.0 * miss.min() + 0.003 * (final - start))
    raise UntoldError(
        f"fewer than {FEWEST_ON_LINE} readings in the first {100 * reaches[-1]:.0f} % of "
        "consolidation"
    )
