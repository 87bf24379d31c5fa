"""One thing at a time that may take long or fail: in a thread of its own, and tried again.

Nothing that hangs keeps the watch waiting: an errand that does not come back is given up, and the
next try has another thread. Ticks are seconds of a clock that is never set.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from tui.guard.routes.failures import AddressError, reason

FIRST_REST_S = 5.0
LONGEST_REST_S = 120.0
"""Rests between tries double from the first to the longest. [s]"""
GIVEN_UP_S = 90.0
"""An errand that takes longer than this has failed. [s]"""
TOLD_AFTER = 3
"""So many failures in a row are told: a line that blinks once wakes nobody."""
_MOST_LOST = 5

Load = TypeVar("Load")


def rest_s(failures: int) -> float:
    """How long to wait after so many failures in a row. [s]

    Example:
        >>> [rest_s(n) for n in range(1, 8)]
        [5.0, 10.0, 20.0, 40.0, 80.0, 120.0, 120.0]
    """
    return min(LONGEST_REST_S, FIRST_REST_S * 2.0 ** min(failures - 1, 30))


@dataclass(slots=True)
class _Errand(Generic[Load]):
    load: Load
    began: float
    done: threading.Event = field(default_factory=threading.Event)
    failure: str | None = None
    for_good: bool = False


class Errands(Generic[Load]):
    """Runs errands of one kind, one after the other."""

    def __init__(self, name: str, wake: Callable[[], object]) -> None:
        """Nothing runs yet.

        Args:
            name: of its threads.
            wake: called, from any thread, when one is done.
        """
        self._name, self._wake = name, wake
        self._out: _Errand[Load] | None = None
        self._lost: list[_Errand[Load]] = []
        self._rests_until = 0.0
        self.failures = 0
        """In a row."""
        self.why: str | None = None
        """Of the last failure; None after a success."""
        self.hopeless = False
        """Whether trying again cannot help: the address itself is wrong."""

    @property
    def is_out(self) -> bool:
        """Whether one is on its way."""
        return self._out is not None

    @property
    def is_told(self) -> bool:
        """Whether it has failed long enough to be told."""
        return self.hopeless or self.failures >= TOLD_AFTER

    def is_free(self, tick: float) -> bool:
        """Whether the next may go."""
        lost = len(self._lost) >= _MOST_LOST
        return self._out is None and not lost and tick >= self._rests_until

    def go(self, load: Load, work: Callable[[Load], object], tick: float) -> None:
        """Begin one."""
        errand = _Errand(load, tick)
        self._out = errand

        def run() -> None:
            try:
                work(load)
            except Exception as error:  # noqa: BLE001 - whatever fails on the way is told as a failure
                errand.failure = reason(error)
                errand.for_good = isinstance(error, AddressError)
            errand.done.set()
            self._wake()

        _start(run, self._name)

    def back(self, tick: float) -> list[Load]:
        """What has succeeded since the last call."""
        found = [one.load for one in self._lost if one.done.is_set() and one.failure is None]
        self._lost = [one for one in self._lost if not one.done.is_set()]
        errand = self._out
        if errand is None:
            return found
        if errand.done.is_set():
            self._out = None
            if errand.failure is None:
                self.failures, self.why, self.hopeless, self._rests_until = 0, None, False, 0.0
                found.append(errand.load)
            else:
                self._failed(errand.failure, tick, for_good=errand.for_good)
        elif tick - errand.began > GIVEN_UP_S:
            self._out = None
            self._lost.append(errand)
            self._failed("no answer came in time", tick, for_good=False)
        return found

    def _failed(self, why: str, tick: float, *, for_good: bool) -> None:
        self.failures += 1
        self.why, self.hopeless = why, for_good
        self._rests_until = tick + (LONGEST_REST_S if for_good else rest_s(self.failures))


def _start(run: Callable[[], None], name: str) -> None:
    # One that hangs must not keep the program from ending.
    threading.Thread(target=run, name=name, daemon=True).start()
