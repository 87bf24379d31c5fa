"""Whether a jump of a volume gauge is a refill, told from the two readings beside it.

Nothing but the readings up to the jump is used, so that it is told at once and never taken back.
Where a jump may as well be flow it is flow, and is told: a refill that was missed can be entered
by hand, water that was explained away is gone from the result.
"""

from dataclasses import dataclass
from math import isnan
from typing import NamedTuple

STANDS_KPA = 2.0
"""Pressures that differ by no more between two readings stand: common practice, no source. [kPa]"""
EXCESS_KPA = 5.0
"""Pore pressure this far from back pressure drives water through an open valve. [kPa]"""
SLOWS = 1.5
"""Flow slows down as long as pressures stand: beyond the pace before by this factor it is none."""
OPENED, DISSIPATED = 0.05, 0.15
"""Most that a specimen gives or takes between two readings, as a share of its volume: while pore
pressure at its far end has hardly moved, and while it has. Common practice, no source. [-]"""

FAST_S, STEP = 60.0, 1.0 / 30.0
"""A gauge that moves by more than its `refill` in so long, and by this share of it from one reading
to the next, may be in the midst of being refilled: a syringe is drawn up within some minutes, a
specimen drinks for hours. Common practice, no source. [s] [-]"""
LAST_STEP = 0.05
"""The end of such a move is looked at more closely: the same share there. [-]"""


class Point(NamedTuple):
    """A reading of a volume gauge with the last known pressures beside it; NaN where not known."""

    time: float
    volume: float
    cell: float
    back: float
    pore: float
    drainage: str | None


@dataclass(frozen=True, slots=True)
class Jump:
    """From one reading of a gauge to the next."""

    before: Point
    after: Point
    pace: float
    """Of the flow before; 0 where none is known. [ml/s]"""
    into_specimen: int
    """1 if the gauge counts what enters the specimen, −1 if it rises when the specimen shrinks."""
    specimen_ml: float

    @property
    def size(self) -> float:
        """As the gauge counts. [ml]"""
        return self.after.volume - self.before.volume

    def is_no_flow(self) -> bool:
        """Whether the gauge moved and the water did not.

        Example:
            >>> before = Point(0.0, 12.0, 310.0, 160.0, 200.0, None)
            >>> Jump(before, before._replace(time=10.0, volume=60.3), 0.0, 1, 196.0).is_no_flow()
            True
            >>> raised = before._replace(time=10.0, volume=60.3, back=210.0)
            >>> Jump(before, raised, 0.0, 1, 196.0).is_no_flow()
            False
        """
        before, after = self.before, self.after
        moves = [abs(after.cell - before.cell), abs(after.back - before.back)]
        known = [move for move in moves if not isnan(move)]
        if not known or max(known) > STANDS_KPA:
            return False
        if before.drainage == after.drainage == "closed":
            return True
        if self.goes_on_as_before:
            return False
        excess_before, excess_after = before.pore - before.back, after.pore - after.back
        sinks = abs(excess_after) < abs(excess_before)
        risen = after.pore - before.pore
        entered = self.into_specimen * self.size
        if abs(risen) > STANDS_KPA:
            if not sinks and after.cell - after.pore < EXCESS_KPA:
                return False  # as behind a burst membrane
            driven = entered * risen > 0.0 or not sinks
            return not driven or abs(entered) > DISSIPATED * self.specimen_ml
        opened = before.drainage == "closed" and after.drainage == "open"
        return not (self.is_driven or opened) or abs(entered) > OPENED * self.specimen_ml

    @property
    def goes_on_as_before(self) -> bool:
        """Whether the flow that was there explains it."""
        expected = SLOWS * self.pace * self.seconds
        return expected * self.size > 0.0 and abs(self.size) <= abs(expected)

    @property
    def is_driven(self) -> bool:
        """Whether pore pressure drove water the way that the gauge has moved."""
        excess = self.before.pore - self.before.back
        return abs(excess) > EXCESS_KPA and self.into_specimen * self.size * excess < 0.0

    @property
    def seconds(self) -> float:
        """Between the two readings. [s]"""
        return self.after.time - self.before.time

    @property
    def is_watched(self) -> bool:
        """Whether what drives water is known: without, a slower refill is not told from flow."""
        after = self.after
        shut = self.before.drainage == after.drainage == "closed"
        return shut or not isnan(after.pore - after.back)

    def may_be_under_way(self, threshold: float, *, begun: bool) -> bool:
        """Whether it is as fast as a gauge that is being refilled over several readings.

        Args:
            threshold: the `refill` of the gauge. [ml]
            begun: whether it moved that way already: the last step may be a small one.
        """
        if not 0.0 < self.seconds <= FAST_S:
            return False
        if begun:
            return abs(self.size) > LAST_STEP * threshold and not self.goes_on_as_before
        return abs(self.size) > threshold * max(STEP, self.seconds / FAST_S)
