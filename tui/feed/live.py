"""The live file of a logger: one row that is rewritten all the time."""

import os
import stat
from pathlib import Path
from typing import Any

import numpy as np

from tui.feed.lines import decode, line_end, sniff_encoding, whole_lines
from tui.feed.log_file import LogFile, LogRules
from tui.feed.moments import OrderTurnedError
from tui.feed.parse import LogParser
from tui.feed.plain_text import plain
from tui.feed.rows import LiveRow
from tui.feed.understanding import describe
from tui.settings.problems import Problem

_LARGEST = 64 * 1024
"""Bytes taken from each end of the file."""


class LiveFile:
    """Reads the last row of a live file when it changed."""

    def __init__(self, path: Path, file: str, rules: LogRules) -> None:
        self.path = path
        self.file = file
        self._rules = rules
        self._content: tuple[bytes, bytes] | None = None
        self._above: tuple[str, ...] = ()
        self._parser: LogParser | None = None
        self._row: LiveRow | None = None
        self._trouble: Problem | None = None

    def read(self, newest: LogFile | None) -> LiveRow | None:
        """The live row if it is another than before.

        Args:
            newest: the log file whose layout serves when the live file has no header.
        """
        try:
            found = self._look()
        except FileNotFoundError:
            self._say("warning", "is not there", "mend [log] live, or start the logger")
            return None
        except OSError as error:
            self._say("warning", f"cannot be read: {error.strerror}", "it is tried again")
            return None
        if found is None or (found == self._content and self._parser is not None):
            return None
        try:
            row = self._last_row(*found, newest)
        except OrderTurnedError:
            # The log files tell day from month; the row comes at the next look.
            self._parser = None
            return None
        if row is None:
            return None
        self._content = found
        self._trouble = None
        changed = row != self._row
        self._row = row
        return row if changed else None

    def _say(self, severity: str, what: str, remedy: str) -> None:
        self._trouble = Problem(
            "error" if severity == "error" else "warning",
            f"the live file {self.file} {what}",
            remedy,
            self.file,
        )

    def _bytes(self) -> tuple[bytes, bytes]:
        """The whole file, or its two ends if it is large."""
        if not stat.S_ISREG(self.path.stat().st_mode):
            raise OSError(0, "it is not a file")
        with self.path.open("rb") as opened:
            size = os.fstat(opened.fileno()).st_size
            head = opened.read(_LARGEST)
            if size <= _LARGEST:
                return head, b""
            opened.seek((size - _LARGEST) // 4 * 4)  # a letter of UTF-16 stays whole
            return head, opened.read(_LARGEST + 8)

    def _look(self) -> tuple[bytes, bytes] | None:
        """As `_bytes`; None while the last line is being written.

        A last line without its end counts only if it stands still: half a number is a wrong one.
        """
        head, end = self._bytes()
        last = (end or head)[-1:]
        if last not in (b"\n", b"\r", b"\0") and self._bytes() != (head, end):
            return None
        return head, end

    def _lines(self, head: bytes, end: bytes) -> list[str]:
        ends = line_end(head) or "\n"
        encoding = sniff_encoding(head, self._rules.log.encoding)
        lines: list[str] = []
        for index, part in enumerate((head, end)):
            whole = whole_lines(part, encoding, ends)
            texts, _ = decode(part[:whole], encoding, ends)
            lines += texts if index == 0 else texts[1:]
            if part is (end or head):
                rest, _ = decode(part[whole:] + ends.encode(encoding), encoding, ends)
                lines += rest
        return [line for line in lines if line.strip(" \r\0\ufeff")]

    def _last_row(self, head: bytes, end: bytes, newest: LogFile | None) -> LiveRow | None:
        try:
            lines = self._lines(head, end)
        except LookupError:
            self._say("error", "has an unknown encoding pinned", "mend [log] encoding")
            return None
        if not lines:
            self._say("warning", "is empty", "wait for the logger")
            return None
        parser = self._parser_for(lines, newest)
        if parser is None:
            return None
        batch = parser.parse([lines[-1]], len(lines))
        if not len(batch.rows):
            why = batch.unused[0].reason if batch.unused else "it is no row"
            self._say("warning", f"has no usable last row: {why}", "the next row is waited for")
            return None
        values = {
            name: float(column[-1])
            for name, column in batch.rows.channels.items()
            if np.isfinite(column[-1])
        }
        return LiveRow(float(batch.rows.times[-1]), values)

    def _parser_for(self, lines: list[str], newest: LogFile | None) -> LogParser | None:
        above = self._above
        if self._parser is not None and above and tuple(lines[: len(above)]) == above:
            return self._parser
        known = None if newest is None else newest.parser
        dialect = self._rules.find(lines)
        above = () if dialect is None else tuple(lines[: dialect.header_at + 1])
        if dialect is None and known is not None:
            if self._parser is not None and self._parser.dialect == known.dialect:
                return self._parser
            dialect = known.dialect
        if dialect is None:
            self._say(
                "warning",
                "has no row under a header that can be read",
                "let the logger write the header of its log above the live row",
            )
            return None
        # A live file's name holds no start; it counts from that of the log beside it.
        start = self._rules.log.time.start
        name = newest.tail.path.name if newest and start == "file name" else self.path.name
        banner = known.dialect.banner if known is not None else ()
        parser = self._rules.parser(dialect, self.file, name, banner)
        if isinstance(parser, str):
            self._say("warning", f"has times that cannot be told: {plain(parser)}", "set start")
            return None
        self._parser, self._above = parser, above
        return parser

    def problems(self) -> list[Problem]:
        """What is wrong with it now; it need not have every column of the log."""
        return [] if self._trouble is None else [self._trouble]

    def understood(self) -> dict[str, Any]:
        """How it is read, for people; JSON-able."""
        return {"file": self.file, **({} if self._parser is None else describe(self._parser))}
