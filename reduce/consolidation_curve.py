"""Readings of consolidation made fit for a construction: in order, evenly heard, rising.

Times in minutes since drainage opened; change positive when the specimen shrinks, in any unit.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import GREATEST, LEAST, Column
from reduce.errors import ReductionError, UntoldError
from reduce.forecast.outcome import columns
from reduce.forecast.thinning import average_log

PER_DECADE = 40
"""Readings kept per tenfold time: steady rows would otherwise drown the early part."""
FEWEST = 6
"""Readings after the zero reading below which nothing is constructed."""


@dataclass(frozen=True, slots=True, eq=False)
class ConsolidationCurve:
    """Readings after drainage opened, by log time."""

    times: Column
    """(n,) rising, above 0. [min]"""
    change: Column
    """(n,) [as given]"""
    zero: float
    """Change read when drainage opened; 0 where there was no such reading. [as given]"""
    first_index: tuple[int, ...]
    """(n,) the first reading in each mean, counted in the columns as given."""
    last_index: tuple[int, ...]
    """(n,) the last one."""

    @property
    def root(self) -> Column:
        """(n,) √t. [√min]"""
        root: Column = np.sqrt(self.times)
        return root

    @property
    def log(self) -> Column:
        """(n,) log10 of t in min."""
        log: Column = np.log10(self.times)
        return log

    @property
    def reach(self) -> float:
        """From the least to the largest change."""
        return float(np.ptp(self.change))

    @property
    def scatter(self) -> float:
        """Deviation of a reading from its neighbours; of few readings, an upper bound."""
        t, d = self.log, self.change
        share = (t[1:-1] - t[:-2]) / (t[2:] - t[:-2])
        off = d[1:-1] - d[:-2] - share * (d[2:] - d[:-2])
        return 1.4826 * float(np.median(np.abs(off))) / math.sqrt(1.5)

    @property
    def end(self) -> float:
        """Median of the readings in the last tenth of the time. [as given]"""
        return float(np.median(self.change[self.times >= 0.9 * self.times[-1]]))

    def at_root(self, root: Column) -> Column:
        """Change at any √t; between readings straight on √t, which early consolidation is."""
        return np.asarray(np.interp(root, self.root, self.change))


def readings_in_order(times_min: ArrayLike, change: ArrayLike) -> tuple[Column, Column, Column]:
    """Readings that are numbers, none of them beyond `GREATEST`.

    Returns:
        Times, changes and where they stood in the columns as given.

    Raises:
        ReductionError: columns of unequal length, or time that runs backwards.
    """
    times, values = columns(times_min, change)
    index = np.flatnonzero((np.abs(times) <= GREATEST) & (np.abs(values) <= GREATEST))
    times, values = times[index], values[index]
    if (back := np.flatnonzero(np.diff(times) < 0)).size:
        at = int(back[0])
        raise ReductionError(
            f"time is {times[at + 1]:g} min after {times[at]:g} min (reading {index[at + 1]}); "
            "it must not run backwards"
        )
    return times, values, index.astype(np.float64)


def consolidation_curve(times_min: ArrayLike, change: ArrayLike) -> ConsolidationCurve:
    """Readings as a curve to construct on.

    The reading at 0 min is the zero reading and no part of the curve: bedding and air move between
    it and the next. Where readings are closer than a fortieth of a tenfold time they are averaged.

    Args:
        times_min: (n,) since drainage opened, in order; rows with NaN, or with a number that no
            instrument gives (`reduce.columns.GREATEST`), are left out. [min]
        change: (n,) positive when the specimen shrinks. [any unit]

    Raises:
        ReductionError: columns of unequal length, or time that runs backwards.
        UntoldError: too few readings, or a curve that is flat, falls, or turns back.

    Example:
        >>> curve = consolidation_curve([0, 1, 4, 9, 16, 25, 36], [0.1, 1, 2, 3, 4, 5, 6])
        >>> curve.zero, curve.root.tolist()
        (0.1, [1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    """
    times, values, index = readings_in_order(times_min, change)
    before = times <= LEAST
    zero = float(values[before][-1]) if before.any() else 0.0
    times, values, index = times[~before], values[~before], index[~before]
    if len(times) < FEWEST:
        raise UntoldError(
            f"{len(times)} readings after drainage opened; at least {FEWEST} are needed"
        )
    decades = math.log10(times[-1] / times[0])
    mean_times, means, numbers = average_log(times, values, max(math.ceil(PER_DECADE * decades), 1))
    if len(mean_times) < FEWEST:
        raise UntoldError(
            f"all readings lie between {times[0]:g} and {times[-1]:g} min; that is too short a "
            "part of consolidation"
        )
    ends = np.cumsum(numbers).astype(int)
    curve = ConsolidationCurve(
        times=mean_times,
        change=means,
        zero=zero,
        first_index=tuple(int(i) for i in index[np.concatenate(([0], ends[:-1]))]),
        last_index=tuple(int(i) for i in index[ends - 1]),
    )
    _require_rise(curve)
    return curve


def _require_rise(curve: ConsolidationCurve) -> None:
    reach, scatter = curve.reach, curve.scatter
    if reach <= LEAST:
        raise UntoldError("the change is constant")
    if reach <= max(6.0 * scatter, 1e-12 * float(np.abs(curve.change).max())):
        raise UntoldError(
            f"the change moves by {reach:g} in all, no more than its readings scatter"
        )
    if curve.end - curve.change[0] <= 0.5 * reach:
        raise UntoldError("the change does not rise from the first reading to the last")
    fall = np.maximum.accumulate(curve.change) - curve.change
    worst = int(fall.argmax())
    if fall[worst] > max(0.05 * reach, 6.0 * scatter):
        raise UntoldError(
            f"the change falls by {fall[worst]:.3g} of {reach:.3g} up to {curve.times[worst]:g} min"
        )


def crossing(x: Column, above: Column, width: float) -> float | None:
    """Where a quantity falls through 0 for good; None if it never does.

    The sign change that the fewest readings contradict counts. Where at least six readings lie
    within a relative `width` around it a parabola through all of them decides, else a cubic
    through two on each side: a straight line between far readings would cut the corner.

    Args:
        x: (n,) rising, above 0.
        above: (n,) what falls through 0.
        width: of the neighbourhood, relative to x. [-]

    Example:
        >>> x = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
        >>> round(crossing(x, 6.25 - x**2, 0.1), 4)
        2.5
    """
    positive = above > 0
    before = np.concatenate(([0], np.cumsum(~positive)))
    after = int(positive.sum()) - np.concatenate(([0], np.cumsum(positive)))
    # Before the first and after the last reading there is nothing to cross.
    cut = int((before + after)[1:-1].argmin()) + 1
    if not positive[cut - 1] or positive[cut]:
        return None
    low, high = float(x[cut - 1]), float(x[cut])
    rough = low + (high - low) * float(above[cut - 1] / (above[cut - 1] - above[cut]))
    near = np.abs(x - rough) <= width * rough
    if near.sum() < 6:
        span = slice(max(cut - 2, 0), cut + 2)
        return _root_of_points(x[span].tolist(), above[span].tolist(), low, high)
    root = _root_of_parabola(x[near] - rough, above[near], width * rough)
    return rough if root is None else rough + root


def _root_of_points(x: list[float], y: list[float], low: float, high: float) -> float:
    """Where the polynomial through a few points changes its sign between two of them."""
    weights = list(y)
    for order in range(1, len(x)):
        for i in range(len(x) - 1, order - 1, -1):
            weights[i] = (weights[i] - weights[i - 1]) / (x[i] - x[i - order])

    def value(at: float) -> float:
        found = weights[-1]
        for i in range(len(x) - 2, -1, -1):
            found = found * (at - x[i]) + weights[i]
        return found

    # The false position; an end that stays weighs half the next time (Illinois).
    at_low, at_high = value(low), value(high)
    smallest, at, rose = 1e-13 * abs(at_low - at_high), high, None
    while high - low > 1e-13 * high:
        at = (low * at_high - high * at_low) / (at_high - at_low)
        found = value(at)
        if abs(found) <= smallest:
            break
        if found > 0.0:
            low, at_low, at_high = at, found, at_high / 2.0 if rose else at_high
        else:
            high, at_high, at_low = at, found, at_low / 2.0 if rose is False else at_low
        rose = found > 0.0
    return at


def _root_of_parabola(x: Column, y: Column, reach: float) -> float | None:
    """Where the parabola of least squares falls through 0, the nearest to x = 0 within reach."""
    scaled = x / reach
    powers = np.vander(scaled, 3)
    try:
        c2, c1, c0 = np.linalg.solve(powers.T @ powers, powers.T @ y).tolist()
    except np.linalg.LinAlgError:
        return None
    if c2 == 0.0:
        roots = [-c0 / c1] if c1 < 0.0 else []
    else:
        inner = c1 * c1 - 4.0 * c2 * c0
        # Of both roots the one with this sign is where the parabola falls.
        roots = [(-c1 - math.sqrt(inner)) / (2.0 * c2)] if inner > 0.0 else []
    inside = [root for root in roots if abs(root) <= 1.0]
    return inside[0] * reach if inside else None
