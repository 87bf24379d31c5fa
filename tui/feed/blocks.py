"""Whole lines to rows: in blocks where they are clean, line by line where they are not."""

import re
from collections.abc import Iterator

from tui.feed.batches import Batch
from tui.feed.lines import decode
from tui.feed.parse import LogParser

WORTH_BYTES = 128 * 1024
"""Below that reading line by line is as quick as loading the compiled reader."""
PIECE_BYTES = 256 * 1024
"""A block in which something is out of the ordinary is gone through in pieces of this size."""
RUN_BYTES = 16 * 1024
"""Between two odd lines in a piece this much is worth a block."""

_ODD = re.compile(rb"[^0-9+\-.,:;/|eET\t \r\n]")
"""What neither numbers nor times are written with."""


class Blocks:
    """Reads stretches of one file, one behind the other."""

    def __init__(self, parser: LogParser, encoding: str, ends: str, lines: int) -> None:
        """Nothing was read.

        Args:
            parser: of the file.
            encoding: of the file.
            ends: how its lines end.
            lines: that stand before what is read.
        """
        self._parser, self._encoding, self._ends = parser, encoding, ends
        self.lines = lines
        """Read so far, those before included."""
        self.taken = 0
        """Bytes of the next whole lines that were read by line already."""
        self.some_cp1252 = False
        """Whether some of them were no UTF-8."""
        self.batches: list[Batch] = []
        """What they gave."""

    def read(self, whole: bytes) -> None:
        """The next whole lines.

        Raises:
            OrderTurnedError: day and month were assumed the wrong way round.
        """
        if self._encoding != "utf-8" or self._ends != "\n":
            self._by_line(whole)
        elif not (len(whole) >= WORTH_BYTES and self._clean(whole)):
            for piece in _pieces(whole):
                self._read_piece(piece)

    def by_line(self, lines: list[str], below: int = 0) -> None:
        """The next lines, of which the first are none that could hold a row."""
        first = self.lines + below + 1
        self.batches.append(self._parser.parse(lines[below:], first, self._encoding))
        self.lines += len(lines)

    def _read_piece(self, piece: bytes) -> None:
        if len(piece) < WORTH_BYTES:
            self._by_line(piece)
        elif not self._clean(piece):
            at = 0
            for begin, end in _odd_lines(piece):
                self._run(piece[at:begin])
                self._by_line(piece[begin:end])
                at = end
            self._run(piece[at:])

    def _run(self, run: bytes) -> None:
        if len(run) < RUN_BYTES or not self._clean(run):
            self._by_line(run)

    def _clean(self, block: bytes) -> bool:
        batch = self._parser.parse_clean(block, self.lines + 1)
        if batch is None:
            return False
        self.batches.append(batch)
        self.lines += len(batch.rows)
        return True

    def _by_line(self, whole: bytes) -> None:
        if not whole:
            return
        lines, cp1252 = decode(whole, self._encoding, self._ends)
        self.some_cp1252 |= cp1252
        self.by_line(lines)


def _pieces(whole: bytes) -> list[bytes]:
    pieces, at = [], 0
    while at < len(whole):
        end = whole.find(b"\n", at + PIECE_BYTES) + 1 or len(whole)
        pieces.append(whole[at:end])
        at = end
    return pieces


def _odd_lines(piece: bytes) -> Iterator[tuple[int, int]]:
    """Begin and end of lines that are surely not clean, or have words."""
    end = 0
    while (odd := _ODD.search(piece, end)) is not None:
        begin = piece.rfind(b"\n", end, odd.start()) + 1 or end
        end = piece.find(b"\n", odd.start()) + 1 or len(piece)
        yield begin, end
