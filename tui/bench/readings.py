"""All readings of one cell in time order: columns that only ever grow at their end.

Where a gauge's zero moved the columns go on as if it had not; what the gauge showed is kept beside.

A value shares its columns with the value it grew from: growing costs the same at row 1,000 and at
row 600,000, and the older value still sees exactly its own rows.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tui.feed.rows import Column, Rows
from tui.settings.cell_toml import NUMERIC_CHANNELS, TEXT_CHANNELS

NAN = float("nan")


class Reading(NamedTuple):
    """One row, in internal units; NaN where a channel has no reading."""

    time: float
    cell_pressure: float = NAN
    back_pressure: float = NAN
    pore_pressure: float = NAN
    back_volume: float = NAN
    cell_volume: float = NAN
    axial_displacement: float = NAN
    axial_load: float = NAN
    temperature: float = NAN
    phase: str | None = None
    drainage: str | None = None


assert Reading._fields == ("time", *NUMERIC_CHANNELS, *TEXT_CHANNELS)

_PLACES = {name: place for place, name in enumerate(NUMERIC_CHANNELS, start=1)}


class _Columns:
    """The shared buffers; `filled` is how far the newest value has written."""

    def __init__(self, capacity: int) -> None:
        self.numbers = np.full((1 + len(NUMERIC_CHANNELS), capacity), NAN)
        self.words: tuple[list[str | None], ...] = tuple([] for _ in TEXT_CHANNELS)
        self.shown: dict[str, Column] = {}
        """What the gauges showed, of channels whose zero has moved."""
        self.filled = 0


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A growing table of readings; the first `length` rows of its columns are its own."""

    length: int
    _columns: _Columns

    @staticmethod
    def empty() -> "Readings":
        """No rows yet."""
        return Readings(0, _Columns(256))

    def grown(self, rows: Rows, shown: Mapping[str, Column] | None = None) -> "Readings":
        """This table with rows added at its end; they must not be older than its last.

        Args:
            rows: with columns that go on from those before.
            shown: what the gauges showed, where that differs. (n,) each
        """
        count = len(rows)
        columns = self._columns
        if columns.filled != self.length or self.length + count > columns.numbers.shape[1]:
            columns = self._moved(max(256, 2 * (self.length + count)))
        span = slice(self.length, self.length + count)
        columns.numbers[0, span] = rows.times
        for name, place in _PLACES.items():
            if name in rows.channels:
                columns.numbers[place, span] = rows.channels[name]
        for name, column in zip(TEXT_CHANNELS, columns.words, strict=True):
            column.extend(rows.words.get(name, (None,) * count))
        new = [name for name in shown or () if name not in columns.shown]
        if new:  # another dictionary: a checkpoint may be reading this one
            beside = {name: columns.numbers[_PLACES[name]].copy() for name in new}
            columns.shown = columns.shown | beside
        for name, kept in columns.shown.items():
            given = (shown or {}).get(name, rows.channels.get(name))
            kept[span] = NAN if given is None else given
        columns.filled = self.length + count
        return Readings(columns.filled, columns)

    def __reduce__(self) -> tuple[Any, ...]:
        """For a checkpoint: its own rows, not the room that is kept for more."""
        words = tuple(column[: self.length] for column in self._columns.words)
        kept = tuple(column if any(column) else [] for column in words)
        shown = {name: one[: self.length].copy() for name, one in self._columns.shown.items()}
        return readings_of, (self._columns.numbers[:, : self.length].copy(), kept, shown)

    def _moved(self, capacity: int) -> _Columns:
        columns = _Columns(capacity)
        columns.numbers[:, : self.length] = self._columns.numbers[:, : self.length]
        for target, source in zip(columns.words, self._columns.words, strict=True):
            target.extend(source[: self.length])
        columns.shown = {
            name: _with_room(one[: self.length], capacity)
            for name, one in self._columns.shown.items()
        }
        return columns

    @property
    def times(self) -> Column:
        """(n,) seconds since the epoch; a view, not to be written."""
        return self._columns.numbers[0, : self.length]

    def at(self, index: int) -> Reading:
        """One row."""
        numbers = self._columns.numbers[:, index].tolist()
        return Reading(*numbers, *(column[index] for column in self._columns.words))

    def shown_at(self, index: int) -> Reading:
        """One row as the gauges showed it."""
        kept: dict[str, Any] = {n: float(one[index]) for n, one in self._columns.shown.items()}
        return self.at(index)._replace(**kept)

    def as_columns(self) -> dict[str, Column]:
        """Every numeric channel, (n,) each; views, not to be written."""
        numbers = self._columns.numbers[1:, : self.length]
        return dict(zip(NUMERIC_CHANNELS, numbers, strict=True))

    def as_shown(self) -> dict[str, Column]:
        """The same as the gauges showed it."""
        kept = {name: one[: self.length] for name, one in self._columns.shown.items()}
        return self.as_columns() | kept

    def as_rows(self) -> Rows:
        """All of it as one batch, as the gauges showed it (views of the columns)."""
        return Rows(
            self.times,
            self.as_shown(),
            {
                name: tuple(column[: self.length])
                for name, column in zip(TEXT_CHANNELS, self._columns.words, strict=True)
            },
        )


