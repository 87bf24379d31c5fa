"""The zero of one channel, followed reading by reading: where it moves, the channel goes on."""

import copy
from dataclasses import dataclass, field
from math import isnan
from typing import Literal

import numpy as np

from tui.bench.readings import NAN
from tui.bench.refills import Jump, Point
from tui.feed.rows import Column

MOST_TOLD = 20
"""Moves of one channel that are kept to be told; a gauge that jumps more often is broken."""

By = Literal["refill", "person", "doubt"]
"""Who says so: the settings' `refill`, an act of the journal, or nobody yet."""


@dataclass(frozen=True, slots=True)
class Rebase:
    """What a person says of a channel: its change between two moments was none."""

    channel: str
    since: float
    """The newest reading at or before this moment still counts. [s]"""
    until: float
    """The first reading at or after this moment counts again. [s]"""
    reads: float | None = None
    """What that reading should show; None: what the channel showed before. [internal unit]"""
    text: str = ""


@dataclass(frozen=True, slots=True)
class ZeroMove:
    """A zero that has moved, or seems to have."""

    channel: str
    before: float | None
    """Time of the last reading before; None: there was none. [s]"""
    at: float
    """Time of the first reading after. [s]"""
    size: float
    """How far the readings have moved with it. [internal unit]"""
    by: By
    text: str = ""


@dataclass(slots=True)
class Zero:
    """One channel."""

    channel: str
    waiting: tuple[Rebase, ...] = ()
    """What people have said and no reading has met yet, by `until`."""
    threshold: float | None = None
    """A jump above this is looked at; None: none is. [internal unit]"""
    refills: bool = False
    """Whether such a jump is put right; else it is only told."""
    into_specimen: int = 1
    specimen_ml: float = NAN
    tells: bool = True
    """A second channel on one transducer repeats what the first has told."""
    offset: float = 0.0
    """Added to what the gauge shows. [internal unit]"""
    moves: list[ZeroMove] = field(default_factory=list)
    count: int = 0
    """Of all moves, told or not."""
    _last: Point | None = None
    _pace: float = 0.0
    """Of the newest flow, jumps left out. [internal unit/s]"""

    def copy(self) -> "Zero":
        """An independent fold in the same state."""
        other = copy.copy(self)
        other.moves = self.moves.copy()
        return other

    def add(self, point: Point) -> float:
        """The value that the channel goes on with; NaN while its gauge is being moved."""
        moving = any(act.since < point.time < act.until for act in self.waiting)
        if moving or isnan(point.volume):
            return NAN
        due = [act for act in self.waiting if act.until <= point.time]
        if due:
            self.waiting = tuple(act for act in self.waiting if act.until > point.time)
            self._obey(due[-1], point)
        elif not self._jumped(point):
            self._keep_pace(point)
        self._last = point
        return point.volume + self.offset

    def calm(self, times: Column, shown: Column) -> bool:
        """Whether nothing can have moved in these rows, so that they may be passed over."""
        newest = float(times[-1])
        if any(newest > act.since or newest >= act.until for act in self.waiting):
            return False
        if self.threshold is None:
            return True
        known = shown[np.isfinite(shown)]
        if self._last is not None:
            known = np.concatenate([[self._last.volume], known])
        return bool(np.all(np.abs(np.diff(known)) <= self.threshold))

    def pass_over(self, points: list[Point]) -> None:
        """Calm rows, told by those of them that the pace and the newest reading rest on."""
        for point in points:
            self._keep_pace(point)
            self._last = point

    def _obey(self, act: Rebase, point: Point) -> None:
        if act.reads is not None:
            size = point.volume + self.offset - act.reads
        elif self._last is not None:
            size = point.volume - self._last.volume
        else:
            return
        self.offset -= size
        self._tell(point, size, "person", act.text)

    def _jumped(self, point: Point) -> bool:
        last = self._last
        if last is None or self.threshold is None:
            return False
        size = point.volume - last.volume
        jump = Jump(last, point, self._pace, self.into_specimen, self.specimen_ml)
        if abs(size) <= self.threshold or not jump.is_no_flow():
            return False
        if self.refills:
            self.offset -= size
        self._tell(point, size, "refill" if self.refills else "doubt")
        return True

    def _keep_pace(self, point: Point) -> None:
        last = self._last
        if last is not None and point.time > last.time:
            self._pace = (point.volume - last.volume) / (point.time - last.time)

    def _tell(self, point: Point, size: float, by: By, text: str = "") -> None:
        self.count += 1
        if self.tells and len(self.moves) < MOST_TOLD:
            before = None if self._last is None else self._last.time
            self.moves.append(ZeroMove(self.channel, before, point.time, size, by, text))
