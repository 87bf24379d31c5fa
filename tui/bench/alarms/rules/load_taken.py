"""Strain that is counted while the specimen carries nothing."""

from math import inf, isnan, sqrt

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.alarms.strained import sheared_height_mm
from tui.bench.approach import SLOW
from tui.bench.ram import STILL_MM
from tui.bench.rig import at_set_up

SLOW_DOCK = 1.5
"""Times the planned rate: a ram that docks faster only approaches. Common practice, no source."""
APART = 1.25
"""Times the planned rate: a dock that was never faster is not told from a shear by its pace."""
DOCKED = 1.75
"""Times the strain within which such a dock is to touch. Common practice, no source."""
LOOK_S = 30.0
"""The pace of a ram that docks is told over so long at least. [s]"""

Point = tuple[float, float, float]
"""Time, travel, load. [s], [mm], [N]"""


class LoadNotTaken(Rule):
    """Until the touch nobody knows that the dock is over, but the ram, which goes as slowly as the
    shear is planned to: strain counts from where the line of its approach meets the one of now.
    """

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "load-not-taken"
        self._least, self._after = limits(kind, "deviator"), limits(kind, "strain")
        self._taken = board.condition(kind, "warning")
        self._area_mm2 = at_set_up(scene.settings).area_mm2
        rate = scene.settings.plan.strain_rate_percent_min
        self._planned = None if rate is None else rate / 6000.0
        self._forget()

    def _forget(self) -> None:
        self._height_mm = self.scene.aims.height_mm
        self._looks: tuple[Point, ...] = ()
        """The last two at which pace was told."""
        self._fastest = 0.0
        """Pace of the approach, as far as it is known. [mm/s]"""
        self._corner: Point | None = None
        """Where the approach is over, as far as it is known."""
        self._slow = False

    def begin(self, now: Moment) -> None:
        if now.phase != "shear":
            self._forget()
        self._height_mm = sheared_height_mm(self.scene, now.told)

    def add(self, now: Moment) -> None:
        reading, zero = now.reading, now.told.zero_strain
        travel, load = reading.axial_displacement, reading.axial_load
        if now.phase != "shear" or isnan(travel) or isnan(load):
            return
        after: float | None = self._after
        if now.step == "shear" and zero is not None and not isnan(zero.axial_displacement):
            begun = zero.time, zero.axial_displacement, zero.axial_load
        else:
            begun, after = self._follow((now.time, travel, load))
        strain = (travel - begun[1]) / self._height_mm
        carried = 1000.0 * (load - begun[2]) / self._area_mm2
        so = after is not None and strain > after and carried < self._least
        said = (
            f"deviator {carried:.1f} kPa after {strain:.2%} of strain, limit {self._least:.1f} kPa "
            f"after {self._after:.1%}"
        )
        self.board.tell(self._taken, so, now.time, said)

    def _follow(self, now: Point) -> tuple[Point, float | None]:
        """Where a ram that docks began to go as slowly as the shear, and the strain it is given."""
        if self._corner is None:
            self._corner, self._looks = now, (now,)
        elif now[0] - self._looks[-1][0] >= LOOK_S:
            last = self._looks[-1]
            took, gone = now[0] - last[0], now[1] - last[1]
            self._fastest = max(self._fastest, gone / took)
            slow = gone <= self._slow_mm_s * took + STILL_MM
            if not slow:
                self._corner = now
            elif not self._slow and len(self._looks) > 1:
                self._corner = self._meet(self._looks[0], last, gone / took)
            self._slow = slow
            self._looks = last, now
        if not self._told_apart:
            return self._corner, None if self._planned is None else DOCKED * self._after
        return self._corner, self._after

    @property
    def _planned_mm_s(self) -> float:
        return (self._planned or 0.0) * self._height_mm

    @property
    def _told_apart(self) -> bool:
        return self._fastest > APART * self._planned_mm_s

    @property
    def _slow_mm_s(self) -> float:
        """A ram that goes no faster has ended its approach. [mm/s]"""
        if self._planned is None:
            return SLOW * self._fastest
        if not self._told_apart:
            return inf
        return min(SLOW_DOCK * self._planned_mm_s, sqrt(self._planned_mm_s * self._fastest))

    def _meet(self, fast: Point, slow: Point, pace: float) -> Point:
        """Where the line of the approach through one point meets a slower one through the next.

        Load is that of the first: what has grown since may be the specimen's.
        """
        took = slow[0] - fast[0]
        ahead = slow[1] - fast[1] - pace * took
        fast_s = min(max(ahead / (self._fastest - pace), 0.0), took)
        return fast[0] + fast_s, fast[1] + self._fastest * fast_s, fast[2]
