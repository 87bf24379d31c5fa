"""What a reading schedule still covers, and which readings to add: a few words for the cell.

Told from the readings and the projection, never from the moment of looking; no moment before the
newest reading is named, for nobody can read then any more. Rows that come at a steady pace go on
without slots: only what the plots need is said of them.
"""

import math
from bisect import bisect_right
from datetime import tzinfo
from statistics import median
from typing import NamedTuple

import numpy as np

from reduce.due_times import Schedule, continued
from reduce.forecast import ConsolidationForecast, ending
from reduce.forecast.outcome import lasting
from tui.bench.curves import Curves
from tui.bench.moments import day_and_time, days_and_times
from tui.bench.picture import BCheck, Phase, Projection, ScheduleCount
from tui.bench.plot_readings import plot_needs
from tui.bench.projections import step_durations
from tui.bench.readings import Readings
from tui.bench.schedules import schedule_of
from tui.bench.slots import RECENT, row_pace
from tui.settings.cell_toml import CellToml, ScheduleTable

NAMED = 3
"""Readings to add that are named one by one."""
LONG_BEFORE = 0.25
"""Share of a saturation step's usual length; slots that end less before its end are enough."""


class Advice(NamedTuple):
    """What is said of the schedule."""

    lines: tuple[str, ...] = ()
    """At most three; what asks for readings comes first."""
    ends_early: bool = False
    """Whether slots end before what they are meant for; the first line is about that."""


class _Course(NamedTuple):
    """A schedule on the clock."""

    slots: Schedule
    zero: float
    newest: float
    zone: tzinfo

    @property
    def last(self) -> float:
        """The slot that ends it. [s]"""
        return self.zero + self.slots.due[-1]

    def when(self, at: float) -> str:
        """A moment in words."""
        return day_and_time(at, self.zone, self.newest)

    def ends(self, what: str = "slots") -> str:
        """When they end; that they have, once it lies behind."""
        ahead = self.last > self.newest
        return f"{what} end {self.when(self.last)}" if ahead else f"{what} have ended"

    def more(self, until: float | None) -> str:
        """The readings to add; up to a moment, or a few where that is not known."""
        after = self.newest - self.zero
        added = () if until is None else continued(self.slots, after, until - self.zero)
        added = added or continued(self.slots, after, math.inf, NAMED if until is None else 1)
        times = days_and_times((self.zero + due for due in added[:NAMED]), self.zone, self.newest)
        if len(added) == 1:
            return f"add a reading at about {times}"
        if len(added) <= NAMED:
            return f"add readings at about {times}"
        return f"add {len(added)} readings, the first at about {times}"


def advised(
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    projection: Projection,
    fit: ConsolidationForecast | None,
    schedule: ScheduleCount | None,
    curves: Curves,
    readings: Readings,
    moment: float,
    zone: tzinfo,
) -> Advice:
    """What to say; nothing where nothing is scheduled.

    Args:
        moment: time of the reading that the projection is made of. [s]
    """
    table: ScheduleTable | None = getattr(settings.schedule, phase.name, None)
    if schedule is None or table is None:
        return Advice()
    slots, newest = schedule_of(table), float(readings.times[-1])
    if slots.kind == "strain":
        return _before_the_limit(settings, slots, schedule, curves, readings, zone)
    if schedule.last_at is None:
        return Advice()
    course = _Course(slots, schedule.last_at - slots.due[-1], newest, zone)
    steady = _go_on_by_themselves(settings, course, readings)
    if phase.name == "consolidation":
        return _consolidating(settings, course, projection, fit, curves, moment, steady=steady)
    if steady:
        return Advice()
    if phase.name == "saturation" and table.per == "step":
        return _stepping(course, phase, checks)
    return _until_expected(course, phase.name, projection)


def _consolidating(
    settings: CellToml,
    course: _Course,
    projection: Projection,
    fit: ConsolidationForecast | None,
    curves: Curves,
    moment: float,
    *,
    steady: bool,
) -> Advice:
    told = Advice() if steady else _until_expected(course, "consolidation", projection)
    lines = list(told.lines)
    for words, until in plot_needs(settings, curves, fit, moment, course.newest, course.zone):
        short = until is not None and until > course.last and not steady and not told.lines
        lines.append(f"{words}; {course.ends()}" if short else words)
    return Advice(tuple(lines), told.ends_early)


