"""The readings of one cell in time order: the newest exactly, of those before only what tells.

Where a gauge's zero moved the columns go on as if it had not; what the gauge showed is kept beside.

A value shares its columns with the value it grew from: growing costs the same at row 1,000 and at
row 600,000, and the older value still sees exactly its own rows.
"""

from collections.abc import Iterable, Iterator, Mapping
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


class OldRowsNeededError(Exception):
    """Something rests on rows that are no longer kept: the logs have to be read again."""


class _Columns:
    """The shared buffers; `filled` is how far the newest value has written."""

    def __init__(self, capacity: int) -> None:
        self.times = np.full(capacity, NAN)
        self.blank = np.full(capacity, NAN)
        """For channels that have shown nothing; not to be written."""
        self.channels: dict[str, Column] = {}
        """Of channels that have shown something; NaN where they have not."""
        self.shown: dict[str, Column] = {}
        """What the gauges showed, of channels whose zero has moved; "time" of a clock's."""
        self.words: dict[str, list[str | None]] = {}
        self.filled = 0


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A growing table of readings; the first `length` rows of its columns are its own."""

    length: int
    """Rows that are kept."""
    _columns: _Columns
    passed: int = 0
    """Rows that are not kept any more."""
    exact_from: float = -np.inf
    """From this moment on every row is kept; of those before, some that tell. [s]"""

    @staticmethod
    def empty() -> "Readings":
        """No rows yet."""
        return Readings(0, _Columns(256))

    @property
    def total(self) -> int:
        """All rows that ever came."""
        return self.passed + self.length

    def grown(self, rows: Rows, shown: Mapping[str, Column] | None = None) -> "Readings":
        """This table with rows added at its end; they must not be older than its last.

        Args:
            rows: with columns that go on from those before.
            shown: what the gauges showed, where that differs. (n,) each
        """
        count = len(rows)
        columns = self._columns
        capacity = len(columns.times)
        if columns.filled != self.length or self.length + count > capacity:
            capacity = max(256, 2 * (self.length + count))
            columns = self._with_rows(np.arange(self.length), capacity)
        span = slice(self.length, self.length + count)
        columns.times[span] = rows.times
        # New dictionaries, not new keys: a checkpoint may be reading the old ones.
        new = [
            name
            for name, column in rows.channels.items()
            if name not in columns.channels and not bool(np.isnan(column).all())
        ]
        if new:
            columns.channels = columns.channels | {name: np.full(capacity, NAN) for name in new}
        for name, kept in columns.channels.items():
            kept[span] = rows.channels.get(name, NAN)
        self._add_words(columns, rows)
        moved = [name for name in shown or () if name not in columns.shown]
        if moved:
            blank = np.full(capacity, NAN)
            before = {"time": columns.times} | columns.channels
            columns.shown = columns.shown | {name: before.get(name, blank).copy() for name in moved}
        as_they_are = {"time": rows.times} | rows.channels
        for name, kept in columns.shown.items():
            given = (shown or {}).get(name, as_they_are.get(name))
            kept[span] = NAN if given is None else given
        columns.filled = self.length + count
        return Readings(columns.filled, columns, self.passed, self.exact_from)

    def _add_words(self, columns: _Columns, rows: Rows) -> None:
        for name, words in rows.words.items():
            if name not in columns.words and any(words):
                columns.words = columns.words | {name: [None] * self.length}
        for name, kept in columns.words.items():
            kept.extend(rows.words.get(name, (None,) * len(rows)))

    def head(self, length: int) -> "Readings":
        """Its first rows."""
        return Readings(length, self._columns, self.passed, self.exact_from)

    def without(self, before: int, telling: Iterable[float]) -> "Readings":
        """This table without its rows before an index, but for those that tell.

        Of every moment that tells stay the rows beside it, and of every channel the readings
        beside it.

        Args:
            before: index of the first row from which on every row stays.
            telling: moments, such as the begin of a phase. [s]
        """
        times = self.times
        stay = {0, *range(before, self.length)}
        known = [np.flatnonzero(np.isfinite(column)) for column in self.as_shown().values()]
        for moment in telling:
            place = int(np.searchsorted(times, moment))
            stay.update(range(max(0, place - _BESIDE), min(place + _BESIDE, self.length)))
            for rows in known:
                at = int(np.searchsorted(rows, place))
                stay.update(rows[max(0, at - 2) : at + 2].tolist())
        rows = np.array(sorted(stay), np.intp)
        columns = self._with_rows(rows, len(rows) + before)
        passed = self.passed + self.length - len(rows)
        return Readings(len(rows), columns, passed, float(times[before]))

    def __reduce__(self) -> tuple[Any, ...]:
        """For a checkpoint: its own rows, not the room that is kept for more."""
        columns = self._with_rows(np.arange(self.length), self.length)
        kept = (columns.times, columns.channels, columns.shown, columns.words)
        return readings_of, (*kept, self.passed, self.exact_from)

    def _with_rows(self, rows: NDArray[np.intp], capacity: int) -> _Columns:
        """New buffers with some of its rows."""
        old, new = self._columns, _Columns(capacity)
        new.times[: len(rows)] = old.times[rows]
        for source, target in ((old.channels, new.channels), (old.shown, new.shown)):
            for name, column in source.items():
                target[name] = np.full(capacity, NAN)
                target[name][: len(rows)] = column[rows]
        places = rows.tolist()
        new.words = {name: [said[place] for place in places] for name, said in old.words.items()}
        new.filled = len(rows)
        return new

    @property
    def times(self) -> Column:
        """(n,) seconds since the epoch; a view, not to be written."""
        return self._columns.times[: self.length]

    def at(self, index: int) -> Reading:
        """One row that is kept."""
        columns = self._columns
        found: dict[str, Any] = {name: float(one[index]) for name, one in columns.channels.items()}
        found |= {name: said[index] for name, said in columns.words.items()}
        return Reading(float(columns.times[index]), **found)

    def shown_at(self, index: int) -> Reading:
        """One row as the gauges showed it."""
        kept: dict[str, Any] = {n: float(one[index]) for n, one in self._columns.shown.items()}
        return self.at(index)._replace(**kept)

    @property
    def moved(self) -> bool:
        """Whether a gauge has shown something else than what its column goes on with."""
        return bool(self._columns.shown)

    def as_columns(self) -> dict[str, Column]:
        """Every numeric channel, (n,) each; views, not to be written."""
        blank, kept = self._columns.blank, self._columns.channels
        return {name: kept.get(name, blank)[: self.length] for name in NUMERIC_CHANNELS}

    def as_shown(self) -> dict[str, Column]:
        """The same as the gauges showed it."""
        shown = self._columns.shown
        kept = {name: one[: self.length] for name, one in shown.items() if name != "time"}
        return self.as_columns() | kept

    @property
    def stamps(self) -> Column | None:
        """(n,) seconds since the epoch as the logger stamped the rows; None: as `times`."""
        shown = self._columns.shown.get("time")
        return None if shown is None else shown[: self.length]

    def as_rows(self, since: int = 0) -> Rows:
        """The rows from an index on as one batch, as the gauges showed them."""
        words = self._columns.words
        blank = (None,) * (self.length - since)
        return Rows(
            self.times[since:],
            {name: column[since:] for name, column in self.as_shown().items()},
            {
                name: tuple(words[name][since : self.length]) if name in words else blank
                for name in TEXT_CHANNELS
            },
            None if self.stamps is None else self.stamps[since:],
        )


_BESIDE = 4
"""Rows that stay on either side of a moment that tells."""


def readings_of(
    times: Column,
    channels: Mapping[str, Column],
    shown: Mapping[str, Column],
    words: Mapping[str, list[str | None]],
    passed: int,
    exact_from: float,
) -> Readings:
    """A table from its columns, as `Readings.__reduce__` gives them."""
    columns = _Columns(0)
    columns.times, columns.channels, columns.shown = times, dict(channels), dict(shown)
    columns.blank = np.full(len(times), NAN)
    columns.words, columns.filled = dict(words), len(times)
    return Readings(len(times), columns, passed, exact_from)


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
        None if rows.stamps is None else rows.stamps[index],
    )
