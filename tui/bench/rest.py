"""Whether a ram that was brought to the specimen was left there, or goes on too slowly to be seen.

A slow shear travels less in twenty minutes than single readings can tell; a straight line through
all of them can. Thresholds are common practice, no source.
"""

from tui.bench.draining import MARGIN, Draining
from tui.bench.readings import Reading
from tui.bench.trend import Trend
from tui.bench.twins import twin

QUIET_MM = 0.02
"""Travel beyond this is a move in any single reading. [mm]"""
GOES_ON, STANDS = 4.0, 2.0
"""This many standard errors of its slope above nothing a course goes on; below, it stands. [-]"""
SLOWEST_MM, SLOWEST_N = 0.001, 0.3
"""Less in twenty minutes is the warmth of gauges, not a frame. [mm], [N]"""
TWENTY_MIN_S = 1200.0


class Rest:
    """The frame since it was last seen to move."""

    __slots__ = ("_draining", "_loads", "_mm_per_ml", "_travels", "_volumes", "since")

    def __init__(self, reading: Reading, mm_per_ml: float, draining: Draining) -> None:
        """The frame may rest from a reading on.

        Args:
            reading: it.
            mm_per_ml: travel that a volume that leaves the specimen explains at most. [mm/ml]
            draining: before the frame moved.
        """
        self.since = reading
        self._mm_per_ml, self._draining = mm_per_ml, draining.copy()
        self._travels, self._loads, self._volumes = (Trend(reading.time) for _ in range(3))

    def copy(self) -> "Rest":
        """An independent one in the same state."""
        other = twin(self)
        other._travels, other._loads = self._travels.copy(), self._loads.copy()
        other._volumes = self._volumes.copy()
        return other

    def moved(self, reading: Reading) -> bool:
        """Whether one reading alone shows that the frame moved."""
        changed, passed = (
            reading.back_volume - self.since.back_volume,
            reading.time - self.since.time,
        )
        explained = self._draining.explained_ml(changed, passed) * self._mm_per_ml
        gone = reading.axial_displacement - self.since.axial_displacement
        return gone > QUIET_MM + explained

    def add(self, reading: Reading, load_N: float) -> None:
        """Follow a reading that shows no move."""
        self._travels.add(reading.time, reading.axial_displacement)
        self._loads.add(reading.time, load_N)
        self._volumes.add(reading.time, reading.back_volume)

    def lasts(self, reading: Reading, for_s: float) -> bool:
        """Whether it has lasted so long, and neither travel nor load goes on in small steps."""
        if reading.time - self.since.time < for_s:
            return False
        travels, loads, volumes = self._travels, self._loads, self._volumes
        slope = travels.slope
        if abs(volumes.certainty) > GOES_ON:  # what follows the specimen is no move of the frame
            before, now = self._draining.rate_ml_s, abs(volumes.slope)
            slope -= (now if before is None else min(now, MARGIN * before)) * self._mm_per_ml
        creeps = travels.certainty > STANDS and slope > SLOWEST_MM / TWENTY_MIN_S
        loaded = loads.certainty > STANDS and loads.slope > SLOWEST_N / TWENTY_MIN_S
        return not (creeps or loaded)
