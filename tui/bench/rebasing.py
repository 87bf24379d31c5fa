"""Gauges whose zero moves while a test runs: refilled, exchanged, set to zero.

A volume gauge that jumps by more than its `refill` while pressures stand was refilled, at once or
over several readings; of any channel a person can say that a change was none (`porewatch rebase`).
From there on the channel goes on from the value before: phases, curves and reduction see one line,
and what the gauge showed is kept beside it. What flowed between the two readings is not known and
not counted; the pace before says how much that may be.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import isnan

import numpy as np
from numpy.typing import NDArray

from tui.bench.readings import NAN
from tui.bench.refills import Point
from tui.bench.rig import at_set_up
from tui.bench.twins import twin
from tui.bench.zeros import PACE_S, Rebase, Zero, ZeroMove
from tui.feed.rows import Column, LiveRow, Rows
from tui.journal.acts import Act
from tui.settings.cell_toml import CellToml
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.settings.resolved import ResolvedChannel, resolve_channels

VOLUMES = {"back_volume": 1, "cell_volume": -1}
"""Channels of volume gauges; 1 where they count what enters the specimen."""
NEAR_STROKE = 0.5
"""Without `refill` a jump over more of the stroke than this is worth a word. [-]"""
_BESIDE = ("cell_pressure", "back_pressure", "pore_pressure")

Resolved = Mapping[str, tuple[ResolvedChannel, ...]]


def rebases_of(acts: Iterable[Act], folder: str, test: str | None) -> tuple[Rebase, ...]:
    """What people have said of the channels of a cell's running test."""
    return tuple(
        Rebase(
            act.channel,
            act.held_at,
            act.held_at if act.until is None else max(act.until, act.held_at),
            act.reads,
            f"{act.who}: {act.text}" if act.text else act.who,
        )
        for act in acts
        if act.kind == "rebase"
        and act.cell == folder
        and act.test in (None, test)
        and act.channel in NUMERIC_CHANNELS
    )


class Rebasing:
    """All channels of one cell whose zero can move; the others pass as they are."""

    def __init__(self, settings: CellToml, rebases: tuple[Rebase, ...] = ()) -> None:
        """Nothing has been read.

        Args:
            settings: of the cell.
            rebases: what people have said of its channels.
        """
        resolved = resolve_channels(settings.log)
        found = {
            name: _zero(name, resolved, rebases, at_set_up(settings).volume_ml)
            for name in NUMERIC_CHANNELS
        }
        # In the order of the channels: pressures are put right before volumes are judged by them.
        self._zeros = {name: zero for name, zero in found.items() if zero is not None}
        self._judges = any(zero.threshold is not None for zero in self._zeros.values())
        self._beside = dict.fromkeys(_BESIDE, NAN)

    def copy(self) -> "Rebasing":
        """An independent fold in the same state."""
        other = twin(self)
        other._zeros = {name: zero.copy() for name, zero in self._zeros.items()}
        return other

    @property
    def moves(self) -> tuple[ZeroMove, ...]:
        """What has moved so far, or seems to have, in the order of time."""
        found = [move for zero in self._zeros.values() for move in zero.moves]
        return tuple(sorted(found, key=lambda move: move.at))

    @property
    def untold(self) -> int:
        """Moves beyond those that are kept to be told."""
        return sum(zero.untold for zero in self._zeros.values())

    def take(self, rows: Rows) -> tuple[Rows, dict[str, Column]]:
        """Rows that go on from those before, and what the gauges showed where that differs.

        Args:
            rows: in time order, not older than those before.
        """
        if not self._zeros or not len(rows):
            return rows, {}
        columns = dict(rows.channels)
        shown: dict[str, Column] = {}
        beside: _Beside | None = None
        for name, zero in self._zeros.items():
            if name not in rows.channels:
                continue
            if zero.threshold is not None and beside is None:
                beside = self._known_beside(columns, rows)
            goes_on = _followed(zero, rows.times, rows.channels[name], beside)
            if goes_on is not rows.channels[name]:
                columns[name], shown[name] = goes_on, rows.channels[name]
        if self._judges:
            beside = beside or self._known_beside(columns, rows)
            self._beside = {name: float(held[-1]) for name, held in beside.pressures.items()}
        return (replace(rows, channels=columns) if shown else rows), shown

    def _known_beside(self, columns: Mapping[str, Column], rows: Rows) -> "_Beside":
        count = len(rows)
        pressures = {name: _held(columns.get(name), self._beside[name], count) for name in _BESIDE}
        return _Beside(pressures, rows.words.get("drainage") or (None,) * count)

    def live(self, row: LiveRow) -> LiveRow:
        """The live row as the channels would go on with it; it leaves no trace."""
        if not self._zeros:
            return row
        columns = {name: np.array([value]) for name, value in row.values.items()}
        goes_on, _ = self.copy().take(Rows(np.array([row.time]), columns))
        values = {name: float(column[0]) for name, column in goes_on.channels.items()}
        return LiveRow(row.time, {name: one for name, one in values.items() if not isnan(one)})


