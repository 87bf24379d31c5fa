"""How fast a specimen still drained before the ram moved: consolidation only slows down.

What leaves faster afterwards is squeezed out by the ram, and explains none of its travel.
"""

from math import isnan

from tui.bench.readings import Reading
from tui.bench.twins import twin

WINDOW_S = 1200.0
"""Volumes this far apart tell a rate. [s]"""
NOISE_ML = 0.02
"""What two readings of a volume may differ by. [ml]"""
MARGIN = 1.5
"""Rates wander by the warmth of room and tubes: common practice, no source. [-]"""


class Draining:
    """The volume that left in the last stretches before the ram moved."""

    __slots__ = ("_marks", "rate_ml_s")

    def __init__(self) -> None:
        self._marks: tuple[tuple[float, float], ...] = ()
        self.rate_ml_s: float | None = None
        """Of the last twenty minutes or more; None: not known. [ml/s]"""

    def copy(self) -> "Draining":
        """An independent one in the same state."""
        return twin(self)

    def add(self, reading: Reading) -> None:
        """Follow a reading at which the frame rests."""
        volume = reading.back_volume
        if isnan(volume):
            return
        if not self._marks or reading.time - self._marks[-1][0] >= WINDOW_S:
            self._marks = (*self._marks[-1:], (reading.time, volume))
        time, before = self._marks[0]
        if reading.time - time >= WINDOW_S:
            self.rate_ml_s = abs(volume - before) / (reading.time - time)

    def explained_ml(self, changed_ml: float, seconds: float) -> float:
        """How much of a change of volume since then is what would have drained anyway. [ml]"""
        if isnan(changed_ml):
            return 0.0
        if self.rate_ml_s is None:
            return abs(changed_ml)
        return min(abs(changed_ml), MARGIN * self.rate_ml_s * seconds + NOISE_ML)
