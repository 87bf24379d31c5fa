"""Reading schedules: how far the readings that came meet the times at which they were due.

The reading at the start is the zero reading: it takes no slot, and neither does anything before
it. Offsets are seconds after the start throughout; for a schedule of kind "strain" they are
strains, and `now` is the present strain.

Two ways of counting. Where a row *is* a scheduled reading ("scheduled"), each row goes to its
nearest slot and what is too many is extra. Where rows come at a fixed pace ("steady"), a slot is
served by the nearest row, and rows that serve none are the logger's normal pace, not extra.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from reduce.columns import Column
from reduce.due_times import (
    MOST_SLOTS,
    Schedule,
    ScheduleKind,
    every_schedule,
    log_schedule,
    root_schedule,
    strain_schedule,
    times_schedule,
)
from reduce.errors import ReductionError

__all__ = [
    "MOST_SLOTS",
    "Count",
    "Rows",
    "Schedule",
    "ScheduleKind",
    "Tally",
    "count",
    "due_and_edges",
    "every_schedule",
    "log_schedule",
    "root_schedule",
    "strain_schedule",
    "times_schedule",
]

Rows = Literal["scheduled", "steady"]

_INTERVALS_NEAR = 1.5
_SHARE_NEAR = 0.05


@dataclass(frozen=True, slots=True)
class Count:
    """How far a schedule has come; taken + missed + left = slots."""

    slots: int
    taken: int
    """Slots that are due and have their reading."""
    missed: int
    """Slots that passed without a reading."""
    extra: int
    """Scheduled rows that are too many; steady rows are never extra."""
    left: int
    """Slots not yet due, or due and neither taken nor given up."""
    next_offset: float | None
    """The next slot not yet due; None after the last. [s] or [-]"""
    last_offset: float
    """The slot that ends the schedule. [s] or [-]"""
    ticks: str
    """One letter a slot: t taken, m missed, d still to come."""


@dataclass(slots=True)
class _Nearest:
    """For each slot, how far the nearest reading on either side of its due time is."""

    due: Column
    """(n,) due times."""
    edges: Column
    """(n + 1,) borders between slots."""
    before: Column
    """(n,) from the latest reading at or before the due time; infinite where none came."""
    after: Column
    """(n,) to the earliest reading after the due time; infinite where none came."""
    rows: int = 0
    """Readings after the start, whether or not they took a slot."""

    @classmethod
    def of(cls, schedule: Schedule) -> "_Nearest":
        due, edges = _due_and_edges(schedule)
        nothing = np.full(len(due), np.inf)
        return cls(due, edges, nothing, nothing.copy())


@lru_cache(maxsize=64)
def _due_and_edges(schedule: Schedule) -> tuple[Column, Column]:
    """Shared by all that count against one schedule; not to be written."""
    due = np.array(schedule.due)
    return due, _edges(due)


@lru_cache(maxsize=64)
def due_and_edges(schedule: Schedule) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Due times of n slots and the n + 1 borders between them, for counting row by row.

    Example:
        >>> due_and_edges(every_schedule(10, 2))
        ((10.0, 20.0), (5.0, 15.0, 25.0))
    """
    due, edges = _due_and_edges(schedule)
    return tuple(due.tolist()), tuple(edges.tolist())


