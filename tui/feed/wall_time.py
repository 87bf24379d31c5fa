"""From the clock on the wall to UTC: zones, and the hour that a clock shows twice.

When clocks are put back, the file order tells which of the two hours a row belongs to: the first
until the time of day steps back, then the second. So both hours are kept, in order.
"""

from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from tui.feed.rows import Column, extent

_QUARTER_S = 900.0
_FEW = 512
"""Quarters of an hour that are not worth sorting."""
_KEPT = 32
"""Of as many the offsets are kept."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

_EARLIEST_S, _LATEST_S = -2208988800.0, 7258118400.0
"""1900 and 2200. [s since the epoch]"""

LATE_S = 60.0
"""A step back of less than this within the doubtful hour is a late row, not the second hour."""


def plausible(times: Column) -> NDArray[np.bool_]:
    """(n,) whether each is a moment of a test, and not of a clock that lost its battery."""
    return np.asarray((times >= _EARLIEST_S) & (times <= _LATEST_S))


def all_plausible(times: Column) -> bool:
    """Whether all of them are, of times that are not none."""
    earliest, latest = extent(times)
    return _EARLIEST_S <= earliest <= latest <= _LATEST_S


class WallTime:
    """Turns times of day of one file into UTC, in file order."""

    def __init__(self, zone: tzinfo) -> None:
        self.zone = zone
        self.not_there: float | None = None
        """A time of day that the zone skips when clocks are put forward, if one came. [s]"""
        self._offsets: dict[int, tuple[float, float]] = {}
        self._last = -np.inf
        self._gap = 0.0

    def _offset(self, quarter: int) -> tuple[float, float]:
        found = self._offsets.get(quarter)
        if found is None:
            if len(self._offsets) >= _KEPT:
                self._offsets.clear()
            bare = _EPOCH + timedelta(seconds=quarter * _QUARTER_S)
            local = bare.replace(tzinfo=self.zone)
            found = (_seconds(local), _seconds(local.replace(fold=1)))
            self._offsets[quarter] = found
        return found

    def to_utc(self, naive: Column) -> Column:
        """(n,) seconds since 1970 on the wall → (n,) seconds since the epoch; NaN stays NaN."""
        if len(naive) and (offset := self._one_offset(naive)) is not None:
            early: Column = naive - offset
            self._remember(early)
            return early
        good = plausible(naive)
        if not good.any():
            return np.full(len(naive), np.nan)
        naive = np.where(good, naive, np.nan)
        quarters = np.floor(np.where(good, naive, naive[good][0]) / _QUARTER_S).astype(np.int64)
        low, high = int(quarters.min()), int(quarters.max())
        if high - low < _FEW:
            kinds, where = np.arange(low, high + 1), quarters - low
        else:
            kinds, where = np.unique(quarters, return_inverse=True)
        pairs = np.array([self._offset(int(quarter)) for quarter in kinds])
        first, second = pairs[where, 0], pairs[where, 1]
        skipped = good & (first < second)
        if self.not_there is None and skipped.any():
            self.not_there = float(naive[skipped][0])
        early = naive - first
        if not (first > second).any():
            self._remember(early[good])
            return early
        return self._in_order(early, naive - second, good)

    def _one_offset(self, naive: Column) -> float | None:
        """The offset of a stretch in which it does not change and no hour is doubtful."""
        earliest, latest = extent(naive)
        if not _EARLIEST_S <= earliest <= latest <= _LATEST_S:  # NaN is none of them either
            return None
        low, high = int(earliest // _QUARTER_S), int(latest // _QUARTER_S)
        if high - low >= _FEW:
            return None
        # No zone changes its clocks and changes them back within these few days.
        offsets = {*self._offset(low), *self._offset(high)}
        return offsets.pop() if len(offsets) == 1 else None

    def _remember(self, times: Column) -> None:
        self._gap = float(times[-1] - (times[-2] if len(times) > 1 else self._last))
        self._last = float(times[-1])

    def _in_order(self, early: Column, late: Column, good: NDArray[np.bool_]) -> Column:
        answer = early.copy()
        for index in np.flatnonzero(good):
            one, two = float(early[index]), float(late[index])
            # A skipped hour gives two < one and belongs to the first; only a doubled one asks.
            if two > one and self._is_second(one, two):
                one = two
            answer[index] = one
            self._gap, self._last = one - self._last, one
        return answer

    def _is_second(self, one: float, two: float) -> bool:
        back = self._last - one
        if back <= 0:
            # Hourly readings show the doubled hour as the very same time of day.
            return back == 0 and self._gap >= (two - one) / 2
        # Beyond the second hour the clock was set back, or rows are sent again: the first comes.
        return LATE_S < back <= 2 * (two - one)


def _seconds(moment: datetime) -> float:
    offset = moment.utcoffset()
    return 0.0 if offset is None else offset.total_seconds()
