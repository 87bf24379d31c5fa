"""The way of the ram to the specimen: fast, and slower from the touch on.

Common practice, no source: a ram is brought to the specimen at several times the speed of shear.
"""

from dataclasses import dataclass

from tui.bench.readings import Reading
from tui.bench.twins import twin

FAST, SLOW = 0.5, 0.25
"""Above this share of its speed the ram still approaches; below the other it does no longer. [-]"""


LONGEST_S = 3600.0
"""Nobody brings a ram to the specimen for longer: what goes on at one pace is the shear. [s]"""


@dataclass(frozen=True, slots=True)
class Way:
    """A channel that tells how far the ram has come."""

    channel: str
    sign: float
    """Of the channel while the ram goes on."""
    sure: float
    """Well above the noise of the usual gauges, in the unit of the channel."""

    def at(self, reading: Reading) -> float:
        """How far it is."""
        value: float = getattr(reading, self.channel)
        return self.sign * value


TRAVEL = Way("axial_displacement", 1.0, 0.02)
"""[mm]"""
DISPLACED = Way("cell_volume", -1.0, 0.06)
"""The water that the piston drives out of the cell. [ml]"""


class Approach:
    """One approach, from the reading by which the frame was seen to move."""

    __slots__ = ("_again", "_anchor", "_begun", "_next", "_speed", "ended", "way")

    def __init__(self, way: Way, before: Reading, begun: Reading, now: Reading) -> None:
        """The frame moves.

        Args:
            way: what tells how far.
            before: the last reading at rest.
            begun: the first one that is not.
            now: the newest one.
        """
        self.way = way
        self._begun = begun if now.time > begun.time else before
        self._anchor = now
        self._next: Reading | None = None
        self._again = 0
        self._speed = 0.0
        self.ended: Reading | None = None
        """First reading after it."""
        self._measure()

    def copy(self) -> "Approach":
        """An independent one in the same state."""
        return twin(self)

    def _measure(self) -> None:
        took = self._anchor.time - self._begun.time
        if took > 0.0:
            self._speed = (self.way.at(self._anchor) - self.way.at(self._begun)) / took

    @property
    def is_shear(self) -> bool:
        """Whether it has gone on at one pace for too long to be the way to a specimen."""
        return self._anchor.time - self._begun.time > LONGEST_S

    def gone_since(self, reading: Reading) -> float:
        """How far the ram went on after the approach, in the unit of the channel."""
        return 0.0 if self.ended is None else self.way.at(reading) - self.way.at(self.ended)

    def add(self, reading: Reading) -> None:
        """Follow a reading that tells how far the ram is."""
        if self.is_shear:
            return
        gone = self.way.at(reading) - self.way.at(self._anchor)
        expected = self._speed * (reading.time - self._anchor.time)
        fast = gone >= FAST * expected
        if self.ended is not None:
            self._may_go_on(reading, gone, fast=fast)
        elif fast and gone > self.way.sure:
            self._anchor, self._next = reading, None
            self._measure()
        else:
            self._next = self._next or reading
            sure = expected / self.way.sure
            if (sure > 2.0 and gone < SLOW * expected) or sure > 8.0:
                self.ended, self._anchor = self._next, reading

    def _may_go_on(self, reading: Reading, gone: float, *, fast: bool) -> None:
        """A ram that stopped on its way and goes on as fast as before has not arrived."""
        if gone <= self.way.sure or self.way is not TRAVEL:
            return
        self._anchor = reading
        self._again = self._again + 1 if fast else 0
        if self._again >= 3:
            self.ended, self._next, self._again = None, None, 0
