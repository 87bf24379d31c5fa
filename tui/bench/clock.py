"""The one door to the wall clock. Below it time is an argument."""

import time
from typing import Protocol


class Clock(Protocol):
    """Tells the present moment. [s since the epoch]"""

    def now(self) -> float:
        """The present moment. [s since the epoch]"""
        ...


class WallClock:
    """The machine's own clock."""

    def now(self) -> float:
        """The present moment. [s since the epoch]"""
        return time.time()


class HandClock:
    """A clock that stands until somebody moves it: for `--at`, finished benches and tests."""

    def __init__(self, start: float) -> None:
        self._now = start

    def now(self) -> float:
        """The moment it was set to. [s since the epoch]"""
        return self._now

    def set(self, moment: float) -> None:
        """Move the hand; it may also go back."""
        self._now = moment


class FastClock:
    """A clock that runs a given number of times faster than life: for replay and the demo."""

    def __init__(self, start: float, speed: float, stop_at: float | None = None) -> None:
        self._start = start
        self._speed = speed
        self._stop_at = stop_at
        self._began = time.monotonic()

    def now(self) -> float:
        """The moment it has reached; it stands at `stop_at`. [s since the epoch]"""
        moment = self._start + (time.monotonic() - self._began) * self._speed
        return moment if self._stop_at is None else min(moment, self._stop_at)
