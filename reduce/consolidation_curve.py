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
