"""What left the specimen since drainage opened, kept thinned: what a late consolidation rests on.

The rule raises nothing by itself: whether a consolidation is overdue rests on a forecast, and is
told in `alarms/overdue.py` from the readings that are kept here, the same whenever somebody looks.
"""

from dataclasses import dataclass, replace
from math import inf, isnan
from typing import NamedTuple

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.alarms.spells import Spell
from tui.bench.curves import STRESS_LOST, STRESS_LOST_KPA
from tui.bench.readings import Reading

GROWTH, SHORTEST_S, LONGEST_S = 0.03, 5.0, 900.0
"""The next reading that is kept lies later by this share of the time, within these bounds."""
BEFORE_S, BEFORE = 30.0, 80
"""Readings are kept so far apart, and so many, in case drainage is found to have opened already."""
ANEW_S = 2700.0
"""A zero that moves by less is the same opening, understood better. [s]"""
STAGES = 4
"""Of the newest stages."""


class Drop(NamedTuple):
    """One reading; NaN where a channel was not read."""

    time: float
    out_ml: float
    """Volume that has left, by the gauge's own sign: below that of the zero by so much. [ml]"""
    pore_kPa: float
    """Above back pressure."""


@dataclass(frozen=True, slots=True)
class Course:
    """One stage of consolidation."""

    zero: Reading
    drops: tuple[Drop, ...] = ()
    ended: float | None = None
    """First reading of what came after. [s]"""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a forecast made of the readings until a moment."""

    degree: float
    """Of consolidation, by volume where it is measured. [-]"""
    latest: float
    """Latest end. [s]"""
    v0: float
    v100: float
    """Volume out at the begin and the end of primary consolidation; NaN: not known. [ml]"""
    t95_s: float = inf
    """When 95 % of it is over, since drainage opened; infinite: not known. [s]"""
    is_met: bool = False
    """Whether its criterion is met by then."""

    def degree_of(self, out_ml: float) -> float:
        """The degree that has come when so much has left; as it was where that is not known."""
        by_volume = (out_ml - self.v0) / self.v100
        return self.degree if isnan(by_volume) else by_volume


class DrainedCourse(Rule):
    """Follows the drained step of consolidation."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        self.stages: tuple[Course, ...] = ()
        self.fits: dict[tuple[float, float, int], Foreseen | None] = {}
        """By zero, moment and readings until then."""
        self.pending = inf
        """When an overdue consolidation is raised if no reading comes. [s]"""
        self.told: tuple[tuple[Course, ...], tuple[Spell, ...]] = (), ()
        """The stages that were judged last, and what was overdue."""
        self._recent: tuple[Reading, ...] = ()

    @property
    def due(self) -> float:
        return self.pending

    def begin(self, now: Moment) -> None:
        if now.step == "drained" or not self.stages or self.stages[-1].ended is not None:
            return
        *earlier, last = self.stages
        self.stages = (*earlier, replace(last, ended=now.step_since))

    def add(self, now: Moment) -> None:
        if now.live:
            return
        zero = now.told.zero_consolidation
        if now.step != "drained" or zero is None:
            if not self._recent or now.time - self._recent[-1].time >= BEFORE_S:
                self._recent = (*self._recent[-BEFORE + 1 :], now.reading)
            return
        if not self.stages or self.stages[-1].zero.time != zero.time:
            self._open(zero)
        *earlier, last = self.stages
        if last.ended is not None:
            last = replace(last, ended=None)
        grown = _with(last, now.reading)
        if grown is not self.stages[-1]:
            self.stages = (*earlier, grown)

    def _open(self, zero: Reading) -> None:
        kept = self.stages
        if kept and abs(kept[-1].zero.time - zero.time) < ANEW_S:
            kept = kept[:-1]
        course = Course(zero)
        for reading in self._recent:
            if reading.time > zero.time:
                course = _with(course, reading)
        self.stages = (*kept[-STAGES + 1 :], course)


def _with(course: Course, reading: Reading) -> Course:
    """The course with one more reading, if it tells more."""
    zero, drops = course.zero, course.drops
    passed = reading.time - zero.time
    wait = min(max(GROWTH * passed, SHORTEST_S), LONGEST_S)
    if drops and reading.time - drops[-1].time < wait:
        return course
    if _is_lost(zero, reading):
        return course
    out = zero.back_volume - reading.back_volume
    pore = reading.pore_pressure - reading.back_pressure
    if isnan(out) and isnan(pore):
        return course
    return replace(course, drops=(*drops, Drop(reading.time, out, pore)))


def _is_lost(zero: Reading, reading: Reading) -> bool:
    """What flows after pressure has left its stress is no consolidation; unknown is kept."""
    fell = zero.cell_pressure - reading.cell_pressure
    moved = abs(reading.back_pressure - zero.back_pressure)
    return fell > max(STRESS_LOST_KPA, STRESS_LOST * _known(zero.cell_pressure)) or moved > max(
        STRESS_LOST_KPA, STRESS_LOST * _known(zero.back_pressure)
    )


def _known(value: float) -> float:
    return 0.0 if isnan(value) else value
