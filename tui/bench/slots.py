"""The reading schedule of the present phase or step: which slots were taken, missed, are due."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isnan
from statistics import median
from typing import Any, Literal, NamedTuple

import numpy as np

from reduce.schedule import Schedule, Tally
from tui.bench.phases import Phases
from tui.bench.picture import ScheduleCount
from tui.bench.readings import OldRowsNeededError, Readings
from tui.bench.schedules import schedule_of
from tui.bench.twins import twin
from tui.feed.rows import Column
from tui.settings.cell_toml import Schedules, ScheduleTable

STEADY_SHARE = 0.8
"""Rows are steady when this share of neighbouring gaps is alike."""
ALIKE = 0.1
"""Gaps that differ by less than this share are alike."""
RECENT = 40
"""Gaps looked at to tell scheduled rows from steady ones."""


def row_pace(times: Column | Sequence[float]) -> float | None:
    """The interval of rows that come at a fixed pace, told from their own times; else None. [s]"""
    recent = times[-(RECENT + 1) :]
    # Asked at every row: of so few numbers plain ones are quicker than columns.
    recent = recent.tolist() if isinstance(recent, np.ndarray) else recent
    gaps = [after - before for before, after in pairwise(recent) if after > before]
    if len(gaps) < 4:
        return None
    alike = sum(abs(after - before) <= ALIKE * before for before, after in pairwise(gaps))
    return median(gaps) if alike / (len(gaps) - 1) >= STEADY_SHARE else None


@dataclass(frozen=True, slots=True)
class Origin:
    """What the running count belongs to."""

    phase: str
    zero: float
    """Time of the zero reading. [s]"""
    zero_travel: float | None
    """Displacement at zero strain, for a strain schedule. [mm]"""


class Slots:
    """The count of one cell's schedule; begun anew at each phase or step that asks for it."""

    def __init__(
        self, schedules: Schedules, rows: Literal["scheduled", "steady"] | None, height_mm: float
    ) -> None:
        self._schedules = schedules
        self._rows = rows
        self.height_mm = height_mm
        """Specimen height to which strain slots refer. [mm]"""
        self._origin: Origin | None = None
        self._schedule: Schedule | None = None
        self._tally: Tally | None = None
        self._counted = 0
        self._pace: float | None = None

    def copy(self) -> "Slots":
        """An independent count in the same state."""
        other = twin(self)
        other._tally = self._tally.copy() if self._tally else None
        return other

    def __getstate__(self) -> dict[str, Any]:
        """For a checkpoint, in few bytes: the schedule follows from its table."""
        reached = None if self._tally is None else self._tally.reached()
        return self.__dict__ | {"_schedule": None, "_tally": reached}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        table = getattr(self._schedules, self._origin.phase, None) if self._origin else None
        if table is not None and state["_tally"] is not None:
            self._schedule = schedule_of(table)
            self._tally = Tally.resumed(self._schedule, state["_tally"])

    def follow(
        self, readings: Readings, phases: Phases, before: "Callable[[], Slots | None]"
    ) -> None:
        """Count the readings that have come since the last call.

        Args:
            readings: those that are kept.
            phases: folded from all of them.
            before: tells the count at the last reading that is not kept.

        Raises:
            OldRowsNeededError: what is counted began before what is kept.
        """
        origin = self._origin_of(readings, phases)
        if origin != self._origin:
            self._origin, self._tally, self._schedule = origin, None, None
            table = getattr(self._schedules, origin.phase, None) if origin else None
            if origin is not None and table is not None:
                self._schedule = schedule_of(table)
                self._begin(readings, origin, self._schedule, before)
        if self._tally is None or origin is None:
            return
        self._tally.add_all(self._offsets(readings, origin, self._counted - readings.passed))
        self._counted = readings.total

    def _begin(
        self,
        readings: Readings,
        origin: Origin,
        schedule: Schedule,
        before: "Callable[[], Slots | None]",
    ) -> None:
        if origin.zero >= readings.exact_from:
            self._tally = Tally(schedule)
            rows = int(readings.times.searchsorted(origin.zero, side="right"))
            self._counted = readings.passed + rows
            return
        stood = before()
        if stood is None or stood._origin != origin or stood._tally is None:
            raise OldRowsNeededError
        self._tally, self._counted = stood._tally, stood._counted

    def _origin_of(self, readings: Readings, phases: Phases) -> Origin | None:
        phase = phases.phase
        if phase is None or readings.length == 0:
            return None
        self._pace = self._row_interval(readings)
        table: ScheduleTable | None = getattr(self._schedules, phase.name, None)
        if table is None:
            return None
        told = phases.told
        if phase.name == "consolidation":
            zero = told.zero_consolidation
            if phase.step != "drained" or zero is None:
                return None
            return Origin(phase.name, zero.time, None)
        if phase.name == "shear":
            start = told.zero_strain
            if start is None:
                return None
            travel = start.axial_displacement
            return Origin(phase.name, start.time, travel if not isnan(travel) else None)
        start_at, source = phase.since, phase.source
        if table.per == "step":
            for span in reversed(told.spans):
                if span.name != phase.name:
                    break
                start_at, source = span.start, span.source
                if span.step != "hold":
                    break
        if source != "marks":
            start_at = self._zero_before(readings, start_at, table)
        return Origin(phase.name, start_at, None)

    def _row_interval(self, readings: Readings) -> float | None:
        """The pace of steady rows; None where each row is a scheduled reading. [s]"""
        if self._rows == "scheduled":
            return None
        pace = row_pace(readings.times)
        return _median_gap(readings) if pace is None and self._rows == "steady" else pace

    @staticmethod
    def _zero_before(readings: Readings, start: float, table: ScheduleTable) -> float:
        """The zero reading of a step that nobody marked: taken just before it began, if one was."""
        index = int(readings.times.searchsorted(start))
        if index == 0:
            return start
        before = float(readings.times[index - 1])
        first_due = schedule_of(table).due[0]
        return before if start - before <= 1.5 * first_due else start

    def _offsets(self, readings: Readings, origin: Origin, since: int) -> Column:
        if self._schedule is not None and self._schedule.kind == "strain":
            return self._strains(readings, origin, since)
        return readings.times[since:] - origin.zero

    def _strains(self, readings: Readings, origin: Origin, since: int) -> Column:
        if origin.zero_travel is None:
            return np.empty(0)
        travel = readings.as_columns()["axial_displacement"][since:]
        return (travel - origin.zero_travel) / self.height_mm

    def count(
        self, readings: Readings, now: float, strain_per_s: float | None
    ) -> ScheduleCount | None:
        """The count at a moment; None when nothing is scheduled.

        Args:
            readings: all readings, as counted.
            now: the moment. [s]
            strain_per_s: pace of the shear, for the due times of strain slots. [1/s]
        """
        if self._tally is None or self._origin is None or self._schedule is None:
            return None
        if self._schedule.kind != "strain":
            counted = self._tally.at(now - self._origin.zero, self._pace)
            zero = self._origin.zero
            next_at = None if counted.next_offset is None else zero + counted.next_offset
            last_at: float | None = zero + counted.last_offset
        else:
            strains = self._strains(readings, self._origin, max(readings.length - 1, 0))
            strain = float(strains[-1]) if len(strains) and not isnan(strains[-1]) else 0.0
            pace = self._pace * strain_per_s if self._pace and strain_per_s else None
            counted = self._tally.at(strain, pace)
            last_time = float(readings.times[-1])

            def due(offset: float | None) -> float | None:
                if offset is None or not strain_per_s:
                    return None
                return last_time + (offset - strain) / strain_per_s

            # A reading a hair before its slot has served it: the slot to come is told from where
            # the ram is by now, at most one slot on.
            moved = (strain_per_s or 0.0) * max(now - last_time, 0.0)
            ahead = self._tally.next_after(strain + min(moved, self._schedule.due[0]))
            next_at, last_at = due(ahead), due(counted.last_offset)
        return ScheduleCount(
            kind=self._schedule.kind,
            slots=counted.slots,
            taken=counted.taken,
            missed=counted.missed,
            extra=counted.extra,
            next_at=next_at,
            last_at=last_at,
            ticks=counted.ticks[:400],
        )


