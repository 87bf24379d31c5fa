"""Lines of one file into readings, and into reasons for every row or field that is not used."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tui.feed.batches import NOTHING, Batch, joined, timed_unused
from tui.feed.channels import Binding, Channels, bind
from tui.feed.clean_rows import CleanRows, Wanted, read_clean
from tui.feed.dialect import Dialect, Split, cut_line, is_units_line, splitter, trimmed
from tui.feed.fixed_times import beside, stamps_of
from tui.feed.gauges import channel_values
from tui.feed.letters import Block, Lines
from tui.feed.lines import BLANKS, LONGEST_LINE, too_long
from tui.feed.numbers import CUT, MISSING, NumberColumn, read_columns
from tui.feed.plain_text import plain, same_name
from tui.feed.rows import Column, Rows, UnusedRow
from tui.feed.times import TimeReader
from tui.feed.wall_time import all_plausible, plausible
from tui.settings.cell_toml import Log
from tui.settings.problems import Problem

TOO_LONG = "longer than 64 KiB"
_PERHAPS_LONG = LONGEST_LINE // 4
_MOST_WORDS = 1000
_UNKNOWN = "\0unknown"


@dataclass(slots=True)
class _Segment:
    """Lines between two headers."""

    texts: list[str]
    numbers: list[int]


class LogParser:
    """Reads the lines under the header of one file, in file order."""

    def __init__(
        self, dialect: Dialect, log: Log, channels: Channels, times: TimeReader, file: str
    ) -> None:
        self._log = log
        self._channels = channels
        self._times = times
        self._file = file
        self._split: Split = splitter(dialect.separator)
        self._banner_words = frozenset(filter(None, map(_leading_words, dialect.banner)))
        self._banner: list[str] = []
        self._expects_units = False
        self._words: dict[tuple[str, str], str | None] = {}
        self._phases = {same_name(word): phase for word, phase in log.phases.items()}
        self._use(dialect)
        self.newest: float | None = None
        """Time of the last row that was read. [s]"""

    def __getstate__(self) -> dict[str, Any]:
        """For a checkpoint; how a line is split follows from its separator."""
        state = self.__dict__.copy()
        del state["_split"]
        return state

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._split = splitter(self.dialect.separator)

    def _use(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.binding: Binding = bind(dialect, self._channels, self._file)
        self._columns = {index: NumberColumn(self._log.decimal) for index in self.binding.columns}
        self._time_names = [dialect.header[index] for index in dialect.time_columns]
        self._marker = next(filter(None, (*self._time_names, *dialect.header)))

    @property
    def decimal(self) -> str | None:
        """The decimal mark that the columns have shown."""
        marks = {column.decimal for column in self._columns.values() if column.decimal}
        return " and ".join(sorted(marks)) or None

    @property
    def time_form(self) -> str:
        """How the time column is written, in words."""
        return self._times.form

    def rename(self, file: str) -> None:
        """The file has another name now."""
        if file != self._file:
            self._file = file
            self.binding = bind(self.dialect, self._channels, file)

    def problems(self) -> list[Problem]:
        """What is wrong with columns and times now."""
        return [*self.binding.problems, *self._times.problems(self._file)]

    def parse(self, lines: Sequence[str], first: int, encoding: str = "utf-8") -> Batch:
        """Lines of the file in order → rows.

        Args:
            lines: whole ones, below the header.
            first: the number of the first of them, from 1.
            encoding: of the file, to tell lines that are too long.

        Raises:
            OrderTurnedError: day and month were assumed the wrong way round.
        """
        unused: list[UnusedRow] = []
        batches: list[Batch] = []
        segment = _Segment([], [])
        for number, line in enumerate(lines, first):
            text = cut_line(line, self.dialect.separator)
            if len(text) >= _PERHAPS_LONG and too_long(text, encoding):
                unused.append(UnusedRow(self._file, number, TOO_LONG))
                continue
            known = text in self.dialect.no_rows
            if self._times.wants_banner:
                self._gather(text, known=known)
            if self._expects_units and text.strip():
                self._expects_units = False
                known = known or is_units_line(self._split(text))
            header = self._header_in(text, known=known) if self._marker in text else None
            if header is not None:
                batches.append(self._read(segment, unused))
                segment = _Segment([], [])
                self._begin_again(header)
            elif not known and text.strip():
                segment.texts.append(text)
                segment.numbers.append(number)
        batches.append(self._read(segment, unused))
        whole = joined(batches)
        timed = timed_unused(unused, whole.lines, whole.rows.times, self.newest)
        self._follow(whole.rows.times)
        return Batch(whole.rows, whole.lines, whole.letters, timed, self._file)

    def parse_clean(self, block: bytes, first: int) -> Batch | None:
        """What `parse` gives for whole lines in which nothing is out of the ordinary; else None.

        Args:
            block: in UTF-8, below the header.
            first: the number of its first line, from 1.

        Raises:
            OrderTurnedError: day and month were assumed the wrong way round.
        """
        wanted = None if self._expects_units else self._wanted()
        clean = None if wanted is None else read_clean(block, wanted)
        times = None if clean is None else self._clean_times(clean)
        if clean is None or times is None or not all_plausible(times):
            return None
        self._banner.clear()
        self._follow(times)
        channels = {
            name: channel_values(gauges, clean.numbers)
            for name, gauges in self.binding.gauges.items()
        }
        words = {name: self._told(name, clean, at) for name, at in self.binding.words.items()}
        lines = np.arange(first, first + clean.count)
        blanks = BLANKS if self.dialect.separator == "\t" else BLANKS + "\t"
        return Batch(
            Rows(times, channels, words),
            lines,
            Block(block, clean.count, blanks),
            file=self._file,
        )

    def _follow(self, times: Column) -> None:
        if len(times):
            self.newest = float(times[-1])

    def _wanted(self) -> Wanted | None:
        """How a clean block is read; None where no block can be."""
        columns = dict(self._columns)
        where = self.dialect.time_columns
        if self._times.numbers is not None:
            if len(where) > 1 or where[0] in columns:
                return None
            columns[where[0]] = self._times.numbers
        marks = {column.decimal for column in columns.values() if column.decimal is not None}
        texts = () if self._times.numbers is not None else where
        if len(marks) > 1 or set(texts) & set(columns):
            return None
        return Wanted(
            self.dialect.separator,
            marks.pop() if marks else ".",
            frozenset(at for at, column in columns.items() if column.decimal is not None),
            frozenset(at for at, column in columns.items() if column.decimal is None),
            frozenset(texts),
            frozenset(self.binding.words.values()),
            len(self.dialect.header),
        )

    def _clean_times(self, clean: CleanRows) -> Column | None:
        where = self.dialect.time_columns
        if self._times.numbers is not None:
            return self._times.from_numbers(clean.numbers[where[0]])
        stamps = [stamps_of(clean.texts[at], clean.count) for at in where]
        whole = [one for one in stamps if one is not None]
        return self._times.read_stamps(beside(whole)) if len(whole) == len(stamps) else None

    def _told(self, name: str, clean: CleanRows, column: int) -> tuple[str | None, ...]:
        found: list[str | None] = []
        for words, places in clean.words[column]:
            told = [self._word(name, word) for word in words]
            found += [told[place] for place in places]
        return tuple(found)

    def _gather(self, text: str, *, known: bool) -> None:
        if known or self._is_banner(text):
            self._banner.append(text)
        elif text.strip():
            self._banner.clear()

    def _begin_again(self, header: Dialect) -> None:
        """The logger wrote its header again: another start, perhaps other columns."""
        self._times.new_banner(self._banner)
        self._banner.clear()
        if header is not self.dialect:
            self._use(header)
            self._expects_units = True

    def _header_in(self, text: str, *, known: bool) -> Dialect | None:
        """The header that a line in mid-file is: the columns below it are those that it names."""
        names = tuple(name.strip() for name in trimmed(self._split(text)))
        if names == self.dialect.header:
            return self.dialect
        others = {name for name in self.dialect.header if name not in self._time_names}
        if known or not all(name in names for name in self._time_names):
            return None
        if others and not any(name in others for name in names if name):
            return None
        return replace(
            self.dialect,
            header=names,
            units=(),
            no_rows=self.dialect.no_rows | {text},
            time_columns=tuple(names.index(name) for name in self._time_names),
        )

    def _fields(self, text: str) -> list[str] | str:
        """As many fields as there are columns, or why the line is no row."""
        width = len(self.dialect.header)
        fields = self._split(text)
        if len(fields) == width:
            return fields
        if len(fields) > width:
            fields = trimmed(fields)
            if len(fields) > width:
                return f"{len(fields)} fields under {width} columns"
        if len(fields) < width:
            if max(self.dialect.time_columns) >= len(fields) - 1:
                return f"missing fields: {len(fields)} of {width}"
            fields[-1] = CUT
            fields += [MISSING] * (width - len(fields))
        return fields

    def _read(self, segment: _Segment, unused: list[UnusedRow]) -> Batch:
        rows: list[list[str]] = []
        texts: list[str] = []
        numbers: list[int] = []
        for text, number in zip(segment.texts, segment.numbers, strict=True):
            fields = self._fields(text)
            if isinstance(fields, list):
                rows.append(fields)
                texts.append(text)
                numbers.append(number)
            elif not self._is_banner(text):
                unused.append(UnusedRow(self._file, number, fields))
        if not rows:
            return NOTHING
        when = [[row[index].strip() for row in rows] for index in self.dialect.time_columns]
        stamps = when[0] if len(when) == 1 else list(map(" ".join, zip(*when, strict=True)))
        times = self._times.read(stamps)
        if not all_plausible(times):
            good = plausible(times)
            for index in np.flatnonzero(~good):
                self._without_time(texts[index], stamps[index], numbers[index], unused)
            keep = np.flatnonzero(good).tolist()
            rows, texts = [rows[i] for i in keep], [texts[i] for i in keep]
            numbers, times = [numbers[i] for i in keep], times[good]
        if not rows:
            return NOTHING
        channels = self._numbers(rows, numbers, unused)
        words = {
            name: tuple(self._word(name, row[index]) for row in rows)
            for name, index in self.binding.words.items()
        }
        return Batch(Rows(times, channels, words), np.array(numbers, np.int64), Lines(texts))

    def _is_banner(self, text: str) -> bool:
        words = _leading_words(text)
        return bool(words) and words in self._banner_words

    def _without_time(self, text: str, stamp: str, number: int, unused: list[UnusedRow]) -> None:
        if self._is_banner(text):
            return
        reason = f'unreadable time "{plain(stamp, 40)}"' if stamp.strip() else "no time"
        unused.append(UnusedRow(self._file, number, reason))

    def _numbers(
        self, rows: list[list[str]], numbers: list[int], unused: list[UnusedRow]
    ) -> dict[str, Column]:
        texts = [[row[index] for row in rows] for index in self._columns]
        read = read_columns(tuple(self._columns.values()), texts)
        raw: dict[int, Column] = {}
        for index, (raw[index], faults) in zip(self._columns, read, strict=True):
            if faults:
                name = plain(self.dialect.header[index])
                unused += [UnusedRow(self._file, numbers[at], why, name) for at, why in faults]
        return {name: channel_values(gauges, raw) for name, gauges in self.binding.gauges.items()}

    def _word(self, channel: str, field: str) -> str | None:
        known = self._words.get((channel, field), _UNKNOWN)
        if known is not _UNKNOWN:
            return known
        word: str | None = None if field in (CUT, MISSING) else plain(field) or None
        if word is not None and channel == "phase":
            word = self._phases.get(same_name(word), word)
        if len(self._words) < _MOST_WORDS:
            self._words[channel, field] = word
        return word


def _leading_words(line: str) -> str:
    """What a banner line begins with when it comes again with another value: "Operator:"."""
    for mark in (":", "=", ";", "\t", ","):
        head, found, _ = line.partition(mark)
        if found and any(letter.isalpha() for letter in head):
            return same_name(head)
    return ""
