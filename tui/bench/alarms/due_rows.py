"""Rows against the times at which they are due, followed row by row: what is to come, what passed.

The count that is shown stands in `tui/bench/slots.py`; this tells at once, and in O(1) a row, the
moments at which that count changes for the worse.
"""

from bisect import bisect_left
from itertools import pairwise
from math import inf, isnan
from statistics import median
from typing import Any, Self

from reduce.schedule import Schedule, due_and_edges
from tui.bench.alarms.scene import Moment, Scene
from tui.bench.alarms.strained import sheared_height_mm, strain_of
from tui.bench.schedules import schedule_of
from tui.bench.slots import ALIKE, row_pace
from tui.bench.twins import twin
from tui.settings.cell_toml import ScheduleTable

KEPT = 64
"""Times of rows that are kept: the pace is told from forty gaps."""
ANEW, OFTEN_S = 32, 30.0
"""Rows after which the pace is told anew although they keep it; irregular rows that come as often
as this are not looked at one by one either."""
PACED = 8
"""Rows of a shear that tell how fast strain grows."""
SKIPS = 0.8
"""Between the rows beside a slot that was left out lies at least this share of the time between the
slots beside it. Where it is less, all were taken, and the zero reading was another one than the
readings tell: common practice, no source. [-]"""
COUNTED_S, KEEPS = 1.0, 0.05
"""A row that is no farther from its slot than this, or by this share of the gap, keeps to it."""


