"""When the specimen begins to take load. Thresholds are common practice, no source."""

import copy
from math import isnan

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading

QUIET_N, TAKEN_N = 3.0, 8.0
"""Load that is noise or seating, and load that the specimen takes. [N]"""
CREEP_S = 3600.0
"""Between the two for this long, with a frame at rest, is creep of the gauge. [s]"""
DRIFT_N_S = 1.0 / 3600.0
"""A gauge that gets warmer gains about so much: the level follows no faster upward. [N/s]"""


class LoadTaken:
    """The load of one ram at rest or on its way, until the specimen takes it."""

    __slots__ = (
        "_away",
        "_corrected",
        "_noise_n",
        "_quiet",
        "_taken_at",
        "_uplift_mm2",
        "before",
        "first",
        "known",
        "level",
        "newest",
    )

    def __init__(self, friction_N: float = 0.0, uplift_mm2: float = 0.0) -> None:
        # A piston that begins to move shows its friction: that is no load of the specimen.
        self._noise_n = QUIET_N + 1.5 * friction_N
        self._taken_at = TAKEN_N + 1.5 * friction_N
        self._uplift_mm2 = uplift_mm2
        self._corrected = False
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self.level: float | None = None
        """Load before the specimen took any. [N]"""
        self.newest = float("nan")
        """Load of the newest reading, less what lifts the piston; NaN: not read. [N]"""
        self.first: Reading | None = None
        """First reading at which the specimen took load."""
        self.before: Reading | None = None
        """Last reading before."""
        self.known: float | None = None
        """Time of the reading by which that was understood. [s]"""

    def copy(self) -> "LoadTaken":
        """An independent one in the same state."""
        return copy.copy(self)

    def at_rest(self, reading: Reading) -> None:
        """Begin to look for load from this reading on."""
        self.first = self.before = self._away = self.known = None
        self._quiet, self.level = reading, None

    def is_free(self, reading: Reading) -> bool:
        """Whether a reading lies at the level of a specimen that takes nothing."""
        load = self._load(reading)
        return self.level is not None and load - self.level <= self._noise_n

    def _load(self, reading: Reading) -> float:
        load = reading.axial_load
        if self._uplift_mm2 and not isnan(reading.cell_pressure):
            return load - reading.cell_pressure * self._uplift_mm2 / 1000.0
        # One load as it is among others less the uplift would be a jump.
        return float("nan") if self._corrected else load

    def add(self, reading: Reading, *, frame_rests: bool) -> None:
        """Follow one reading.

        Args:
            reading: the next one.
            frame_rests: whether the frame is not known to have moved.
        """
        if self._uplift_mm2 and not isnan(reading.cell_pressure):
            self._corrected = True
        load = self.newest = self._load(reading)
        if isnan(load) or self.first is not None:
            return
        if self.level is None:
            self.level, self._quiet = load, reading
            return
        away = load - self.level
        if away <= self._noise_n:
            self._follow_level(reading, away)
            return
        if self._away is None:
            self._away = reading
        if away > self._taken_at:
            self.first, self.before, self.known = self._away, self._quiet, reading.time
        elif reading.time - self._away.time > CREEP_S and frame_rests:
            self.level, self._quiet, self._away = load, reading, None

    def _follow_level(self, reading: Reading, away: float) -> None:
        if self._away is not None and away >= 0.5 * self._noise_n:
            return
        assert self.level is not None
        since = MINUTE_S if self._quiet is None else reading.time - self._quiet.time
        # A slow shear adds up: the level must not rise with it.
        self.level += min(followed(0.1, since) * away, DRIFT_N_S * max(since, 0.0))
        self._quiet, self._away = reading, None
