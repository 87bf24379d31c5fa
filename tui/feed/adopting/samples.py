"""A bounded part of a log, as lines: its beginning, and some stretches spread to its end."""

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from tui.feed.lines import decode, first_line, line_end, sniff_encoding, whole_lines

HEAD_BYTES = 128 * 1024
"""Read from the beginning: banner, header and the first rows."""
_PART_BYTES = 16 * 1024
_ALIGNED = 4
"""A letter of UTF-16 or UTF-32 stays whole."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Some of the lines of a file."""

    path: Path
    size: int
    """Of the whole file. [bytes]"""
    changed_s: float
    """When it was last written. [s since the epoch]"""
    head: tuple[str, ...]
    """From the first line on."""
    parts: tuple[tuple[str, ...], ...]
    """Whole lines from further on, in file order."""
    whole: bool
    """Whether the head is all of it."""


def read_sample(path: Path, parts: int) -> Sample:
    """Look into a file, and only read.

    Args:
        path: of the log.
        parts: how many stretches to take behind the head, the last of them the file's end.

    Raises:
        OSError: it cannot be read, or is no file.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(0, "it is not a file")
    with path.open("rb") as opened:
        found = os.fstat(opened.fileno())
        head = opened.read(HEAD_BYTES)
        ends = line_end(head) or "\n"
        encoding = sniff_encoding(head)
        whole = found.st_size <= len(head)
        if whole:
            # The last line may want its end; for a look it counts.
            head += ends.encode(encoding)
        lines, _ = decode(head[: whole_lines(head, encoding, ends)], encoding, ends)
        taken: list[tuple[str, ...]] = []
        for at in _places(len(head), found.st_size, 0 if whole else parts):
            opened.seek(at)
            chunk = opened.read(_PART_BYTES + _ALIGNED)
            begin = first_line(chunk, encoding, ends)
            end = whole_lines(chunk, encoding, ends)
            some, _ = decode(chunk[begin:end], encoding, ends)
            taken.append(tuple(some))
    return Sample(path, found.st_size, found.st_mtime, tuple(lines), tuple(taken), whole)


def _places(head: int, size: int, parts: int) -> list[int]:
    """Where the stretches begin: evenly spread, the last one up to the file's end."""
    if not parts:
        return []
    room = max(size - _PART_BYTES - head, 0)
    count = min(parts, 1 + room // _PART_BYTES)
    spread = [head + room * number // max(count - 1, 1) for number in range(count)]
    if count == 1:
        spread = [head + room]
    return [at // _ALIGNED * _ALIGNED for at in spread]