def readings_of(
    numbers: NDArray[np.float64],
    words: tuple[list[str | None], ...],
    shown: Mapping[str, Column],
) -> Readings:
    """A table from its columns; words that were never said may be left out.

    Args:
        numbers: (1 + channels, n) times and channels.
        words: n each, or none.
        shown: what the gauges showed, of channels whose zero has moved. (n,) each
    """
    length = numbers.shape[1]
    columns = _Columns(max(256, length))
    columns.numbers[:, :length] = numbers
    for column, known in zip(columns.words, words, strict=True):
        column.extend(known or [None] * length)
    capacity = columns.numbers.shape[1]
    columns.shown = {name: _with_room(one, capacity) for name, one in shown.items()}
    columns.filled = length
    return Readings(length, columns)


def _with_room(column: Column, capacity: int) -> Column:
    wide = np.full(capacity, NAN)
    wide[: len(column)] = column
    return wide


def each(rows: Rows) -> Iterator[Reading]:
    """The batch row by row, for the folds."""
    count = len(rows)
    blank = [NAN] * count
    numbers = [
        rows.channels[name].tolist() if name in rows.channels else blank
        for name in NUMERIC_CHANNELS
    ]
    words = [rows.words.get(name, (None,) * count) for name in TEXT_CHANNELS]
    return map(Reading._make, zip(rows.times.tolist(), *numbers, *words, strict=True))


def in_time_order(rows: Rows) -> Rows:
    """The batch sorted by time; rows of one time keep their order."""
    if len(rows) < 2 or bool(np.all(np.diff(rows.times) >= 0)):
        return rows
    return picked(rows, np.argsort(rows.times, kind="stable"))


def picked(rows: Rows, index: NDArray[Any]) -> Rows:
    """The rows that a mask or a list of positions picks, in its order."""
    places = np.arange(len(rows))[index].tolist()
    return Rows(
        rows.times[index],
        {name: column[index] for name, column in rows.channels.items()},
        {name: tuple(column[i] for i in places) for name, column in rows.words.items()},
    )


def joined(first: Rows, second: Rows) -> Rows:
    """Two batches as one, in the order given."""
    names = set(first.channels) | set(second.channels)
    words = set(first.words) | set(second.words)

    def column(rows: Rows, name: str) -> Column:
        return rows.channels.get(name, np.full(len(rows), NAN))

    def text(rows: Rows, name: str) -> tuple[str | None, ...]:
        return rows.words.get(name, (None,) * len(rows))

    return Rows(
        np.concatenate([first.times, second.times]),
        {name: np.concatenate([column(first, name), column(second, name)]) for name in names},
        {name: text(first, name) + text(second, name) for name in words},
    )