class Tally:
    """Counts readings against a schedule as they come, in any order and any portions.

    A reading costs O(log slots), whatever was counted before; `at` and `copy` cost a few
    microseconds for thousands of slots. The same readings give the same count as `count`.

    Example:
        >>> tally = Tally(root_schedule(0.5, 4))
        >>> for offset in (0.0, 14.0, 61.0):
        ...     tally.add(offset)
        >>> tally.at(100.0).ticks, tally.at(100.0).next_offset
        ('ttdd', 135.0)
    """

    __slots__ = ("_last", "_nearest", "schedule")

    def __init__(self, schedule: Schedule) -> None:
        self.schedule = schedule
        """What is counted against."""
        self._nearest = _Nearest.of(schedule)
        self._last: _Judged | None = None

    def add(self, offset: float) -> None:
        """Count one reading.

        Args:
            offset: after the start; zero, below zero and NaN take no slot. [s] or [-]
        """
        if not offset > 0.0:
            return
        nearest, self._last = self._nearest, None
        nearest.rows += 1
        slot = int(np.searchsorted(nearest.edges, offset)) - 1
        if offset == nearest.edges[0]:
            slot = 0
        if not 0 <= slot < len(nearest.due):
            return
        late = offset - nearest.due[slot]
        side = nearest.after if late > 0.0 else nearest.before
        side[slot] = min(side[slot], abs(late))

    def add_all(self, offsets: Column) -> None:
        """Count readings: what `add` makes of them one by one.

        Args:
            offsets: (n,) after the start; zero, below zero and NaN take no slot. [s] or [-]
        """
        late = offsets[offsets > 0.0]
        if not len(late):
            return
        nearest, self._last = self._nearest, None
        nearest.rows += len(late)
        slot = nearest.edges.searchsorted(late) - 1
        slot = np.where(late == nearest.edges[0], 0, slot)
        inside = (slot >= 0) & (slot < len(nearest.due))
        slot, late = slot[inside], late[inside]
        late = late - nearest.due[slot]
        after = late > 0.0
        np.minimum.at(nearest.after, slot[after], late[after])
        np.minimum.at(nearest.before, slot[~after], -late[~after])

    def at(self, now_offset: float, row_interval: float | None = None) -> Count:
        """The count at a moment.

        Args:
            now_offset: the moment, after the start. [s] or [-]
            row_interval: None where a row is a scheduled reading; for rows at a steady pace, the
                usual interval between them. [s] or [-]

        Returns:
            The count of all readings added; it does not leave out readings later than now.

        Raises:
            ReductionError: now or the interval is no number, or the interval is not above zero.
        """
        last = self._last
        if last is None or not last.holds(now_offset, row_interval):
            last = self._last = _judged(self._nearest, now_offset, row_interval)
        return last.count

    def next_after(self, now_offset: float) -> float | None:
        """The next slot not yet due; None after the last. [s] or [-]"""
        due = self._nearest.due
        upcoming = int(due.searchsorted(now_offset, side="right"))
        return float(due[upcoming]) if upcoming < len(due) else None

    def reached(self) -> tuple[Column, Column, int]:
        """What was counted, without the schedule: see `resumed`."""
        mine = self._nearest
        taken = np.flatnonzero(np.isfinite(mine.before) | np.isfinite(mine.after))
        far = int(taken[-1]) + 1 if len(taken) else 0
        return mine.before[:far].copy(), mine.after[:far].copy(), mine.rows

    @staticmethod
    def resumed(schedule: Schedule, reached: tuple[Column, Column, int]) -> "Tally":
        """The tally that had reached so far.

        Example:
            >>> tally = Tally(root_schedule(0.5, 4))
            >>> tally.add(14.0)
            >>> Tally.resumed(tally.schedule, tally.reached()).at(20.0).ticks
            'tddd'
        """
        tally = Tally(schedule)
        before, after, tally._nearest.rows = reached
        tally._nearest.before[: len(before)] = before
        tally._nearest.after[: len(after)] = after
        return tally

    def copy(self) -> "Tally":
        """A tally that goes on from here without touching this one."""
        twin = Tally.__new__(Tally)
        twin.schedule, twin._last, mine = self.schedule, self._last, self._nearest
        twin._nearest = replace(mine, before=mine.before.copy(), after=mine.after.copy())
        return twin


