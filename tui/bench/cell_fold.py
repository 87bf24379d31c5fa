"""One cell folded from its readings: what `advance` carries from look to look.

The folds take rows one by one, on the readings' own time, so that the same readings give the
same history at any chunking. What is asked of the forecasts is asked once per arrival.

Of a long log only the newest rows are kept, and how the folds stood before them: late rows and
marks begin there. What rests on rows before those asks for all rows once more.
"""

import copy
import math
from dataclasses import dataclass, replace
from datetime import tzinfo
from math import isnan
from typing import TYPE_CHECKING, Any

import numpy as np

from reduce.errors import ReductionError
from reduce.forecast import ConsolidationForecast, saturation_curve
from tui.bench.aims import aims_of
from tui.bench.alarms import NOT_JUDGED
from tui.bench.checks import Checks
from tui.bench.curves import Curves
from tui.bench.doubts import doubts
from tui.bench.frozen import packed, unpacked
from tui.bench.gauges import at_an_end
from tui.bench.hands import hands
from tui.bench.lanes import lane
from tui.bench.live import is_newer, newest
from tui.bench.phases import Mark, Phases
from tui.bench.picture import BCheck, Cell, Live, Phase, Projection, Quantities
from tui.bench.plots import plots
from tui.bench.projections import (
    degree_now,
    fit_consolidation,
    project_consolidation,
    project_saturation,
    project_shear,
    untold,
)
from tui.bench.readings import (
    NAN,
    OldRowsNeededError,
    Reading,
    Readings,
    each,
    in_time_order,
    picked,
)
from tui.bench.rebasing import Rebasing
from tui.bench.slots import Slots, next_row_by
from tui.bench.telling import Telling
from tui.bench.zero_words import moved_problems, moved_words
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
_FOLDS = ("_rebasing", "_telling", "_curves", "_slots")


@dataclass(frozen=True, slots=True, eq=False)
class _Stood:
    """How the folds stood at some row."""

    rows: int
    time: float
    """Of that row. [s]"""
    _packed: bytes

    @staticmethod
    def of(rows: int, last: Reading, folds: dict[str, Any]) -> "_Stood":
        """As they stand; they are packed, because they are seldom asked for."""
        return _Stood(rows, last.time, packed((last, folds)))

    def folds(self) -> tuple[Reading, dict[str, Any]]:
        """The reading at which they stood, and the folds."""
        last, folds = unpacked(self._packed)
        return last, folds


