"""One log file: its bytes, its dialect, its rows, and what is wrong with it now."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from itertools import chain
from pathlib import Path
from typing import Any

from tui.feed.batches import Batch, joined
from tui.feed.blocks import Blocks
from tui.feed.channels import Channels, wanted_score
from tui.feed.clock_steps import ClockWatch
from tui.feed.dialect import SEARCHED, Dialect, find_dialect, listed, separators, splitter
from tui.feed.lines import (
    LONGEST_LINE,
    decode,
    first_line,
    has_first_line,
    line_end,
    sniff_encoding,
    whole_lines,
)
from tui.feed.moments import DateOrder
from tui.feed.parse import TOO_LONG, LogParser
from tui.feed.plain_text import plain
from tui.feed.rows import UnusedRow
from tui.feed.tail import Look, State, Tail
from tui.feed.times import TimeContext, make_reader
from tui.feed.understanding import describe
from tui.settings.cell_toml import Log
from tui.settings.problems import Problem

_FIRST_LOOK = 60
_FIRST_BYTES = 16 * 1024
"""Bytes in which the columns show how they are written."""
_TIME_REMEDY = (
    'name it: [log] time = { column = "…" }, with a format if it is unusual, or '
    'kind = "elapsed s" and a start if it counts from a start'
)


@dataclass(frozen=True, slots=True)
class LogRules:
    """How the files of one cell are read."""

    log: Log
    channels: Channels
    zone: tzinfo
    order: DateOrder

    @property
    def time_names(self) -> tuple[str, ...]:
        """The time columns that the settings name."""
        column = self.log.time.column
        return () if column is None else (column,) if isinstance(column, str) else column

    def find(self, lines: Sequence[str], *, needs_time: bool = True) -> Dialect | None:
        """The layout of a file that begins with these lines."""
        score = wanted_score(self.channels, self.time_names)
        return find_dialect(lines, self.log, score, needs_time=needs_time)

    def waits_for_rows(self, filled: Sequence[str]) -> bool:
        """Whether a file ends with a header (and units) that rows may come under."""
        score = wanted_score(self.channels, self.time_names)
        kinds = [splitter(separator) for separator in separators(self.log.separator)]
        return not filled or any(score(split(line)) for split in kinds for line in filled[-2:])

    def parser(
        self, dialect: Dialect, file: str, file_name: str, banner: Sequence[str] = ()
    ) -> LogParser | str:
        """What reads the rows of such a file, or in words why nothing can."""
        context = TimeContext(self.log.time, self.zone, self.order, file_name)
        fields = [dialect.first_row[index] for index in dialect.time_columns]
        times = make_reader(context, (*dialect.banner, *banner), fields)
        if isinstance(times, str):
            return times
        return LogParser(dialect, self.log, self.channels, times, file)


class LogFile:
    """Reads a file from where it stopped."""

    def __init__(self, path: Path, file: str, rules: LogRules) -> None:
        self.tail = Tail(path)
        self.file = file
        """Path relative to the bench, as messages name it."""
        self.first_time: float | None = None
        """Of its first row. [s]"""
        self.rows = 0
        """Rows read so far."""
        self.lines = 0
        """Lines read so far."""
        self.parser: LogParser | None = None
        self.state: State = "same"
        """Of the last look, see `tail.Look`."""
        self.edited = False
        """Whether the last look found what was read already changed, see `tail.Look`."""
        self.more = False
        """Whether it could be read on at once."""
        self.clock = ClockWatch(counts=rules.log.time.kind != "clock")
        """Follows its used rows."""
        self._rules = rules
        self._encoding: str | None = None
        self._ends = "\n"
        self._some_cp1252 = False
        self._skipping = False
        self._unfinished = False
        self._access: Problem | None = None
        self._trouble: Problem | None = None

    def read(self, *, thorough: bool) -> Batch | None:
        """The next rows; None if there are none (`state` and `more` say why and whether to ask).

        Raises:
            OrderTurnedError: day and month stand the other way round than was assumed.
        """
        look = self.tail.look(thorough=thorough)
        self.state, self.edited, self.more = look.state, look.edited, False
        self._access = self._access_problem(look)
        if look.state != "grown":
            if look.state == "same" and self.parser is None and self._trouble is None:
                self._wait([], more=False)
            return None
        return self._take(look.chunk, more=look.more)

    def _access_problem(self, look: Look) -> Problem | None:
        fate = f"; the {self.rows} rows read from it are kept" if self.rows else ""
        if look.state == "denied":
            return Problem(
                "warning" if self.rows else "error",
                f"{self.file} cannot be read: {plain(look.trouble)}{fate}",
                "make it readable for the account that runs porewatch; it is tried again",
                self.file,
            )
        if look.state in ("vanished", "empty"):
            gone = "is gone" if look.state == "vanished" else "is empty now"
            return Problem(
                "warning",
                f"{self.file} {gone}{fate}",
                "bring it back, or leave it if the logger began another file",
                self.file,
            )
        return None

    def _take(self, chunk: bytes, *, more: bool) -> Batch | None:
        if self._encoding is None and not self._sniff(chunk, more=more):
            return None
        encoding = self._encoding or "utf-8"
        skipped: list[UnusedRow] = []
        if self._skipping:
            end = first_line(chunk, encoding, self._ends)
            if not end:
                return self._skip(chunk, more=more)
            self.tail.consume(chunk[:end])
            chunk = chunk[end:]
            self._skipping = False
            self.lines += 1
            above = None if self.parser is None else self.parser.newest
            skipped.append(UnusedRow(self.file, self.lines, TOO_LONG, time=above))
        end = whole_lines(chunk, encoding, self._ends)
        self._unfinished = bool(chunk[end:].strip(b"\0"))
        if not end and self.parser is not None and not skipped:
            return self._without_end(chunk, more=more)
        whole = chunk[:end]
        blocks = self._begun(whole, more=more) if self.parser is None else self._blocks(self.parser)
        if blocks is None:
            return None
        blocks.read(whole[blocks.taken :])
        self.tail.consume(whole)
        self.more = more
        return self._of(blocks, skipped)

    def _sniff(self, chunk: bytes, *, more: bool) -> bool:
        ends = line_end(chunk)
        if ends is None or not has_first_line(chunk):
            self._wait([], more=more or len(chunk) > LONGEST_LINE)
            return False
        try:
            self._encoding = sniff_encoding(chunk, self._rules.log.encoding)
        except LookupError:
            self._trouble = Problem(
                "error",
                f'unknown encoding "{plain(self._rules.log.encoding or "", 40)}"',
                'write "utf-8", "utf-16" or "cp1252", or remove it: it finds itself',
                self.file,
                key="log.encoding",
            )
            return False
        self._ends = ends
        return True

    def _without_end(self, chunk: bytes, *, more: bool) -> Batch | None:
        if not chunk.strip(b"\0"):
            # Room that the logger took beforehand, or what a crash left: the row comes behind it.
            if more:
                self.tail.consume(chunk)
                self.more = True
            return None
        if len(chunk) <= LONGEST_LINE:
            return None
        self._skipping = True
        return self._skip(chunk, more=more)

    def _skip(self, chunk: bytes, *, more: bool) -> Batch | None:
        # Half of a line end may stand at the chunk's end.
        self.tail.consume(chunk[: (len(chunk) - 4) // 4 * 4])
        self.more = more
        return None

    def _begin(self, lines: Sequence[str], *, more: bool) -> bool:
        dialect = self._rules.find(lines[:_FIRST_LOOK]) or (
            self._rules.find(lines) if len(lines) > _FIRST_LOOK else None
        )
        if dialect is None:
            self._wait(lines, more=more)
            return False
        parser = self._rules.parser(dialect, self.file, self.tail.path.name)
        if isinstance(parser, str):
            self._trouble = Problem(
                "error",
                f"the times of {self.file} cannot be told: {parser}",
                'set start = "2031-02-03T08:00:00" of [log] time, or mend what it names',
                self.file,
                key="log.time",
            )
            return False
        self.parser = parser
        self._trouble = None
        return True

    def _blocks(self, parser: LogParser) -> Blocks:
        return Blocks(parser, self._encoding or "utf-8", self._ends, self.lines)

    def _begun(self, whole: bytes, *, more: bool) -> Blocks | None:
        """The first lines are read by themselves; None if no row is among all of them.

        Columns show there how they are written; what follows may be read in blocks.
        """
        encoding = self._encoding or "utf-8"
        for taken in (whole_lines(whole[:_FIRST_BYTES], encoding, self._ends), len(whole)):
            lines, cp1252 = decode(whole[:taken], encoding, self._ends)
            if self._begin(lines, more=more or taken < len(whole)):
                assert self.parser is not None
                self._some_cp1252 |= cp1252
                blocks = self._blocks(self.parser)
                blocks.by_line(lines, self.parser.dialect.header_at + 1)
                blocks.taken = taken
                return blocks
        return None

    def _of(self, blocks: Blocks, skipped: list[UnusedRow]) -> Batch:
        """What was read, in one batch."""
        if len(blocks.batches) == 1 and not skipped:
            (batch,) = blocks.batches
        else:
            all_of_it = joined(blocks.batches)
            unused = chain.from_iterable(one.unused for one in blocks.batches)
            batch = replace(all_of_it, unused=(*skipped, *unused), file=self.file)
        self.lines = blocks.lines
        self._some_cp1252 |= blocks.some_cp1252
        self.rows += len(batch.rows)
        if self.first_time is None and len(batch.rows):
            self.first_time = float(batch.rows.times[0])
        return batch

    def _wait(self, lines: Sequence[str], *, more: bool) -> None:
        """No row was found yet: say what is there."""
        filled = [line for line in lines if line.strip()]
        header = self._rules.find(lines, needs_time=False)
        if header is not None:
            wanted = " and ".join(f'"{plain(name, 40)}"' for name in self._rules.time_names)
            what = f"the time column {wanted}" if wanted else "a time column"
            self._trouble = Problem(
                "error",
                f"no row of {self.file} has {what} that can be read; its columns are "
                f"{listed(header.header)}",
                _TIME_REMEDY,
                self.file,
                header.header_at + 1,
                "log.time",
            )
        elif more or len(filled) >= SEARCHED:
            self._trouble = Problem(
                "error",
                f"no header with rows under it in the first {len(lines)} lines of {self.file}",
                "set separator or header_row under [log], or let [log] files leave it out",
                self.file,
            )
        else:
            self._trouble = Problem(
                "note" if self._rules.waits_for_rows(filled) else "warning",
                f"no row under a header in {self.file} yet ({len(filled)} lines)",
                "wait for the logger; if rows are there, set separator or header_row under [log]",
                self.file,
            )

    def rename(self, file: str) -> None:
        """Messages name it so from now on."""
        self.file = file
        if self.parser is not None:
            self.parser.rename(file)

    def problems(self) -> list[Problem]:
        """What is wrong with this file now."""
        own = [problem for problem in (self._access, self._trouble) if problem is not None]
        return own + ([] if self.parser is None else self.parser.problems())

    def understood(self) -> dict[str, Any]:
        """How the file is read, for people; JSON-able."""
        encoding = "cp1252" if self._some_cp1252 else self._encoding
        return {
            "encoding": encoding,
            "lines": self.lines,
            "rows": self.rows,
            "unfinished_last_line": self._unfinished,
            **({} if self.parser is None else describe(self.parser)),
        }