@dataclass(frozen=True, slots=True)
class _Beside:
    """What is known beside each row: the last pressures read, the word for the valve."""

    pressures: dict[str, Column]
    drainage: tuple[str | None, ...]

    def point(self, index: int, time: float, volume: float) -> Point:
        cell, back, pore = (float(held[index]) for held in self.pressures.values())
        return Point(time, volume, cell, back, pore, self.drainage[index])


def _followed(zero: Zero, times: Column, shown: Column, beside: _Beside | None) -> Column:
    """The column that goes on; the same object where nothing is added to it."""

    def point(index: int) -> Point:
        time, volume = float(times[index]), float(shown[index])
        if beside is None:
            return Point(time, volume, NAN, NAN, NAN, None)
        return beside.point(index, time, volume)

    if not zero.calm(times, shown):
        goes_on = np.array([zero.add(point(index)) for index in range(len(times))])
        return shown if np.array_equal(goes_on, shown, equal_nan=True) else goes_on
    known = np.flatnonzero(np.isfinite(shown))
    zero.pass_over([point(index) for index in _telling(times, known, zero.paced_from)])
    return shown + zero.offset if zero.offset else shown


def _telling(times: Column, known: NDArray[np.intp], paced_from: float) -> list[int]:
    """Of the rows with a reading: the newest, the newest two of different times, one a minute."""
    later = np.flatnonzero(np.diff(times[known]) > 0)
    pair = known[later[-1] : later[-1] + 2] if len(later) else known[:1]
    minutes: list[int] = []
    at = int(np.searchsorted(times[known], paced_from + PACE_S))
    while at < len(known):
        minutes.append(int(known[at]))
        at = int(np.searchsorted(times[known], times[known[at]] + PACE_S))
    return sorted({*minutes, *pair.tolist(), *known[-1:].tolist()})


def _held(column: Column | None, before: float, count: int) -> Column:
    """The column with its gaps filled by the last value before them."""
    if column is None:
        return np.full(count, before)
    last = np.maximum.accumulate(np.where(np.isfinite(column), np.arange(count), -1))
    return np.where(last >= 0, column[last], before)


def _zero(
    name: str, resolved: Resolved, rebases: tuple[Rebase, ...], specimen_ml: float
) -> Zero | None:
    """What can move the zero of a channel; None where nothing can."""
    # One transducer has one zero, whichever of its channels was named.
    acts = [act for act in rebases if _source(act.channel, resolved) == _source(name, resolved)]
    threshold, refills = _threshold(resolved.get(name, ())) if name in VOLUMES else (None, False)
    if not acts and threshold is None:
        return None
    return Zero(
        name,
        tuple(sorted(acts, key=lambda act: act.until)),
        threshold,
        refills,
        VOLUMES.get(name, 1),
        specimen_ml,
        tells=threshold is not None or any(act.channel == name for act in acts),
        watched=_source("pore_pressure", resolved) != _source("back_pressure", resolved),
    )


def _source(channel: str, resolved: Resolved) -> str:
    own = resolved.get(channel, ())
    return (own[0].same_as if own else None) or channel


def _threshold(gauges: tuple[ResolvedChannel, ...]) -> tuple[float | None, bool]:
    """Above which a jump of a volume gauge is looked at, and whether it is put right. [ml]"""
    refills = [gauge.refill for gauge in gauges if gauge.refill is not None]
    if refills:
        return min(refills), True
    strokes = [
        gauge.stroke_high - gauge.stroke_low
        for gauge in gauges
        if gauge.stroke_low is not None and gauge.stroke_high is not None
    ]
    return (NEAR_STROKE * max(strokes), False) if strokes else (None, False)
