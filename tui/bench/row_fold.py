"""The rows of one cell folded: what `advance` carries from look to look.

The folds take rows one by one, on the readings' own time, so that the same readings give the
same history at any chunking.

Of a long log only the newest rows are kept, and how the folds stood before them: late rows and
marks begin there. What rests on rows before those asks for all rows once more.
"""

import copy
import math
from datetime import tzinfo
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from reduce.forecast import ConsolidationForecast
from tui.bench.aims import aims_of
from tui.bench.alarms.fold import Alarms
from tui.bench.alarms.scene import LIVE_TELLS
from tui.bench.attended import Attended
from tui.bench.checks import Checks
from tui.bench.constructed import Constructed
from tui.bench.curves import Curves
from tui.bench.phases import Mark, Phases
from tui.bench.picture import Cell
from tui.bench.readings import (
    OldRowsNeededError,
    Reading,
    Readings,
    each,
    in_time_order,
    picked,
)
from tui.bench.rebasing import Rebasing
from tui.bench.slots import Slots
from tui.bench.stood import Stood
from tui.bench.telling import Telling
from tui.bench.twins import twin
from tui.bench.unused import Unused
from tui.bench.zero_words import moved_words
from tui.bench.zeros import Rebase
from tui.feed.batches import joined_rows
from tui.feed.rows import Arrivals, LiveRow, Rows
from tui.settings.cell_toml import CellToml
from tui.settings.problems import Problem
from tui.settings.resolved import resolve_channels
from tui.settings.zones import moment_s

if TYPE_CHECKING:
    from reduce.record import Record


KEPT = 3600
"""Newest rows that are kept at least: an hour of readings a second."""
STRIDE = 1024
"""Rows between two moments at which is kept how the folds stood."""
_BEFORE = 16
_FOLDS = ("_rebasing", "_telling", "_curves", "_slots", "_alarms")
_LIVE_KEPT = 600
"""Live rows that are told again with late rows or marks."""


