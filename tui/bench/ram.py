"""When the ram of the load frame begins to move, meets the specimen, stops or goes back.

A ram that follows a consolidating specimen moves too; what its volume strain explains is not
counted as a move of the frame. Thresholds are common practice, no source.
"""

from math import isnan

from tui.bench.approach import TRAVEL, Approach
from tui.bench.bend import Course
from tui.bench.draining import Draining
from tui.bench.pace import MINUTE_S
from tui.bench.piston import Piston
from tui.bench.readings import Reading
from tui.bench.rest import QUIET_MM, Rest
from tui.bench.taken import LOAD, PORE, Bounds, Taken
from tui.bench.twins import twin

MOVED_MM = 0.10
"""Travel that is the frame. [mm]"""
CREEP_S = 3600.0
"""Between noise and the frame for this long is creep, not a move. [s]"""
STILL_MM = 0.01
"""Travel below the resolution of the usual gauges. [mm]"""
BACK_MM = 0.15
"""Going back by this much is unloading. [mm]"""
GAP = 0.05
"""Nobody leaves a gap of this share of the height: a ram that has gone so far shears. [-]"""


class Ram:
    """The axial channels followed row by row."""

    __slots__ = (
        "_away",
        "_corrected",
        "_draining",
        "_halfway",
        "_piston",
        "_pore",
        "_quiet",
        "_ref",
        "_ref_at",
        "_rest",
        "_rested_at",
        "_uplift_mm2",
        "approach",
        "before",
        "course",
        "first",
        "furthest",
        "height_mm",
        "load",
        "loads",
        "still_since",
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
        # A piston that begins to move shows its friction: that is no load of the specimen.
        shown = 1.5 * friction_N
        self.load = Taken(Bounds(LOAD.noise + shown, LOAD.taken + shown, LOAD.drift_per_s))
        """When the specimen takes load."""
        self._uplift_mm2 = uplift_mm2
        self._corrected = False
        self._piston = Piston()
        self._pore = Taken(PORE)
        self.approach: Approach | None = None
        """The way to the specimen, once the frame has moved."""
        self.course = Course()
        """Travel of late."""
        self.loads = Course()
        """Load of late. [N]"""
        self._draining = Draining()
        self._rested_at = float("nan")
        self._ref: tuple[float, float] | None = None
        self._ref_at = 0.0
        self._rest: Rest | None = None
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self._halfway: tuple[float, Reading] | None = None
        self.first: Reading | None = None
        """First reading at which the frame moved."""
        self.before: Reading | None = None
        """Last reading before."""
        self.furthest: float | None = None
        """Most travel so far. [mm]"""
        self.still_since: Reading | None = None
        """First reading after which travel has not grown."""

    def copy(self) -> "Ram":
        """An independent ram in the same state."""
        other = twin(self)
        other.load, other.course, other.loads = (
            self.load.copy(),
            self.course.copy(),
            self.loads.copy(),
        )
        other._draining = self._draining.copy()
        other._piston, other._pore = self._piston.copy(), self._pore.copy()
        other.approach = self.approach and self.approach.copy()
        other._rest = self._rest and self._rest.copy()
        return other

    def at_rest(self, reading: Reading) -> None:
        """Begin to look for a move from this reading on."""
        self.first = self.before = self._away = self.approach = None
        self._quiet = reading
        self._ref, self._rest = None, None
        self._rested_at = float("nan")
        self._piston.at_rest()
        self._pore.at_rest(reading)
        self.load.at_rest(reading)

    def add(self, reading: Reading, *, pressures_stand: bool, undrained: bool) -> None:
        """Follow one reading.

        Args:
            reading: the next one.
            pressures_stand: whether cell and back pressure stand: then only the ram drives water
                out of the cell.
            undrained: whether drainage is to be closed when the specimen is sheared: then the ram
                alone raises pore pressure.
        """
        rests, travel = self.first is None, reading.axial_displacement
        if isnan(self._rested_at):
            self._rested_at = travel
        gone = travel - self._rested_at > MOVED_MM
        load = self._load(reading)
        self.load.add(reading, load, frame_rests=rests, gone=gone)
        if rests:
            self._draining.add(reading)
        elif not isnan(load):
            self.loads.add(reading.time, load)
        if self.furthest is None:
            self._piston.add(reading, cell_stands=pressures_stand)
            if not pressures_stand and self._pore.first is None:
                self._pore.at_rest(reading)
            elif undrained and not self.is_loaded:
                self._pore.add(reading, reading.pore_pressure, frame_rests=rests)
        if isnan(travel):
            if self.first is None and self.furthest is None:
                self._tell_without_travel()
            return
        self._follow_stop(reading, travel)
        if self.first is None and gone and self.load.first is not None and self.load.is_far:
            # Too slow for its travel to be told from creep; its load is none.
            self.first, self.before = self.load.first, self.load.before
        elif self.first is None:
            self._follow_travel(reading, travel)
        elif self.approach is not None:
            self.approach.add(reading)

    def _load(self, reading: Reading) -> float:
        """Axial load less what lifts the piston; NaN: not read. [N]"""
        load = reading.axial_load
        if self._uplift_mm2 and not isnan(reading.cell_pressure):
            self._corrected = True
            return load - reading.cell_pressure * self._uplift_mm2 / 1000.0
        # One load as it is among others less the uplift would be a jump.
        return float("nan") if self._corrected else load

    @property
    def is_loaded(self) -> bool:
        """Whether a load cell tells of the specimen."""
        return self.load.level is not None

    def _tell_without_travel(self) -> None:
        """The frame moved if its piston drives out water, else once the specimen takes load."""
        pistons = self._piston
        if pistons.first is not None:
            self.first, self.before = pistons.first, pistons.before
            self.approach = pistons.approach
            # With drainage closed what is left of the excess evens out: no load yet.
            self._pore.at_rest(pistons.first)
        elif self.is_loaded or not pistons.is_gauged:
            taken = self.load if self.is_loaded else self._pore
            self.first, self.before = taken.first, taken.before

    def _follow_stop(self, reading: Reading, travel: float) -> None:
        if self.first is not None and travel > (self.furthest or travel) - self._back_mm:
            self.course.add(reading.time, travel)
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
        if moved > MOVED_MM or self.load.first is not None:
            self.first, self.before = self._away, self._quiet
            self.approach = Approach(TRAVEL, self._quiet or reading, self._away, reading)
        elif reading.time - self._away.time > CREEP_S:
            self._ref, self._ref_at = (travel, volume), reading.time
            self._quiet, self._away = reading, None

    def touch(self, reading: Reading) -> tuple[Reading, Reading] | None:
        """The first reading of the shear itself, and the one at zero strain; None: not yet.

        The specimen takes load from the touch on, but a slow shear loads it so slowly that the
        first newtons are lost in noise: then the end of the fast approach was the touch. Where
        load comes late and at once the ram had stopped too early: then the load is.
        """
        ended = self.approach.ended if self.approach else None
        taken = self.load if self.is_loaded else self._pore
        if ended is not None and not self.is_loaded and self.approach is not None:
            # Pore pressure rises later, and for other reasons as well.
            return self._touch_by_way(self.approach, self.first or ended, reading)
        if taken.first is not None and taken.known is not None:
            if ended is not None and ended.time < taken.first.time:
                grew_s = taken.known - taken.first.time
                if taken.first.time - ended.time <= 1.5 * grew_s + 2.0 * MINUTE_S:
                    return ended, ended
            return taken.first, taken.before or taken.first
        if self.is_loaded or self.first is None or self.approach is None:
            return None
        return self._touch_by_way(self.approach, self.first, reading)

    def _touch_by_way(
        self, approach: Approach, first: Reading, reading: Reading
    ) -> tuple[Reading, Reading] | None:
        """The touch where nothing tells of load: the ram goes on, but more slowly."""
        ended, way = approach.ended, approach.way
        if ended is not None:
            # What a piston drives out in a slow shear is not to be told from what else flows.
            goes_on = way is not TRAVEL or approach.gone_since(reading) > 2.0 * way.sure
            return (ended, ended) if goes_on else None
        gone = way.at(reading) - way.at(first)
        wide = way is TRAVEL and gone > GAP * self.height_mm
        return (first, first) if wide or approach.is_shear else None

    def left_alone(self, reading: Reading, for_s: float) -> bool:
        """Whether the frame has not moved for so long, but for what volume strain explains."""
        if isnan(reading.axial_displacement) and isnan(self.load.newest):
            return False
        if self._rest is None or self._rest.moved(reading):
            self._rest = Rest(reading, self.height_mm / self.volume_ml, self._draining)
        self._rest.add(reading, self.load.newest)
        return self._rest.lasts(reading, for_s)

    @property
    def _back_mm(self) -> float:
        return max(BACK_MM, 0.001 * self.height_mm)

    def went_back(self, reading: Reading) -> bool:
        """Whether the ram has been withdrawn."""
        travel = reading.axial_displacement
        return (
            not isnan(travel)
            and self.furthest is not None
            and travel < self.furthest - self._back_mm
        )
