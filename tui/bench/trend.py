"""Whether a channel that seems to stand creeps on after all, from all readings since a moment."""

from math import isnan, sqrt

from tui.bench.twins import twin


class Trend:
    """A straight line through readings, carried forward row by row (Welford's sums)."""

    __slots__ = ("_mean_t", "_mean_y", "_number", "_since", "_stt", "_sty", "_syy")

    def __init__(self, since: float) -> None:
        """Nothing has been read.

        Args:
            since: times are counted from here, so that they stay small. [s]
        """
        self._since = since
        self._number = 0
        self._mean_t = self._mean_y = 0.0
        self._stt = self._sty = self._syy = 0.0

    def copy(self) -> "Trend":
        """An independent trend in the same state."""
        return twin(self)

    def add(self, time: float, value: float) -> None:
        """Follow one reading; one that is missing counts for nothing."""
        if isnan(value):
            return
        self._number += 1
        t = time - self._since
        from_t, from_y = t - self._mean_t, value - self._mean_y
        self._mean_t += from_t / self._number
        self._mean_y += from_y / self._number
        self._stt += from_t * (t - self._mean_t)
        self._sty += from_t * (value - self._mean_y)
        self._syy += from_y * (value - self._mean_y)

    @property
    def slope(self) -> float:
        """Of the line, per second."""
        return self._sty / self._stt if self._stt > 0.0 else 0.0

    @property
    def certainty(self) -> float:
        """The slope over its standard error; 0 of fewer than four readings. [-]"""
        if self._number < 4 or self._stt <= 0.0:
            return 0.0
        left = max(self._syy - self.slope * self._sty, 0.0) / (self._number - 2)
        error = sqrt(left / self._stt)
        return self.slope / max(error, 1e-12)
