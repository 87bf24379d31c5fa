"""The zero of one channel, followed reading by reading: where it moves, the channel goes on.

A gauge that is refilled while several readings are taken is held back from its first fast reading
until it has moved by more than its `refill`, and then goes on where it stood.
"""

from dataclasses import dataclass, field, replace
from math import inf, isnan
from typing import Literal

import numpy as np

from tui.bench.readings import NAN
from tui.bench.refills import STANDS_KPA, STEP, Jump, Point
from tui.bench.twins import twin
from tui.feed.rows import Column

MOST_TOLD = 20
"""Moves of one channel that are kept to be told; a gauge that jumps more often is broken."""
PACE_S = 60.0
"""The pace that is told is that over so long: from row to row noise would pass for flow. [s]"""

By = Literal["refill", "person", "doubt", "flow"]
"""Who says so: the settings' `refill`, an act of the journal, nobody yet; "flow": it is above
`refill` and was taken as flow, because it may as well be."""


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
    pace: float | None = None
    """Of the channel before; None where not known. [internal unit/s]"""

    @property
    def unknown(self) -> float | None:
        """What it may have changed by meanwhile, had it gone on at its pace. [internal unit]"""
        if self.pace is None or self.before is None:
            return None
        return self.pace * (self.at - self.before)


@dataclass(frozen=True, slots=True)
class _Run:
    """A gauge that may be in the midst of being refilled."""

    base: Point
    """The last reading before."""
    level: float
    """What the channel showed there. [internal unit]"""
    pace: float
    """Of the flow before it. [internal unit/s]"""
    flow: bool
    """Whether it may as well be flow, and is taken as that."""
    told: bool = False


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
    watched: bool = False
    """Whether pore and back pressure have a transducer each: what drives water is seen."""
    offset: float = 0.0
    """Added to what the gauge shows. [internal unit]"""
    moves: list[ZeroMove] = field(default_factory=list)
    untold: int = 0
    """Moves beyond those that are kept."""
    _last: Point | None = None
    _run: _Run | None = None
    _pace: float = 0.0
    """Of the newest flow, jumps left out. [internal unit/s]"""
    _paced_from: Point | None = None
    _told_pace: float | None = None
    """The same over a minute or more; None: not known yet."""

    def copy(self) -> "Zero":
        """An independent fold in the same state."""
        other = twin(self)
        other.moves = self.moves.copy()
        return other

    def add(self, point: Point) -> float:
        """The value that the channel goes on with; NaN while its gauge is being moved."""
        moving = any(act.since < point.time < act.until for act in self.waiting)
        if moving or isnan(point.volume):
            return NAN
        due = [act for act in self.waiting if act.until <= point.time]
        holds = False
        if due:
            self.waiting = tuple(act for act in self.waiting if act.until > point.time)
            self._obey(due[-1], point)
        else:
            holds = self._is_moved(point)
        self._last = point
        return NAN if holds else point.volume + self.offset

    def calm(self, times: Column, shown: Column) -> bool:
        """Whether nothing can have moved in these rows, so that they may be passed over."""
        if self._run is not None:
            return False
        newest = float(times[-1])
        if any(newest > act.since or newest >= act.until for act in self.waiting):
            return False
        if self.threshold is None:
            return True
        known = shown[np.isfinite(shown)]
        if self._last is not None:
            known = np.concatenate([[self._last.volume], known])
        return bool(np.all(np.abs(np.diff(known)) <= STEP * self.threshold))

    @property
    def paced_from(self) -> float:
        """From when the pace of the next minute is counted; −∞: from the next reading on. [s]"""
        return -inf if self._paced_from is None else self._paced_from.time

    def pass_over(self, points: list[Point]) -> None:
        """Calm rows, told by those of them that the pace and the newest reading rest on."""
        for point in points:
            self._keep_pace(point)
            self._last = point

    def _obey(self, act: Rebase, point: Point) -> None:
        self._run = None
        if act.reads is not None:
            size = point.volume + self.offset - act.reads
        elif self._last is not None:
            size = point.volume - self._last.volume
        else:
            return
        self._go_on(size)
        self._tell(self._last, point, size, "person", act.text)

    def _is_moved(self, point: Point) -> bool:
        """Follow a gauge that may be refilled; whether this reading has to be held back."""
        last, run = self._last, self._run
        if last is None or self.threshold is None:
            self._keep_pace(point)
            return False
        if run is not None:
            run = self._gone_on(run, last, point)
        if run is None:
            run = self._begun(last, point)
        self._run = run
        if run is None or run.flow:
            self._keep_pace(point)
        if run is None:
            return False
        whole = self._jump(run.base, point, run.pace)
        if abs(whole.size) <= self.threshold:
            return self.refills and not run.flow
        self._judge(run, whole)
        return False

    def _jump(self, before: Point, after: Point, pace: float) -> Jump:
        return Jump(before, after, pace, self.into_specimen, self.specimen_ml)

    def _begun(self, last: Point, point: Point) -> _Run | None:
        """The run that begins between two readings."""
        assert self.threshold is not None
        step = self._jump(last, point, self._pace)
        at_once = abs(step.size) > self.threshold
        if not at_once and not step.may_be_under_way(self.threshold, begun=False):
            return None
        seen = at_once or (self.watched and step.is_watched)
        flow = not (seen and step.is_no_flow())
        return _Run(last, last.volume + self.offset, self._pace, flow)

    def _gone_on(self, run: _Run, last: Point, point: Point) -> _Run | None:
        """The run if this reading belongs to it."""
        assert self.threshold is not None
        step = self._jump(last, point, run.pace)
        same_way = step.size * (last.volume - run.base.volume) > 0.0
        if not (same_way and step.may_be_under_way(self.threshold, begun=run.told)):
            return None
        no_flow = self.watched and self._jump(run.base, point, run.pace).is_no_flow()
        if run.flow or no_flow:
            return run
        return None if run.told else replace(run, flow=True)

    def _judge(self, run: _Run, whole: Jump) -> None:
        """What has moved by more than the threshold is put right, or told."""
        by: By = "flow" if run.flow else "refill" if self.refills else "doubt"
        at_once = run.base is self._last
        if run.flow and (not self.refills or self._is_explained(whole, at_once=at_once)):
            return
        if by == "refill":
            self._go_on(whole.after.volume + self.offset - run.level)
        if run.told:
            self._tell_more(whole)
        else:
            self._tell(run.base, whole.after, whole.size, by)
        self._run = replace(run, told=True)

    def _is_explained(self, whole: Jump, *, at_once: bool) -> bool:
        """Whether a flow above the threshold is worth no word."""
        # A cell that is put under pressure takes water: its gauge has to move.
        moves = abs(whole.after.cell - whole.before.cell) > STANDS_KPA
        # A drainage that was opened makes no jump, but may well give as much within some readings.
        opened = not at_once and whole.is_driven and not whole.is_no_flow()
        return whole.goes_on_as_before or opened or (moves and self.into_specimen < 0)

    def _go_on(self, size: float) -> None:
        self.offset -= size
        if self._paced_from is not None:
            moved = self._paced_from.volume + size
            self._paced_from = self._paced_from._replace(volume=moved)

    def _keep_pace(self, point: Point) -> None:
        last, since = self._last, self._paced_from
        if last is not None and point.time > last.time:
            self._pace = (point.volume - last.volume) / (point.time - last.time)
        if since is None:
            self._paced_from = point
        elif point.time - since.time >= PACE_S:
            self._told_pace = (point.volume - since.volume) / (point.time - since.time)
            self._paced_from = point

    def _tell(
        self, before: Point | None, point: Point, size: float, by: By, text: str = ""
    ) -> None:
        if not self.tells:
            return
        if len(self.moves) >= MOST_TOLD:
            self.untold += 1
            return
        since = None if before is None else before.time
        self.moves.append(
            ZeroMove(self.channel, since, point.time, size, by, text, self._told_pace)
        )

    def _tell_more(self, whole: Jump) -> None:
        """The move that was told last goes on."""
        newest = self.moves[-1] if self.moves else None
        if newest is not None and newest.before == whole.before.time:
            self.moves[-1] = replace(newest, at=whole.after.time, size=whole.size)