def _until_expected(course: _Course, phase: str, projection: Projection) -> Advice:
    """Slots against the projected end of the phase."""
    if projection.progress is not None and projection.progress >= 1.0:
        return Advice()
    if projection.at is None:
        if course.last > course.newest:
            return Advice()
        return Advice((f"slots have ended, {phase} goes on: {course.more(None)}",), ends_early=True)
    if course.last >= projection.at:
        return Advice()
    latest = projection.latest or projection.at
    by_clock = phase == "consolidation" and ending(projection.event).kind == "time"
    event = f"its end after {projection.event}" if by_clock else f"{projection.event} is expected"
    before = f"{lasting(projection.at - course.last)} before {event}"
    bound = "" if by_clock or latest <= projection.at else f" (latest {course.when(latest)})"
    return Advice((f"{course.ends()}, {before}{bound}: {course.more(latest)}",), ends_early=True)


def _stepping(course: _Course, phase: Phase, checks: tuple[BCheck, ...]) -> Advice:
    """Slots of a saturation step against the pace of this cell's steps."""
    paces = step_durations(checks)
    if phase.step not in ("raise", "hold"):
        return Advice()
    if course.last <= course.newest:
        words = f"{course.ends('slots of this step')}, it goes on: {course.more(None)}"
        return Advice((words,), ends_early=True)
    if not paces:
        return Advice()
    due = checks[-1].began + median(paces)
    if due - course.last < LONG_BEFORE * median(paces):
        return Advice()
    before = f"{lasting(due - course.last)} before the next check by this cell's pace"
    words = f"{course.ends('slots of this step')}, {before}: {course.more(due)}"
    return Advice((words,), ends_early=True)


def _before_the_limit(
    settings: CellToml,
    slots: Schedule,
    schedule: ScheduleCount,
    curves: Curves,
    readings: Readings,
    zone: tzinfo,
) -> Advice:
    """Slots of strain against the strain limit; they are known to end early from the start."""
    limit, last, zero = settings.plan.strain_limit, slots.due[-1], curves.zero_strain
    newest = curves.newest_shear
    strain = 0.0 if newest is None or math.isnan(newest[0]) else newest[0]
    if last >= limit * (1 - 1e-9) or strain >= limit or zero is None:
        return Advice()
    passed = bisect_right(slots.due, strain)
    rows = readings.total - readings.passed - int(readings.times.searchsorted(zero.time))
    if settings.log.rows == "steady" or (settings.log.rows is None and rows > 1.5 * passed + 5):
        return Advice()
    more = len(continued(slots, max(strain, last), limit))
    ends = f"slots end at {100 * last:g} % strain"
    if strain >= last:
        ends = f"slots have ended at {100 * last:g} % strain"
    elif schedule.last_at is not None:
        ends += f", about {day_and_time(schedule.last_at, zone, float(readings.times[-1]))}"
    step = f"{100 * slots.due[0]:g} %"
    words = f"{ends}, before the limit of {100 * limit:g} %: add {more} slots of {step}"
    return Advice((words,), ends_early=True)


def _go_on_by_themselves(settings: CellToml, course: _Course, readings: Readings) -> bool:
    """Whether rows come at a steady pace, whatever slots there are."""
    if settings.log.rows is not None:
        return settings.log.rows == "steady"
    if row_pace(readings.times) is None:
        return False
    gaps = np.diff(readings.times[-(RECENT + 1) :])
    half = len(gaps) // 2
    # Late slots of a root schedule look alike from one to the next, but not over forty of them.
    if abs(float(np.median(gaps[half:])) / float(np.median(gaps[:half])) - 1.0) > 0.05:
        return False
    if course.slots.kind != "every":
        return True
    due = bisect_right(course.slots.due, course.newest - course.zero)
    rows = readings.length - int(readings.times.searchsorted(course.zero, side="right"))
    return rows > 1.5 * due
