"""A drawn test as a stage for faults: read at any moment, in any manner, folded up to any moment.

A test is simulated and folded once; each case goes on from a copy of the fold at its onset.
"""

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from random import Random

import numpy as np
from drawn import Case, draw
from numpy.typing import NDArray
from replayed import READING, settings_of

from reduce.rehearsal.readings import log_due_s, root_due_s, scheduled_times
from reduce.rehearsal.sensors import CHANNELS, sense, temperature
from tui.bench.cell_fold import CellFold
from tui.bench.picture import Cell
from tui.feed.rows import Arrivals, LiveRow, Rows
from tui.settings.cell_toml import CellToml, Log

Column = NDArray[np.float64]
MANNERS = ("steady 10 s", "steady 60 s", "scheduled", "scheduled, live")
LONGEST = 45_000
"""Rows of a stage; at ten seconds a longer test is read every minute instead."""
LIVE_S, LIVES = 60.0, 120
"""Pace of live rows, and how many of a case at most."""
_COUNTS = {"back_volume": 0.01, "axial_displacement": 0.001}
RANGES = {"cell_pressure": 2000.0, "back_pressure": 1500.0, "pore_pressure": 1500.0}
_UNITS = {
    "back_volume": "ml", "cell_volume": "ml", "axial_displacement": "mm", "axial_load": "N",
    "temperature": "degC",
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """One step of the test as it was carried out."""

    phase: str
    step: str
    act_s: float
    end_s: float

    @property
    def name(self) -> str:
        """Phase and step."""
        return f"{self.phase}/{self.step}"


@dataclass
class Rest:
    """What a logger writes from an onset on; faults change it in place."""

    seconds: Column
    """(n,) since the test began. [s]"""
    since: Column
    """(n,) since the onset. [s]"""
    values: dict[str, Column]
    """By channel, (n,) each."""
    live: NDArray[np.bool_]
    """(n,) which rows stand in the live file alone."""

    def keep(self, wanted: NDArray[np.bool_]) -> None:
        """Drop the rows that are not wanted."""
        self.seconds, self.since = self.seconds[wanted], self.since[wanted]
        self.live = self.live[wanted]
        self.values = {name: column[wanted] for name, column in self.values.items()}


@dataclass
class Stage:
    """One drawn test in one manner of reading."""

    case: Case
    manner: str
    worded: bool = False
    """Whether its log has a column that tells the phase."""
    narrow: Random | None = None
    """Draws gauges that come to their ends and schedules that are too short; None: all is ample."""
    _folds: list[tuple[int, CellFold]] = field(default_factory=list)

    @property
    def name(self) -> str:
        """For reports."""
        return f"seed {self.case.seed}, {self.manner}{', worded' * self.worded}"

    @cached_property
    def places(self) -> list[Place]:
        """Every step, in order."""
        run = self.case.run
        ends = [step.act_s for step in run.steps[1:]] + [run.end_s]
        return [
            Place(step.phase, step.step, step.act_s, end)
            for step, end in zip(run.steps, ends, strict=True)
        ]

    @cached_property
    def every_s(self) -> float | None:
        """Pace of steady rows; None: scheduled."""
        if self.manner.startswith("scheduled"):
            return None
        short = self.case.run.end_s / 10.0 <= LONGEST
        return 10.0 if self.manner == "steady 10 s" and short else 60.0

    @cached_property
    def clean_s(self) -> Column:
        """When the logger reads if nothing is wrong. (n,) [s since the test began]"""
        if self.every_s is None:
            return scheduled_times(self.case.run, READING)
        return np.arange(0.0, self.case.run.end_s, self.every_s)

    @cached_property
    def true_ends(self) -> dict[str, tuple[float, float]]:
        """Least and greatest true value of volume, travel and load."""
        trace = self.case.run.trace
        names = {
            "back_volume": "back_ml",
            "axial_displacement": "travel_mm",
            "axial_load": "load_N",
        }
        found = {}
        for channel, column in names.items():
            values = trace.at(column, trace.seconds)
            found[channel] = float(values.min()), float(values.max())
        return found

    @cached_property
    def crossings(self) -> dict[str, float]:
        """Of a narrow stage: which part of its course each gauge has left. [-]"""
        assert self.narrow is not None
        return {name: self.narrow.uniform(0.3, 0.9) for name in ("volume", "travel", "load")}

    @cached_property
    def settings(self) -> CellToml:
        """What the technician wrote, with ranges of all gauges."""
        settings, ends = settings_of(self.case), self.true_ends
        (low, high), (_, travel), (_, load) = (
            ends[name] for name in ("back_volume", "axial_displacement", "axial_load")
        )
        span, reach, most = high - low, 1.3 * travel + 5.0, 1.4 * load + 100.0
        stroke = (low - 0.3 * span - 5.0, high + 0.3 * span + 5.0)
        if self.narrow is not None:
            parts = self.crossings
            # Here each gauge is so near to its end that it is to be told.
            down = self.drained_ml(parts["volume"])
            stroke = (down - 0.05 / 0.95 * (stroke[1] - down), stroke[1])
            reach = (2.0 + parts["travel"] * travel) / 0.90
            most = max(parts["load"] * load, 20.0) / 0.90
        channels: dict[str, object] = {
            name: {"column": name, "unit": "kPa", "range": f"0 to {top:g} kPa"}
            for name, top in RANGES.items()
        }
        channels |= {name: {"column": name, "unit": unit} for name, unit in _UNITS.items()}
        channels["back_volume"] = {
            "column": "back_volume", "unit": "ml",
            "stroke": f"{stroke[0]:.4f} ml to {stroke[1]:.4f} ml",
        }  # fmt: skip
        channels["axial_displacement"] = {
            "column": "axial_displacement", "unit": "mm", "range": f"0 to {reach:.4f} mm",
        }  # fmt: skip
        channels["axial_load"] = {
            "column": "axial_load", "unit": "N", "range": f"0 to {most:.3f} N",
        }  # fmt: skip
        log: dict[str, object] = {
            "rows": "scheduled" if self.every_s is None else "steady", "channels": channels,
        }  # fmt: skip
        if self.manner.endswith("live"):
            log["live"] = "live.csv"
        return settings.model_copy(update={"log": Log.model_validate(log)})

    def drained_ml(self, part: float) -> float:
        """Back volume when this part of consolidation's time, on a log scale, has passed. [ml]"""
        place = next(one for one in self.places if one.step == "drained")
        long = place.end_s - place.act_s
        at = place.act_s + 30.0 * (long / 30.0) ** part
        return self.case.run.trace.one("back_ml", at)

    def read(self, seconds: Column, dice: Random, at: Column | None = None) -> dict[str, Column]:
        """What the gauges show.

        Args:
            seconds: (n,) when they are read. [s since the test began]
            dice: for the noise.
            at: (n,) how far the test has come by then; None: as planned. [s]
        """
        case = self.case
        at = seconds if at is None else at
        pad = dice.randrange(1, 2000)  # noise of its own for every case
        moments = np.concatenate([np.zeros(pad), at])
        hour = datetime.fromtimestamp(case.started, UTC).hour
        found = {
            name: column[pad:]
            for name, column in sense(case.run, moments, case.made, hour).values.items()
        }
        warmer = temperature(seconds, hour, case.made) - temperature(at, hour, case.made)
        found["temperature"] = found["temperature"] + warmer
        found["cell_volume"] = found["cell_volume"] - 1.6e-4 * case.plan.cell_water_ml * warmer
        opened = np.maximum(at - case.run.opened_s, 0.0)
        room = found["temperature"] - case.made.room_C
        found["back_volume"] = (
            found["back_volume"]
            - 0.003 * warmer
            - case.tube_ml * (1.0 - np.exp(-opened / 15.0))
            - case.warmth_ml_C * room
        )
        for name, count in _COUNTS.items():
            found[name] = np.round(found[name] / count) * count
        return {name: found[name] for name in CHANNELS}

    def read_at(self, onset_s: float, length_s: float, ends_s: float = np.inf) -> Column:
        """When the logger reads after an onset, if a step goes on beyond its end. (n,) [s]"""
        until = onset_s + length_s
        if self.every_s is not None:
            first = (onset_s // self.every_s + 1.0) * self.every_s
            return np.arange(first, until, self.every_s)
        own = self.clean_s[(self.clean_s > onset_s) & (self.clean_s <= min(ends_s, until))]
        if until <= ends_s:
            return np.asarray(own)
        steps = [step for step in self.case.run.steps if step.act_s <= onset_s]
        anchor = [step.act_s for step in steps if not step.continues][-1]
        last = float(own[-1]) if len(own) else onset_s
        pace = float(own[-1] - own[-2]) if len(own) > 1 else 300.0
        due = {
            "saturation": lambda: root_due_s(READING),
            "consolidation": lambda: log_due_s(READING),
        }.get(steps[-1].readings, lambda: [last + pace * k - anchor for k in range(1, 400)])()
        more = [round(anchor + s) for s in due if max(ends_s, onset_s) < anchor + s <= until]
        return np.concatenate([own, np.array(more, dtype=float)])

    def rest(
        self,
        onset_s: float,
        length_s: float,
        dice: Random,
        *,
        stands_s: float = np.inf,
        slower: float = 1.0,
    ) -> Rest:
        """The rows after an onset.

        Args:
            onset_s: since the test began. [s]
            length_s: so long. [s]
            dice: for the noise.
            stands_s: from here on nothing is done any more, and all stands still. [s]
            slower: the test takes its course by this factor slower from the onset on.
        """
        seconds = self.read_at(onset_s, length_s, stands_s if slower == 1.0 else np.inf)
        live = np.zeros(len(seconds), dtype=bool)
        if self.manner.endswith("live"):
            pace = max(LIVE_S, length_s / LIVES)
            between = np.arange(onset_s + 7.0, onset_s + length_s, pace)
            seconds, live = (
                np.concatenate([seconds, between]),
                np.concatenate([live, np.ones(len(between), dtype=bool)]),
            )
            order = np.argsort(seconds, kind="stable")
            seconds, live = seconds[order], live[order]
        at = np.minimum(onset_s + (seconds - onset_s) / slower, stands_s)
        return Rest(seconds, seconds - onset_s, self.read(seconds, dice, at), live)

    @cached_property
    def clean(self) -> Rows:
        """All rows, without a fault."""
        values = self.read(self.clean_s, Random(self.case.seed))
        return Rows(self.case.started + self.clean_s, values, self.words(self.clean_s))

    def words(self, seconds: Column) -> dict[str, tuple[str | None, ...]]:
        """The column that tells the phase, if the log has one."""
        if not self.worded:
            return {}
        acts = [place.act_s for place in self.places]
        told = [self.places[max(bisect_right(acts, s - 1e-6) - 1, 0)] for s in seconds.tolist()]
        return {"phase": tuple(p.name if p.step else p.phase for p in told)}

    def before(self, onset_s: float) -> CellFold:
        """The fold with all rows up to an onset."""
        rows = int(np.searchsorted(self.clean_s, onset_s, side="right"))
        if not self._folds:
            self._folds = [(0, CellFold("C1", "C1", self.settings, (), UTC))]
        at = bisect_right([one[0] for one in self._folds], rows) - 1
        number, fold = self._folds[at]
        while number < rows:
            until = min(rows, (number // 512 + 1) * 512)
            fold = fold.take(Arrivals("C1", part(self.clean, number, until)))
            number, at = until, at + 1
            self._folds.insert(at, (number, fold))
        return fold

    def look(self, seconds: float) -> Cell:
        """The picture at a moment, if nothing is wrong."""
        return self.before(seconds).picture(self.case.started + seconds, ())


def part(rows: Rows, start: int, stop: int) -> Rows:
    """Some of the rows."""
    span = slice(start, stop)
    return Rows(
        rows.times[span],
        {name: column[span] for name, column in rows.channels.items()},
        {name: words[span] for name, words in rows.words.items()},
    )


def fed(stage: Stage, fold: CellFold, rest: Rest, words_s: Column | None = None) -> CellFold:
    """The fold with rows behind it, log and live in the order in which they come.

    Args:
        stage: where they are read.
        fold: with all rows before.
        rest: the rows.
        words_s: (n,) by which moment of the test the log names the phase; None: the rows' own.
    """
    words = stage.words(rest.seconds if words_s is None else words_s)
    started = stage.case.started
    rows = Rows(started + rest.seconds, rest.values, words)
    edges = np.flatnonzero(np.diff(rest.live.astype(int)) != 0) + 1
    for begin, end in zip([0, *edges], [*edges, len(rest.seconds)], strict=True):
        if begin == end:
            continue
        if not rest.live[begin]:
            fold = fold.take(Arrivals("C1", part(rows, begin, end)))
            continue
        for row in range(begin, end):
            values = {n: float(c[row]) for n, c in rest.values.items() if not np.isnan(c[row])}
            live = LiveRow(started + float(rest.seconds[row]), values)
            fold = fold.take(Arrivals("C1", live=live))
    return fold


def stage_of(
    seed: int, manner: str, *, unseen: bool = False, worded: bool = False, narrow: bool = False
) -> Stage:
    """The test of a seed, in one manner of reading; its own faults are kept."""
    case = draw(seed, unseen=unseen)
    return Stage(
        replace(case, attended=None), manner, worded, Random(f"narrow {seed}") if narrow else None
    )