class RowFold:
    """A cell whose settings could be read; see `CellFold`."""

    def __init__(
        self,
        name: str,
        folder: str,
        settings: CellToml,
        marks: tuple[Mark, ...],
        zone: tzinfo,
        rebases: tuple[Rebase, ...] = (),
        *,
        keeps_all: bool = False,
        attended: Attended | None = None,
        judges: bool = True,
    ) -> None:
        """Nothing has been read.

        Args:
            name: of the cell.
            folder: of the cell, relative to the bench.
            settings: of the cell.
            marks: phases that people have set.
            zone: of naive moments in the settings.
            rebases: what people have said of channels.
            keeps_all: keep every row, to reduce the test.
            attended: when somebody is there; None: always.
            judges: whether alarms are judged; a reduction asks for none.
        """
        self.name, self.folder, self.settings = name, folder, settings
        self.marks, self.rebases = marks, rebases
        self.attended, self._judges = attended, judges
        self._zone = zone
        test = settings.test
        self._started = -math.inf if test.started is None else moment_s(test.started, zone)
        self._ended = math.inf if test.ended is None else moment_s(test.ended, zone)
        self._keeps_all = keeps_all
        self._readings = Readings.empty()
        self._live: LiveRow | None = None
        self._lives: tuple[LiveRow, ...] = ()
        """The newest live rows, for the alarms."""
        self._unused = Unused()
        self._gathered: list[Rows] | None = None
        """Rows of a log that is read again; the picture stands until they are all there."""
        self._more = False
        """Whether more has been written than was read."""
        self.asks_all = False
        """Whether the logs have to be read again from their start."""
        self._feed_problems: tuple[Problem, ...] = ()
        gauges = resolve_channels(settings.log).get("back_volume")
        self._gauge = gauges[0] if gauges else None
        self._picture: Cell | None = None
        self._at_an_end: tuple[str, ...] = ()
        self._moved: tuple[Problem, ...] = ()
        self._begin()

    def _begin(self) -> None:
        """Forget what was folded."""
        settings = self.settings
        self._readings = Readings.empty()
        self._stood: tuple[Stood, ...] = ()
        self._rebasing = Rebasing(settings, self.rebases)
        self._telling = Telling(aims_of(settings), self.marks)
        self._curves = Curves(settings)
        self._slots = Slots(settings.schedule, settings.log.rows, settings.specimen.height_mm)
        self._alarms = Alarms(settings, self.attended, self.marks)
        self._live_told = -math.inf
        """Time of the newest live row that the alarms were told. [s]"""
        self._last: Reading | None = None
        self._fit: ConsolidationForecast | None = None
        self._fitted: object = None
        """What that rests on."""
        self._constructions: tuple[float, float, Constructed] | None = None
        """Zero of a consolidation, the last reading looked at, and what was constructed."""
        self._pace: float | None = None
        self._has: frozenset[str] = frozenset()

    def copy(self) -> Self:
        """An independent fold in the same state."""
        other = copy.copy(self)
        other.__dict__ |= self._copies()
        return other

    def _handed_on(self) -> Self:
        """The same fold, and this one without what was folded."""
        other = twin(self)
        for name in _FOLDS:
            delattr(self, name)
        return other

    def _copies(self) -> dict[str, Any]:
        return {name: getattr(self, name).copy() for name in _FOLDS}

    def __getstate__(self) -> dict[str, Any]:
        """For a checkpoint; the picture is drawn again."""
        return self.__dict__ | {"_picture": None}

    @property
    def rows(self) -> int:
        """Readings so far."""
        return self._readings.total

    @property
    def _phases(self) -> Phases:
        return self._telling.phases

    @property
    def _checks(self) -> Checks:
        return self._telling.checks

    @property
    def is_whole(self) -> bool:
        """Whether it holds all that has arrived, and not all has to come once more."""
        return self._gathered is None and not self.asks_all

    def with_acts(self, marks: tuple[Mark, ...], rebases: tuple[Rebase, ...] = ()) -> Self:
        """The same readings under what people have said since."""
        if (marks, rebases) == (self.marks, self.rebases):
            return self
        since = min((mark.held_at for mark in set(marks) ^ set(self.marks)), default=math.inf)
        if rebases != self.rebases:
            since = -math.inf
        other = self.copy()
        other.marks, other.rebases = marks, rebases
        other._tell_again(since)
        return other

    @property
    def newest_time(self) -> float | None:
        """Time of the newest reading. [s]"""
        return self._last.time if self._last else None

    def take(self, arrivals: Arrivals, *, goes_on: bool = False) -> Self:
        """A fold with what has arrived.

        Args:
            arrivals: of this cell.
            goes_on: whether this fold is needed no more: then it goes on in the other and tells
                nothing afterwards. A copy takes as long as a row.
        """
        other = self._handed_on() if goes_on else self.copy()
        if arrivals.restart:
            other._gathered, other.asks_all = [], False
            other._live, other._unused, other._lives = None, Unused(), ()
        other._more = arrivals.more
        if arrivals.problems is not None:
            other._feed_problems = arrivals.problems
        other._unused = other._unused.plus(arrivals.unused)
        if arrivals.live is not None:
            other._live = arrivals.live
            other._lives = (*self._lives[-_LIVE_KEPT + 1 :], arrivals.live)
        rows = self._of_test(arrivals)
        if other._gathered is not None:
            other._gather(rows, more=arrivals.more)
        elif rows is not None and not other.asks_all:
            other._take_rows(in_time_order(rows))
        if other._gathered is None:
            if self._judges:
                other._tell_lives(math.inf)
            other._picture = None
        return other

    def _of_test(self, arrivals: Arrivals) -> Rows | None:
        """The rows between its start and its end."""
        rows = arrivals.rows
        if rows is None:
            return None
        # The start is told by the clock as it stood then.
        started = self._started - arrivals.counted_back_s
        inside = (rows.times >= started) & (rows.times <= self._ended)
        kept = rows if bool(inside.all()) else picked(rows, inside)
        return kept if len(kept) else None

    def _gather(self, rows: Rows | None, *, more: bool) -> None:
        assert self._gathered is not None
        self._gathered += [] if rows is None else [rows]
        if more:
            return
        gathered, self._gathered = self._gathered, None
        self._begin()
        if gathered:
            self._fold(in_time_order(joined_rows(gathered)))

    def _take_rows(self, rows: Rows) -> None:
        if self._last is None or rows.times[0] >= self._last.time:
            self._fold(rows)
        else:  # late rows take their place in time, and everything after them is told anew
            self._tell_again(float(rows.times[0]), rows)

    def _tell_again(self, since: float, late: Rows | None = None) -> None:
        """Fold anew what came after a moment.

        Args:
            since: what has changed concerns readings after this. [s]
            late: rows that take their place among them.
        """
        self._picture = None
        stood = [one for one in self._stood if one.time < since]
        if not stood and self._readings.passed:
            self.asks_all = True
            return
        place = stood[-1].rows - self._readings.passed if stood else 0
        rows = self._readings.as_rows(place)
        readings = self._readings.head(place)
        self._begin()
        if stood:
            self._readings, self._stood = readings, tuple(stood)
            self._go_on_from(stood[-1])
        self._fold(rows if late is None else in_time_order(joined_rows([rows, late])))

    def _go_on_from(self, stood: Stood) -> None:
        self._last, folds = stood.folds()
        self.__dict__ |= folds
        self._telling = self._telling.with_marks(self.marks, stood.time)
        self._alarms = self._alarms.with_marks(self.marks)
        self._live_told = stood.time

    def _fold(self, rows: Rows) -> None:
        """Take rows as the gauges showed them."""
        at = 0
        try:
            while at < len(rows):
                until = min(len(rows), at + STRIDE - self.rows % STRIDE)
                whole = until - at == len(rows)
                self._fold_some(rows if whole else picked(rows, np.arange(at, until)))
                at = until
                if self.rows % STRIDE == 0 and not self._keeps_all:
                    assert self._last is not None
                    told = {name: getattr(self, name) for name in (*_FOLDS, "_has")}
                    self._stood = (*self._stood, Stood.of(self.rows, self._last, told))
        except OldRowsNeededError:
            self.asks_all = True
            return
        while len(self._stood) > 1 and self.rows - self._stood[1].rows >= KEPT:
            self._stood = self._stood[1:]
        if self._stood and self._stood[0].rows - self._readings.passed >= STRIDE:
            self._let_go(self._stood[0].rows)

    def _let_go(self, rows: int) -> None:
        """Keep of the rows before this many only what tells."""
        told = self._phases.told
        spans = told.spans
        begins = [
            span.start
            for before, span in zip((None, *spans), spans, strict=False)
            if before is None or before.name != span.name
        ]
        zeros = (told.zero_first_stage, told.zero_consolidation, told.zero_strain)
        telling = (
            *begins,
            *(span.start for span in spans[-8:]),
            *(zero.time for zero in zeros if zero is not None),
        )
        self._readings = self._readings.without(rows - self._readings.passed - _BEFORE, telling)

    def _fold_some(self, rows: Rows) -> None:
        rows, shown = self._rebasing.take(rows)
        if rows.stamps is not None:
            shown = shown | {"time": rows.stamps}
        self._readings = self._readings.grown(rows, shown)
        telling, alarms = self._telling, self._alarms
        jumps = telling.jumps_in(rows)
        gauges = {name: column.tolist() for name, column in shown.items()}
        for place, (reading, jumped) in enumerate(zip(each(rows), jumps, strict=True)):
            if self._judges and self._lives and self._live_told < self._lives[-1].time:
                self._tell_lives(reading.time)
            telling.add(reading, may_be_spike=jumped)
            if self._judges:
                own = {name: column[place] for name, column in gauges.items()} if gauges else {}
                alarms.add(reading, telling, own)
            self._last = reading
        self._has |= {
            name for name, column in rows.channels.items() if not bool(np.isnan(column).all())
        }
        phases = telling.phases
        self._curves.follow(self._readings, phases, lambda: self._before("_curves"))
        self._slots.height_mm = self._curves.consolidated.height_mm
        self._slots.follow(self._readings, phases, lambda: self._before("_slots"))

    def _tell_lives(self, before: float) -> None:
        """Live rows tell the alarms between the rows of the log; none older than the last row."""
        since = max(self._live_told, -math.inf if self._last is None else self._last.time)
        for live in self._lives:
            if since < live.time < before and self._last is not None:
                row = self._rebasing.live(live)
                values: dict[str, Any] = {n: row.values.get(n, math.nan) for n in LIVE_TELLS}
                reading = Reading(live.time)._replace(**values)
                self._alarms.add(reading, self._telling, live.values, live=True)
                self._live_told = live.time

    def _before(self, fold: str) -> Any:
        """How a fold stood before the rows that are kept."""
        return self._stood[0].folds()[1][fold] if self._readings.passed else None

    def record(self) -> "Record":
        """The test so far, ready to be reduced; for a fold that keeps all rows."""
        assert not self._readings.passed
        from tui.bench.record import record_of  # noqa: PLC0415 (one look reduces nothing)

        moved = moved_words(self._rebasing.moves, self._rebasing.untold, self._zone)
        return record_of(
            self.name, self.settings, self._readings, self._phases, self._checks.all, moved
        )

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What the feed could not use of this cell's logs."""
        return self._feed_problems