class CellFold:
    """A cell whose settings could be read."""

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
        """
        self.name, self.folder, self.settings = name, folder, settings
        self.marks, self.rebases = marks, rebases
        self._zone = zone
        test = settings.test
        self._started = -math.inf if test.started is None else moment_s(test.started, zone)
        self._ended = math.inf if test.ended is None else moment_s(test.ended, zone)
        self._keeps_all = keeps_all
        self._readings = Readings.empty()
        self._live: LiveRow | None = None
        self._unused = 0
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
        self._row_by: float | None = None
        self._at_an_end: tuple[str, ...] = ()
        self._moved: tuple[Problem, ...] = ()
        self._begin()

    def _begin(self) -> None:
        """Forget what was folded."""
        settings = self.settings
        self._readings = Readings.empty()
        self._stood: tuple[_Stood, ...] = ()
        self._rebasing = Rebasing(settings, self.rebases)
        self._telling = Telling(aims_of(settings), self.marks)
        self._curves = Curves(settings)
        self._slots = Slots(settings.schedule, settings.log.rows, settings.specimen.height_mm)
        self._last: Reading | None = None
        self._fit: ConsolidationForecast | None = None
        self._pace: float | None = None
        self._has: frozenset[str] = frozenset()

    def copy(self) -> "CellFold":
        """An independent fold in the same state."""
        other = copy.copy(self)
        other.__dict__ |= self._copies()
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

    def with_acts(self, marks: tuple[Mark, ...], rebases: tuple[Rebase, ...] = ()) -> "CellFold":
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

    def take(self, arrivals: Arrivals) -> "CellFold":
        """A fold with what has arrived."""
        other = self.copy()
        if arrivals.restart:
            other._gathered, other.asks_all = [], False
            other._live, other._unused = None, 0
        other._more = arrivals.more
        if arrivals.problems is not None:
            other._feed_problems = arrivals.problems
        other._unused += len(arrivals.unused)
        if arrivals.live is not None:
            other._live = arrivals.live
        rows = self._of_test(arrivals)
        if other._gathered is not None:
            other._gather(rows, more=arrivals.more)
        elif rows is not None and not other.asks_all:
            other._take_rows(in_time_order(rows))
        if other._gathered is None:
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

    def _go_on_from(self, stood: _Stood) -> None:
        self._last, folds = stood.folds()
        self.__dict__ |= folds
        self._telling = self._telling.with_marks(self.marks, stood.time)

    def _fold(self, rows: Rows) -> None:
        """Take rows as the gauges showed them."""
        at = 0
        try:
            while at < len(rows):
                until = min(len(rows), at + STRIDE - self.rows % STRIDE)
                self._fold_some(picked(rows, np.arange(at, until)))
                at = until
                if self.rows % STRIDE == 0 and not self._keeps_all:
                    assert self._last is not None
                    told = {name: getattr(self, name) for name in (*_FOLDS, "_has")}
                    self._stood = (*self._stood, _Stood.of(self.rows, self._last, told))
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
        telling = self._telling
        jumps = telling.jumps_in(rows)
        for reading, jumped in zip(each(rows), jumps, strict=True):
            telling.add(reading, may_be_spike=jumped)
        self._last = reading
        self._has |= {
            name for name, column in rows.channels.items() if not bool(np.isnan(column).all())
        }
        phases = telling.phases
        self._curves.follow(self._readings, phases, lambda: self._before("_curves"))
        self._slots.height_mm = self._curves.consolidated.height_mm
        self._slots.follow(self._readings, phases, lambda: self._before("_slots"))

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

    def picture(self, now: float, settings_problems: tuple[Problem, ...]) -> Cell:
        """The cell as it stands; the same value as before when nothing shown has changed."""
        if self._picture is None:
            self._picture = self._drawn(now)
            self._row_by = self._next_row_by()
            self._at_an_end = at_an_end(self._shown(), self._curves.ends)
            self._moved = moved_problems(
                self._rebasing.moves, self._rebasing.untold, self._zone, self.name, self.folder
            )
        cell = self._picture
        own = self._being_read() or doubts(
            self.folder,
            self._last,
            self._phases,
            self._has,
            now,
            self.settings.test.kind,
            self._row_by,
            self._at_an_end,
        )
        problems = (*settings_problems, *self._feed_problems, *own, *self._moved)
        schedule = self._slots.count(self._readings, now, self._pace)
        if schedule != cell.schedule or problems != cell.problems:
            cell = replace(cell, schedule=schedule, problems=problems)
        self._picture = cell
        mark = self._phases.marked_since(now)
        return cell if mark is None else _as_marked(cell, mark)

    def _being_read(self) -> tuple[Problem, ...]:
        """Said instead of doubts: what is not read yet is neither silent nor missing."""
        if self.is_whole and not self._more:
            return ()
        what = "its logs are being read; what is shown is as of then"
        if not self.is_whole:
            what = "its logs are being read once more; what is shown is as before"
        return (Problem("note", what, "wait a moment", self.folder),)

    def _drawn(self, now: float) -> Cell:
        phase = self._phases.phase
        settings = self.settings
        base = Cell(
            cell=self.name,
            folder=self.folder,
            test_id=settings.test.id,
            specimen=settings.specimen.label,
            test=settings.test.kind,
            blind=NOT_JUDGED,
            rows_used=self._readings.total,
            rows_unused=self._unused,
            live=self._newest(phase),
        )
        if phase is None or self._last is None:
            return base
        checks = self._checks.all
        # Asked at the newest reading, not at the look: every view projects the same.
        projection, curve = self._project(phase, checks, self._last.time)
        fit = self._fit
        schedule = self._slots.count(self._readings, now, self._pace)
        return replace(
            base,
            phase=phase,
            spans=self._phases.spans,
            checks=checks,
            quantities=self._quantities(phase, checks),
            projection=projection,
            schedule=schedule,
            lane=lane(
                settings,
                self._phases,
                checks,
                self._curves,
                None if fit is None or fit.v100 is None else (fit.v0 or 0.0, fit.v100),
            ),
            plots=plots(settings, phase, checks, self._curves, fit, curve),
            hands=hands(self.name, settings, phase, checks, projection, schedule),
        )

    def _shown(self) -> Reading:
        """The newest reading as the gauges showed it."""
        rows = self._readings.length
        return self._readings.shown_at(rows - 1) if rows else Reading(NAN)

    def _newest(self, phase: Phase | None) -> Live | None:
        live, gauge_ml = self._live, self._shown().back_volume
        if live is not None and is_newer(live, self._last):
            gauge_ml = live.values.get("back_volume", NAN)
            live = self._rebasing.live(live)
        return newest(
            self._last, live, self._gauge, gauge_ml=gauge_ml, drainage_open=self._drains(phase)
        )

    def _project(
        self, phase: Phase, checks: tuple[BCheck, ...], now: float
    ) -> tuple[Projection, tuple[tuple[float, float], ...]]:
        """The projection of the phase, and the curve that B is expected to follow."""
        settings, curves = self.settings, self._curves
        curve: tuple[tuple[float, float], ...] = ()
        try:
            if checks and settings.test.kind != "UU":
                curve = saturation_curve(
                    [c.back_pressure_kPa for c in checks if c.back_pressure_kPa is not None],
                    [c.B for c in checks if c.back_pressure_kPa is not None],
                )
            if curves.zero_consolidation is not None and phase.name != "setup":
                self._fit = fit_consolidation(settings, curves, now)
            self._pace = None
            if phase.name == "saturation":
                return project_saturation(settings, checks, now), curve
            if phase.name == "consolidation":
                return project_consolidation(settings, phase, curves, self._fit, now), curve
            if phase.name == "shear":
                projection, self._pace = project_shear(settings, curves, now)
                return projection, curve
        except ReductionError as error:
            return untold("next phase", f"cannot say: {error}"), curve
        ends = {
            "setup": ("saturation", "set-up goes on until somebody raises back pressure"),
            "ended": ("dismantling", "the test has ended"),
            "interrupted": ("going on", "the test is interrupted"),
        }
        return untold(*ends[phase.name]), curve

    def _next_row_by(self) -> float | None:
        """When silence begins to be worth a word; never after the test has ended. [s]"""
        phase = self._phases.phase
        if phase is None or phase.name == "ended":
            return None
        newest = None if self._live is None else self._live.time
        due = self._slots.due_after_last(self._readings, self._pace)
        by = next_row_by(self._readings, due)
        return by if by is None or newest is None else max(by, newest + 300.0)

    def _drains(self, phase: Phase | None) -> bool:
        """Whether the specimen drains now: by the log's word, else by phase and step."""
        if self._last is not None and self._last.drainage is not None:
            return self._last.drainage == "open"
        if phase is None:
            return False
        drained_shear = phase.name == "shear" and self.settings.test.kind == "CD"
        return drained_shear or phase.step in ("hold", "drained")

    def _quantities(self, phase: Phase, checks: tuple[BCheck, ...]) -> Quantities:
        finished = [check for check in checks if check.finished]
        found = Quantities(B=finished[-1].B if finished else None)
        curves = self._curves
        if phase.name == "consolidation" and curves.zero_consolidation is not None:
            degree = None if self._fit is None else degree_now(self._fit, curves.volume.last)
            return replace(found, U=degree, volumetric_strain=curves.strain_since_set_up)
        if phase.name == "shear" and curves.newest_shear is not None:
            strain_now, deviator, volumetric = curves.newest_shear
            return replace(
                found,
                axial_strain=_known(strain_now),
                deviator_kPa=_known(deviator),
                volumetric_strain=_known(volumetric) if self.settings.test.kind == "CD" else None,
            )
        return found


def _as_marked(cell: Cell, mark: Mark) -> Cell:
    """What a person has said holds at once; what follows from it waits for its first reading."""
    before = cell.phase.name if cell.phase else None
    phase = Phase(mark.phase, mark.step, mark.held_at, mark.held_at, before, "marks")
    waits = untold(f"{mark.phase} as marked", "no reading since the mark yet")
    return replace(cell, phase=phase, schedule=None, projection=waits, hands=())


def _known(value: float) -> float | None:
    return value if not isnan(value) else None
