"""A line of which every peak stays: least and greatest value of stretches that grow with it."""

from bisect import bisect_left
from itertools import pairwise
from math import inf, isfinite, isnan

import numpy as np

from tui.feed.rows import Column

STRETCHES = 128
"""Stretches kept at most; a plot has fewer columns than that."""

_MANY = 16
"""Points that are worth looking at together."""

Point = tuple[float, float]


class Pyramid:
    """Points (x, y) with x not falling; the same at any chunking of the readings.

    Each stretch is as long as the others; when there are too many, it is twice as long from there
    on, and what was kept is brought together in pairs.
    """

    __slots__ = ("_begin", "_last", "_length", "_most", "_stretches")

    def __init__(self, most: int = STRETCHES) -> None:
        self._most = most
        self._begin = 0.0
        self._length = 0.0
        """Of a stretch in x; 0 while every point is one."""
        self._stretches: list[tuple[Point, Point]] = []
        """Its lowest and its highest point."""
        self._last: Point | None = None

    def add(self, x: float, y: float) -> None:
        """One more point; NaN is no point."""
        if isnan(x) or isnan(y):
            return
        self._last = (x, y)
        if not self._stretches:
            self._begin = x
        self._take(self._last, self._last)
        if len(self._stretches) > self._most:
            # Where all stand at one x any length brings them together.
            self._length = 2.0 * max(self._length, (x - self._begin) / self._most) or 1.0
            stretches, self._stretches = self._stretches, []
            for low, high in stretches:
                self._take(low, high)

    def extend(self, xs: Column, ys: Column) -> None:
        """Many points: what `add` makes of them one by one.

        Args:
            xs: (n,) not falling.
            ys: (n,); NaN is no point.
        """
        if len(xs) < _MANY:
            for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
                if isfinite(x) and isfinite(y):
                    self.add(x, y)
            return
        known = np.flatnonzero(np.isfinite(xs) & np.isfinite(ys))
        xs, ys = xs[known], ys[known]
        at = 0
        while at < len(xs):
            if self._length and len(xs) - at >= _MANY:
                at += self._merge(xs[at:], ys[at:])
            if at < len(xs):  # one more than fits, or one of few
                self.add(float(xs[at]), float(ys[at]))
                at += 1

    def _merge(self, xs: Column, ys: Column) -> int:
        """Take in points until one would make a stretch too many; how many were taken."""
        places = ((xs - self._begin) / self._length).astype(np.int64)
        last = self._place(self._stretches[-1][0])
        begins = np.flatnonzero(np.diff(places, prepend=last))
        room = self._most - len(self._stretches)
        until = len(xs) if len(begins) <= room else int(begins[room])
        edges = [0, *begins[(begins > 0) & (begins < until)].tolist(), until]
        for begin, end in pairwise(edges):
            if begin < end:
                low = begin + int(np.argmin(ys[begin:end]))
                high = begin + int(np.argmax(ys[begin:end]))
                self._take((float(xs[low]), float(ys[low])), (float(xs[high]), float(ys[high])))
        if until:
            self._last = (float(xs[until - 1]), float(ys[until - 1]))
        return until

    def _take(self, low: Point, high: Point) -> None:
        if (
            self._stretches
            and self._length
            and self._place(low) == self._place(self._stretches[-1][0])
        ):
            lowest, highest = self._stretches[-1]
            self._stretches[-1] = (
                low if low[1] < lowest[1] else lowest,
                high if high[1] > highest[1] else highest,
            )
        else:
            self._stretches.append((low, high))

    def _place(self, point: Point) -> int:
        return int((point[0] - self._begin) / self._length)

    def points(self) -> tuple[Point, ...]:
        """The lowest and the highest point of each stretch in order, and the newest."""
        return self.between(-inf, inf)

    def between(self, start: float, end: float) -> tuple[Point, ...]:
        """Those of its points with start ≤ x < end."""
        first = bisect_left(self._stretches, start, key=lambda one: max(one[0][0], one[1][0]))
        found: list[Point] = []
        for low, high in self._stretches[first:]:
            if low[0] >= end and high[0] >= end:
                break
            if low == high:
                found.append(low)
            else:
                found += (low, high) if low < high else (high, low)
        if self._last is not None and self._last[0] < end and found[-1:] != [self._last]:
            found.append(self._last)
        return tuple(point for point in found if start <= point[0] < end)

    def __len__(self) -> int:
        return len(self._stretches)

    def copy(self) -> "Pyramid":
        """An independent line with the same points."""
        other = Pyramid(self._most)
        other._begin, other._length, other._last = self._begin, self._length, self._last
        other._stretches = self._stretches.copy()
        return other
