"""When the ram of the load frame begins to move, meets the specimen, stops or goes back.

A ram that follows a consolidating specimen moves too; what its volume strain explains is not
counted as a move of the frame. Thresholds are common practice, no source.
"""

import copy
from math import isnan

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading

QUIET_MM, MOVED_MM = 0.02, 0.10
"""Travel that is noise, and travel that is the frame. [mm]"""
QUIET_N, TAKEN_N = 3.0, 8.0
"""Load that is noise or seating, and load that the specimen takes. [N]"""
CREEP_S = 3600.0
"""Between the two for this long is creep, not a move. [s]"""
STILL_S = 1800.0
"""No travel for this long: the ram has stopped. [s]"""
STILL_MM = 0.01
"""Travel below the resolution of the usual gauges. [mm]"""
BACK_MM = 0.15
"""Going back by this much is unloading. [mm]"""


class Ram:
    """The axial channels followed row by row."""

    __slots__ = (
        "_away",
        "_corrected",
        "_halfway",
        "_load_away",
        "_load_quiet",
        "_noise_n",
        "_quiet",
        "_ref",
        "_ref_at",
        "_rest",
        "_taken_at",
        "_uplift_mm2",
        "before",
        "first",
        "furthest",
        "height_mm",
        "load_level",
        "still_since",
        "taken",
        "taken_before",
        "volume_ml",
    )

    def __init__(
        self,
        height_mm: float,
        volume_ml: float,
        friction_N: float = 0.0,
        uplift_mm2: float = 0.0,
    ) -> None:
        self.height_mm = height_mm
        self.volume_ml = volume_ml
        self._uplift_mm2 = uplift_mm2
        self._corrected = False
        # A piston that begins to move shows its friction: that is no load of the specimen.
        self._noise_n = QUIET_N + 1.5 * friction_N
        self._taken_at = TAKEN_N + 1.5 * friction_N
        self._ref: tuple[float, float] | None = None
        self._ref_at = 0.0
        self._rest: tuple[float, float, float] | None = None
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self._halfway: tuple[float, Reading] | None = None
        self._load_quiet: Reading | None = None
        self._load_away: Reading | None = None
        self.load_level: float | None = None
        """Load before the specimen took any. [N]"""
        self.first: Reading | None = None
        """First reading at which the frame moved."""
        self.before: Reading | None = None
        """Last reading before."""
        self.taken: Reading | None = None
        """First reading at which the specimen took load."""
        self.taken_before: Reading | None = None
        """Last reading before."""
        self.furthest: float | None = None
        """Most travel so far. [mm]"""
        self.still_since: Reading | None = None
        """First reading after which travel has not grown."""

    def copy(self) -> "Ram":
        """An independent ram in the same state."""
        return copy.copy(self)

    def at_rest(self, reading: Reading) -> None:
        """Begin to look for a move from this reading on."""
        self.first = self.before = self.taken = self.taken_before = None
        self._away = self._load_away = None
        self._quiet = self._load_quiet = reading
        self._ref, self._rest, self.load_level = None, None, None

    def add(self, reading: Reading) -> None:
        """Follow one reading."""
        self._follow_load(reading)
        travel = reading.axial_displacement
        if isnan(travel):
            if self.first is None and self.taken is not None:
                self.first, self.before = self.taken, self.taken_before
            return
        self._follow_stop(reading, travel)
        if self.first is None:
            self._follow_travel(reading, travel)

    def _follow_stop(self, reading: Reading, travel: float) -> None:
        half = self._halfway
        if self.furthest is None or travel > self.furthest + STILL_MM:
            # Noise may pass the bound long after the ram stopped: what was half way there says
            # from when on it stood.
            if half is not None and travel <= half[0] + STILL_MM:
                self.furthest, self.still_since = half
            else:
                self.furthest, self.still_since = travel, None
            self._halfway = None
        elif self.still_since is None:
            self.still_since = reading
        elif half is None and travel > self.furthest + 0.5 * STILL_MM:
            self._halfway = travel, reading

    def _follow_travel(self, reading: Reading, travel: float) -> None:
        volume = reading.back_volume
        if self._ref is None:
            self._ref, self._ref_at, self._quiet = (travel, volume), reading.time, reading
            return
        explained = 0.0
        if not isnan(volume) and not isnan(self._ref[1]):
            explained = self.height_mm * abs(self._ref[1] - volume) / self.volume_ml
        moved = travel - self._ref[0] - explained
        if moved <= QUIET_MM:
            # Not at every row: a ram that creeps along at one row a second would be forgotten.
            if moved < -QUIET_MM or reading.time - self._ref_at >= MINUTE_S:
                self._ref, self._ref_at = (travel, volume), reading.time
            self._quiet, self._away = reading, None
            return
        if self._away is None:
            self._away = reading
        if moved > MOVED_MM or self.taken is not None:
            self.first, self.before = self._away, self._quiet
        elif reading.time - self._away.time > CREEP_S:
            self._ref, self._ref_at = (travel, volume), reading.time
            self._quiet, self._away = reading, None

    def _follow_load(self, reading: Reading) -> None:
        load = reading.axial_load
        if self._uplift_mm2 and not isnan(reading.cell_pressure):
            load -= reading.cell_pressure * self._uplift_mm2 / 1000.0
            self._corrected = True
        elif self._corrected:  # one load as it is among others less the uplift would be a jump
            return
        if isnan(load) or self.taken is not None:
            return
        if self.load_level is None:
            self.load_level, self._load_quiet = load, reading
            return
        away = load - self.load_level
        if away <= self._noise_n:
            if self._load_away is None or away < 0.5 * self._noise_n:
                quiet = self._load_quiet
                since = MINUTE_S if quiet is None else reading.time - quiet.time
                self.load_level += followed(0.1, since) * away
                self._load_quiet, self._load_away = reading, None
            return
        if self._load_away is None:
            self._load_away = reading
        if away > self._taken_at:
            self.taken, self.taken_before = self._load_away, self._load_quiet
        elif reading.time - self._load_away.time > CREEP_S and self.first is None:
            self.load_level, self._load_quiet, self._load_away = load, reading, None

    def left_alone(self, reading: Reading, for_s: float) -> bool:
        """Whether the frame has not moved for so long, but for what volume strain explains."""
        travel, volume = reading.axial_displacement, reading.back_volume
        if isnan(travel):
            return False
        if self._rest is None:
            self._rest = (reading.time, travel, volume)
        explained = abs(self._rest[2] - volume) * self.height_mm / self.volume_ml
        if travel - self._rest[1] > QUIET_MM + (0.0 if isnan(explained) else explained):
            self._rest = (reading.time, travel, volume)
        return reading.time - self._rest[0] >= for_s

    def went_back(self, reading: Reading) -> bool:
        """Whether the ram has been withdrawn."""
        travel = reading.axial_displacement
        return (
            not isnan(travel)
            and self.furthest is not None
            and travel < self.furthest - max(BACK_MM, 0.001 * self.height_mm)
        )
