"""Where a course bends: the moment from which what went on steadily stands.

Single readings of a slow ram say little: noise is as large as what it travels in minutes. So the
newest readings are gathered by the minute, and two straight lines are laid through them.
"""

from bisect import bisect_left
from dataclasses import dataclass
from math import ceil

import numpy as np

from tui.bench.twins import twin
from tui.feed.rows import Column

MINUTE_S = 60.0
KEPT = 128
"""Gathered readings that are kept: two hours of readings a minute apart or closer."""
FINER = 4
"""Places between two gathered readings at which a bend is sought."""
PLAIN = 16.0
"""Ratio of variances (F, one and n - 3 degrees of freedom) from which a bend is plain: the best of
hundreds of places seldom reaches ten by chance. Common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class _Gathered:
    """The readings of a minute, or one reading where they are rarer."""

    first: float
    last: float
    number: int
    time: float
    """Mean. [s]"""
    value: float
    """Mean."""

    def with_one(self, time: float, value: float) -> "_Gathered":
        number = self.number + 1
        return _Gathered(
            self.first,
            time,
            number,
            self.time + (time - self.time) / number,
            self.value + (value - self.value) / number,
        )

    def first_from(self, moment: float) -> float:
        """Time of its first reading at or after a moment, if they came at a steady pace. [s]"""
        if moment <= self.first or self.number < 2:
            return self.first
        pace = (self.last - self.first) / (self.number - 1)
        return min(self.last, self.first + pace * ceil((moment - self.first) / pace - 1e-6))


class Course:
    """The newest course of one channel."""

    __slots__ = ("_gathered", "_newest")

    def __init__(self) -> None:
        self._gathered: tuple[_Gathered, ...] = ()
        self._newest: _Gathered | None = None

    def copy(self) -> "Course":
        """An independent course in the same state."""
        return twin(self)

    def add(self, time: float, value: float) -> None:
        """Follow one reading."""
        newest = self._newest
        if newest is not None and time - newest.first < MINUTE_S:
            self._newest = newest.with_one(time, value)
            return
        if newest is not None:
            self._gathered = (*self._gathered[-KEPT + 2 :], newest)
        self._newest = _Gathered(time, time, 1, time, value)

    def _about(self, since: float, seems: float) -> list[_Gathered]:
        """What tells of the bend: three times as long before it as after, as speeds change."""
        every = self._gathered if self._newest is None else (*self._gathered, self._newest)
        after = [one for one in every if one.first >= seems]
        before = [one for one in every if since <= one.first < seems]
        if not after:
            return []
        long = 3.0 * (after[-1].last - seems)
        near = sum(one.first >= seems - long for one in before)
        return [*before[-max(near, 8) :], *after]

    def stands_from(self, since: float, seems: float) -> float | None:
        """Time of the first reading at which what rose steadily stood, and stands since. [s]

        Least squares over all places of the bend, of a line that rises and then is level.

        Args:
            since: what was before this is another course. [s]
            seems: from when on it seems to stand. [s]

        Returns:
            None where no bend makes the course plainer than a single straight line.
        """
        return self._bend(self._about(since, seems), falls=False)

    def falls_from(self, since: float, seems: float) -> float | None:
        """The same of what went on steadily and falls since, as the load of a ram that stands."""
        return self._bend(self._about(since, seems), falls=True)

    def _bend(self, used: list[_Gathered], *, falls: bool) -> float | None:
        if len(used) < 6 if falls else len(used) < 4:
            return None
        start = used[0].time
        times = np.array([one.time for one in used]) - start
        values = np.array([one.value for one in used])
        weights = np.sqrt([float(one.number) for one in used])
        index = np.arange(1.0 if falls else 0.0, len(used) - 1.0, 1.0 / FINER)
        places = np.interp(index, np.arange(len(used)), times)
        straight = _fit([times], values, weights)[0]
        fits = [
            _fit([np.minimum(times - place, 0.0), *([times] if falls else [])], values, weights)
            for place in places
        ]
        best = int(np.argmin([left for left, _ in fits]))
        left, slopes = fits[best]
        if (straight - left) * (len(used) - 3 - falls) <= PLAIN * left:
            return None
        if falls and not (slopes[1] < 0.0 < slopes[0]):
            return None
        step = 1.0 / FINER  # what was read just at the bend is the last of what went on
        bend = float(np.interp(index[best] + step, np.arange(len(used)), times)) + start
        at = max(0, bisect_left([one.first for one in used], bend) - 1)
        inside = used[at].first_from(bend)
        return used[at + 1].first if inside < bend and at + 1 < len(used) else inside


def _fit(shapes: list[Column], values: Column, weights: Column) -> tuple[float, Column]:
    """Weighted squares that a level and multiples of some shapes leave, and the multiples."""
    table = np.column_stack([np.ones_like(values), *shapes]) * weights[:, None]
    found = np.linalg.lstsq(table, values * weights, rcond=None)[0]
    return float(np.sum((values * weights - table @ found) ** 2)), np.asarray(found[1:], float)
