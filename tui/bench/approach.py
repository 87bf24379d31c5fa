"""The way of the ram to the specimen: fast, and slower from the touch on.

Common practice, no source: a ram is brought to the specimen at several times the speed of shear.
"""

import copy

from tui.bench.readings import Reading

SURE_MM = 0.02
"""Travel well above the noise of the usual gauges. [mm]"""
FAST, SLOW = 0.5, 0.25
"""Above this share of its speed the ram still approaches; below the other it does no longer. [-]"""


class Approach:
    """One approach, from the reading by which the frame was seen to move."""

    __slots__ = ("_again", "_anchor", "_begun", "_next", "ended", "speed_mm_s")

    def __init__(self, before: Reading, begun: Reading, now: Reading) -> None:
        """The frame moves.

        Args:
            before: the last reading at rest.
            begun: the first one that is not.
            now: the newest one.
        """
        self._begun = begun if now.time > begun.time else before
        self._anchor = now
        self._next: Reading | None = None
        self._again = 0
        self.speed_mm_s = 0.0
        """So far. [mm/s]"""
        self.ended: Reading | None = None
        """First reading after it."""
        self._measure()

    def copy(self) -> "Approach":
        """An independent one in the same state."""
        return copy.copy(self)

    def _measure(self) -> None:
        took = self._anchor.time - self._begun.time
        if took > 0.0:
            gone = self._anchor.axial_displacement - self._begun.axial_displacement
            self.speed_mm_s = gone / took

    def gone_since(self, reading: Reading) -> float:
        """How far the ram went on after the approach. [mm]"""
        if self.ended is None:
            return 0.0
        return reading.axial_displacement - self.ended.axial_displacement

    def add(self, reading: Reading) -> None:
        """Follow a reading that has travel."""
        gone = reading.axial_displacement - self._anchor.axial_displacement
        expected = self.speed_mm_s * (reading.time - self._anchor.time)
        fast = gone >= FAST * expected
        if self.ended is not None:
            self._may_go_on(reading, gone, fast=fast)
        elif fast and gone > SURE_MM:
            self._anchor, self._next = reading, None
            self._measure()
        else:
            self._next = self._next or reading
            if expected > 2.0 * SURE_MM and gone < SLOW * expected:
                self.ended, self._anchor = self._next, reading

    def _may_go_on(self, reading: Reading, gone: float, *, fast: bool) -> None:
        """A ram that stopped on its way and goes on as fast as before has not arrived."""
        if gone <= SURE_MM:
            return
        self._anchor = reading
        self._again = self._again + 1 if fast else 0
        if self._again >= 3:
            self.ended, self._next, self._again = None, None, 0