class Lateness(NamedTuple):
    """How late a row may be before its log is silent, see `next_row_by`."""

    least_s: float
    share: float
    most_s: float
    gaps: float


def next_row_by(times: Sequence[float], due: float | None, late: Lateness) -> float | None:
    """When the next row should have come at the latest, after the contract's `log-silent`.

    Args:
        times: of the newest rows, in order. [s]
        due: when the next one is due, by schedule or pace; None where neither tells. [s]
        late: how late it may be.

    Returns:
        Due time + min(30 min, max(5 min, 10 % of the gap)); without it 3 × the median of the last
        10 gaps, at least 5 min. None below two rows.

    Example:
        >>> usual = Lateness(300.0, 0.1, 1800.0, 3.0)
        >>> next_row_by([0.0, 60.0], 7200.0, usual), next_row_by([0.0, 60.0, 240.0], None, usual)
        (7914.0, 600.0)
    """
    if len(times) < 2:
        return None
    last = times[-1]
    if due is None:
        usual = median(b - a for a, b in pairwise(times[-11:]))
        return last + max(late.least_s, late.gaps * usual)
    return due + min(late.most_s, max(late.least_s, late.share * (due - last)))


def _median_gap(readings: Readings) -> float | None:
    gaps = [b - a for a, b in pairwise(readings.times[-(RECENT + 1) :].tolist())]
    return median(gaps) if gaps else None