class DueRows:
    """The running schedule of one cell and the newest rows of its log."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._rows = scene.settings.log.rows
        self.times: list[float] = []
        """The newest rows of the log, oldest first. [s]"""
        self.schedule: Schedule | None = None
        """That which runs; None where nothing is scheduled."""
        self.zero = 0.0
        """Its zero reading. [s]"""
        self.slot = 0
        """The first slot that is neither taken nor given up."""
        self._coming = 0
        """The slot behind the newest row."""
        self._key: tuple[object, ...] | None = None
        self._pace: float | None = None
        self._paced = 0
        """Rows since the pace was told that do not change it; 0: it has to be told."""
        self._strains: tuple[tuple[float, float], ...] = ()
        self.leapt: int | None = None
        """The slot of strain that the newest row has left behind, where the logger should have
        taken it: of those it was known only now that they had come."""
        self._near_from = -inf
        """Before this offset no row takes a slot that is still to come. [s]"""
        self._height_mm = scene.aims.height_mm
        self._planned_s: float | None = None
        """Between slots of strain by the planned rate, while the ram has shown none. [s]"""

    def copy(self) -> Self:
        """Independent rows in the same state."""
        other = twin(self)
        other.times = list(self.times)
        return other

    def __getstate__(self) -> dict[str, Any]:
        """For a checkpoint, in few bytes: the schedule follows from its table."""
        return self.__dict__ | {"schedule": None, "scheduled": self.schedule is not None}

    def __setstate__(self, state: dict[str, Any]) -> None:
        scheduled = state.pop("scheduled")
        self.__dict__.update(state)
        if scheduled and self._key is not None:
            table = getattr(self._scene.settings.schedule, str(self._key[0]))
            self.schedule = schedule_of(table)

    @property
    def last(self) -> float | None:
        """The newest row. [s]"""
        return self.times[-1] if self.times else None

    @property
    def by_strain(self) -> bool:
        """Whether slots are strains, and not times."""
        return self.schedule is not None and self.schedule.kind == "strain"

    @property
    def pace(self) -> float | None:
        """The interval of rows at a steady pace; None where a row is a scheduled reading. [s]"""
        if self._rows == "scheduled" or not self.times:
            return None
        if not self._paced:
            self._paced = 1
            self._pace = row_pace(self.times)
            if self._pace is None and self._rows == "steady":
                gaps = [b - a for a, b in pairwise(self.times[-41:])]
                self._pace = median(gaps) if gaps else None
        return self._pace

    def keeps_pace(self, time: float) -> bool:
        """Take a row that changes nothing but which is the newest: at its pace, no slot near.

        Args:
            time: of a row in the phase and step of the one before. [s]
        """
        pace = self._pace
        if pace is None or not 0 < self._paced < ANEW - 1 or len(self.times) >= 2 * KEPT:
            return False
        if abs(time - self.times[-1] - pace) > ALIKE * pace:
            return False
        if self.schedule is not None and (self.by_strain or time - self.zero >= self._near_from):
            return False
        self.times.append(time)
        self._paced += 1
        return True

    def add(self, now: Moment) -> bool:
        """Follow one row of the log; True if it takes the slot that was to come, or a later one."""
        taken = self._take(now)
        self._coming = self.slot
        return taken

    def _take(self, now: Moment) -> bool:
        if len(self.times) >= 2 * KEPT:
            del self.times[:KEPT]
        gap = now.time - self.times[-1] if self.times else inf
        self.times.append(now.time)
        usual, self.leapt = self._pace, None
        alike = gap < OFTEN_S if usual is None else abs(gap - usual) <= ALIKE * usual
        self._paced = self._paced + 1 if self._paced and alike and self._paced < ANEW else 0
        self._follow(now)
        if self.schedule is None:
            return False
        _, edges = due_and_edges(self.schedule)
        offset = self._offset(now)
        if isnan(offset) or offset <= 0.0:
            return False
        pace = None if self.by_strain or offset <= self._near_from else self.pace
        if pace is not None:
            return self._steady(offset, pace)
        if offset <= self._near_from:
            return False
        slot = min(bisect_left(edges, offset) - 1, len(edges) - 1)
        taken = slot >= self.slot and slot < len(edges) - 1
        if self.by_strain and slot > self.slot and len(self._strains) > 1:
            steady = self.pace
            self.leapt = self.slot if steady is None or gap > 1.5 * steady else None
        self.slot = max(self.slot, min(slot + 1, len(edges) - 1))
        return taken

    def _steady(self, offset: float, pace: float) -> bool:
        taken = False
        while (span := self._span(self.slot, pace)) is not None and offset >= span[0]:
            taken |= offset <= span[1]
            self.slot += 1
        self._near_from = inf if span is None else span[0] - 1e-9
        return taken

    def _span(self, slot: int, pace: float | None) -> tuple[float, float] | None:
        """From when to when a row takes a slot; None behind the last. [s]"""
        assert self.schedule is not None
        due, edges = due_and_edges(self.schedule)
        if slot >= len(due):
            return None
        if pace is None:
            return edges[slot], edges[slot + 1]
        near = max(1.5 * pace, 0.05 * due[slot])
        return max(edges[slot], due[slot] - near), min(edges[slot + 1], due[slot] + near)

    @property
    def stands(self) -> tuple[float, ...] | None:
        """What decides when a slot is given up; None where every row does."""
        pace = self.pace
        return None if self.by_strain or pace is None else (self.slot, self.zero, pace)

    def given_up_at(self) -> float:
        """When the slot to come is given up if no row takes it. [s]"""
        if self.schedule is None or not self.times:
            return inf
        if self.by_strain:
            # The pace of a ram is known by its last rows only: one more slot of patience.
            due = self._due(self.slot + 1)
            slots, _ = due_and_edges(self.schedule)
            limit = self._scene.settings.plan.strain_limit
            if self.slot < len(slots) and slots[self.slot] >= limit:
                return inf  # the plan wants none beyond
            return inf if due is None else due
        pace = self.pace
        span = self._span(self.slot, pace)
        if span is None:
            return inf
        gone = self.zero + span[1]
        return gone if pace is not None else max(gone, self.times[-1] + self._skips_s())

    def _skips_s(self) -> float:
        """As long as no row has come for less, the slot to come may have been taken. [s]

        Of rows that keep to the slots nothing is doubted.
        """
        assert self.schedule is not None
        due, edges = due_and_edges(self.schedule)
        before = due[self.slot - 1] if self.slot else 0.0
        behind = due[self.slot + 1] if self.slot + 1 < len(due) else edges[-1]
        away = abs(self.times[-1] - self.zero - before)
        kept = max(COUNTED_S, KEEPS * (due[self.slot] - before))
        return 0.0 if away <= kept else SKIPS * (behind - before)

    def give_up(self) -> bool:
        """The slot to come has passed; whether the logger should have taken it.

        Rows at a steady pace cannot serve slots that lie closer than that.
        """
        gone = self.given_up_at()
        self.slot += 1
        self._near_from = -inf
        pace = None if self.by_strain else self.pace
        return pace is None or gone - self.times[-1] > 1.5 * pace

    def said(self, slot: int) -> str:
        """A slot in words."""
        assert self.schedule is not None
        due, _ = due_and_edges(self.schedule)
        if self.by_strain:
            return f"slot {slot + 1} of {len(due)}, at {100.0 * due[slot]:.2f} % strain"
        return f"slot {slot + 1} of {len(due)}, {due[slot] / 60.0:.1f} min after the zero reading"

    def next_due(self) -> float | None:
        """When the next row should come, by schedule or pace; None where neither tells. [s]"""
        if not self.times:
            return None
        pace = self.pace
        if pace is not None:
            return self.times[-1] + pace
        due = None if self.schedule is None else self._due(self._coming)
        if due is None and self._planned_s is not None and len(self._strains) < 2:
            return self.times[-1] + self._planned_s
        return due

    def _due(self, slot: int) -> float | None:
        assert self.schedule is not None
        due, _ = due_and_edges(self.schedule)
        if slot >= len(due):
            return None
        if not self.by_strain:
            return self.zero + due[slot]
        if len(self._strains) < 2:
            return None
        (begin, least), (end, most) = self._strains[0], self._strains[-1]
        if most <= least or end <= begin:
            return None
        return end + (due[slot] - most) * (end - begin) / (most - least)

    def _offset(self, now: Moment) -> float:
        if not self.by_strain:
            return now.time - self.zero
        zero = now.told.zero_strain
        strain = strain_of(now, zero, self._height_mm)
        if not isnan(strain):
            self._strains = (*self._strains[-PACED + 1 :], (now.time, strain))
        return strain

    def _follow(self, now: Moment) -> None:
        """The schedule that runs by this row, and its zero reading, as `Slots` tells it."""
        table: ScheduleTable | None = getattr(self._scene.settings.schedule, now.phase, None)
        key: tuple[object, ...] | None
        if table is None:
            key = None
        elif now.phase == "consolidation":
            zero = now.told.zero_consolidation
            key = None if now.step != "drained" or zero is None else (now.phase, zero.time)
        elif now.phase == "shear":
            strained = now.told.zero_strain
            sheared = now.step == "shear" and strained is not None
            key = (now.phase, strained.time) if sheared and strained is not None else None
        else:
            key = (now.phase, now.step, now.step_since, len(now.told.spans))
        if key == self._key:
            return
        self._key = key
        self.schedule, self._strains, self._near_from = None, (), -inf
        self.slot = 0
        rate = self._scene.settings.plan.strain_rate_percent_min
        by_strain = table is not None and table.kind == "strain"
        self._planned_s = None
        if by_strain and table is not None and rate is not None:
            self._planned_s = 6000.0 * schedule_of(table).due[0] / rate
        if table is None or key is None:
            return
        self.schedule = schedule_of(table)
        zero_s = key[1] if now.phase in ("consolidation", "shear") else None
        self.zero = self._zero(now, table) if not isinstance(zero_s, float) else zero_s
        self._height_mm = sheared_height_mm(self._scene, now.told)
        # Of rows that came before this was understood none is missed any more.
        before = self.times[-2] if len(self.times) > 1 else -inf
        _, edges = due_and_edges(self.schedule)
        passed = -1.0 if self.by_strain else before - self.zero
        self.slot = 0 if passed <= 0.0 else min(bisect_left(edges, passed), len(edges) - 1)

    def _zero(self, now: Moment, table: ScheduleTable) -> float:
        spans = now.told.spans
        start, source = spans[-1].start, spans[-1].source
        for span in reversed(spans):
            if span.name != now.phase:
                break
            start, source = span.start, span.source
            if table.per == "step" and span.step != "hold":
                break
        if source == "marks":
            return start
        place = bisect_left(self.times, start)
        before = self.times[place - 1] if place > 0 else start
        return before if start - before <= 1.5 * schedule_of(table).due[0] else start