def count(
    schedule: Schedule,
    offsets: Column,
    now_offset: float,
    rows: Rows = "scheduled",
    row_interval: float | None = None,
) -> Count:
    """Count readings against a schedule.

    scheduled: a row belongs to the nearest slot, within half the gap to its neighbours; the gap
    before the first slot reaches to 0, the one after the last repeats its predecessor; on a tie
    the earlier slot; every further row is extra. A slot is given up half the gap to the next one
    after its due time.
    steady: a slot is taken by a row within min(half the gap, max(1.5 · row_interval, 5 % of its
    due time)), and given up when no such row can come any more.
    Both: a slot counts as taken or missed only from its due time on.

    Args:
        schedule: the schedule.
        offsets: (n,) readings after the start, in any order; zero, below zero and NaN take no
            slot. [s], or [-] for strains
        now_offset: the moment of the count; the caller leaves out readings later than it.
        rows: whether a row is a scheduled reading or comes at a steady pace.
        row_interval: usual interval between steady rows; None takes the median of `offsets`.

    Returns:
        The count; taken + missed + left = slots.

    Raises:
        ReductionError: now or the interval is no number, or the interval is not above zero.

    Source:
        Common practice, no source: the rule is our own.

    Example:
        >>> counted = count(every_schedule(10, 5), np.array([0.0, 9.0, 11.0, 31.0]), 36.0)
        >>> counted.ticks, counted.extra, counted.next_offset
        ('tmtdd', 1, 40.0)
    """
    tally = Tally(schedule)
    tally.add_all(offsets)
    if rows == "scheduled":
        row_interval = None
    elif row_interval is None:
        row_interval = _median_interval(offsets)
    return tally.at(now_offset, row_interval)


def _edges(due: Column) -> Column:
    """Borders between slots: half the first gap, the middles, half the last gap beyond."""
    padded = np.concatenate(([0.0], due))
    beyond = due[-1] + (padded[-1] - padded[-2]) / 2.0
    return np.concatenate((padded[:-1] + np.diff(padded) / 2.0, [beyond]))


def _median_interval(offsets: Column) -> float:
    known = np.sort(offsets[~np.isnan(offsets)])
    gaps = np.diff(known)
    gaps = gaps[gaps > 0.0]
    # A single row has no pace: then only the share of the due time makes a row near.
    return float(np.median(gaps)) if len(gaps) else math.ulp(0.0)


@dataclass(frozen=True, slots=True)
class _Judged:
    """A count and how long it stands while no reading comes."""

    count: Count
    since: float
    until: float
    row_interval: float | None

    def holds(self, now: float, row_interval: float | None) -> bool:
        return row_interval == self.row_interval and self.since <= now < self.until


def _judged(nearest: _Nearest, now: float, row_interval: float | None) -> _Judged:
    if math.isnan(now):
        raise ReductionError("now is not a number; it must be an offset from the schedule's start")
    due, given_up = nearest.due, nearest.edges[1:]
    reached = np.isfinite(nearest.before) | np.isfinite(nearest.after)
    extra = nearest.rows - int(reached.sum())
    if row_interval is not None:
        if not 0.0 < row_interval < math.inf:
            raise ReductionError(
                f"row interval is {row_interval:g}; it must be a finite number above 0"
            )
        near = np.maximum(_INTERVALS_NEAR * row_interval, _SHARE_NEAR * due)
        reached = (nearest.before <= near) | (nearest.after <= near)
        given_up = np.minimum(given_up, due + near)
        extra = 0
    came_due = due <= now
    taken = reached & came_due
    missed = came_due & ~reached & (given_up <= now)
    letters = np.where(taken, b"t", np.where(missed, b"m", b"d"))
    upcoming = int(due.searchsorted(now, side="right"))
    took, lost = int(taken.sum()), int(missed.sum())
    count = Count(
        slots=len(due),
        taken=took,
        missed=lost,
        extra=extra,
        left=len(due) - took - lost,
        next_offset=float(due[upcoming]) if upcoming < len(due) else None,
        last_offset=float(due[-1]),
        ticks=letters.tobytes().decode("ascii"),
    )
    next_up = int(given_up.searchsorted(now, side="right"))
    until = min(
        (float(one[at]) for one, at in ((due, upcoming), (given_up, next_up)) if at < len(one)),
        default=math.inf,
    )
    return _Judged(count, now, until, row_interval)
