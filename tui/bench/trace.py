"""A line thinned as it grows: bounded, in order, the same at any chunking of the readings."""

from math import isnan

LIMIT = 256
"""Points kept at most; a plot has fewer columns than that."""


class Trace:
    """Points (x, y) with x not falling; the newest point is always there."""

    __slots__ = ("_gap", "_kept", "_last", "_limit")

    def __init__(self, limit: int = LIMIT) -> None:
        self._limit = limit
        self._gap = 0.0
        self._kept: list[tuple[float, float]] = []
        self._last: tuple[float, float] | None = None

    def add(self, x: float, y: float) -> None:
        """One more point; NaN is no point."""
        if isnan(x) or isnan(y):
            return
        self._last = (x, y)
        if self._kept and x - self._kept[-1][0] < self._gap:
            return
        self._kept.append((x, y))
        if len(self._kept) > self._limit:
            self._thin()

    def _thin(self) -> None:
        span = self._kept[-1][0] - self._kept[0][0]
        self._gap = max(2.0 * self._gap, 2.0 * span / self._limit)
        kept = self._kept[:1]
        for point in self._kept[1:]:
            if point[0] - kept[-1][0] >= self._gap:
                kept.append(point)
        if len(kept) > self._limit:  # all at one x: nothing to tell apart
            kept = kept[::2]
        self._kept = kept

    def points(self) -> tuple[tuple[float, float], ...]:
        """What is kept, with the newest point."""
        if self._last is None or (self._kept and self._kept[-1] == self._last):
            return tuple(self._kept)
        return (*self._kept, self._last)

    @property
    def kept(self) -> tuple[tuple[float, float], ...]:
        """What stays until it is thinned; the newest point may be none of it."""
        return tuple(self._kept)

    @property
    def last(self) -> tuple[float, float] | None:
        """The newest point."""
        return self._last

    @property
    def thinned(self) -> bool:
        """Whether points were left out."""
        return self._gap > 0.0

    def __len__(self) -> int:
        return len(self._kept)

    def copy(self) -> "Trace":
        """An independent trace with the same points."""
        other = Trace(self._limit)
        other._gap, other._kept, other._last = self._gap, self._kept.copy(), self._last
        return other
