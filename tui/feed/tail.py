"""The bytes of one file from where we stopped, and whether it still is the file that we read.

A position is path + inode + the head of the file + the last bytes consumed. Growth, truncation,
replacement, rotation and a reused inode are told apart by content; the inode is only a hint.
The offset always stands behind a whole line, so an unfinished line is simply read again.
"""

import os
import stat
import zlib
from dataclasses import dataclass
from io import FileIO
from pathlib import Path
from typing import Literal

PORTION = 4 * 1024 * 1024
"""Bytes taken at a time."""

_GROWN = 64 * 1024
"""Bytes behind the offset that are asked for first: room for a whole portion is rarely needed."""

_KEPT = 1024
"""Bytes of the head and of the consumed end that are compared at every look."""

State = Literal["same", "grown", "replaced", "vanished", "empty", "denied"]


@dataclass(frozen=True, slots=True)
class Look:
    """What one look at the file gave."""

    state: State
    """same: nothing to do; grown: `chunk` begins at the offset; replaced: what was consumed is
    no longer what stands there; vanished, empty (of a file that had something), denied."""
    chunk: bytes = b""
    more: bool = False
    """Whether the file goes on behind the chunk."""
    trouble: str = ""
    """Why it was denied."""
    edited: bool = False
    """Of a file that was replaced: it still begins as what was consumed, and is no shorter."""


def _opened(path: Path) -> FileIO:
    # Without a buffer: all that it would read in advance is read anew at the next look.
    return path.open("rb", buffering=0)


def _next(opened: FileIO, length: int) -> bytes:
    """The next bytes of a file: fewer only where it ends."""
    found: bytes = opened.read(length)
    while 0 < len(found) < length and (more := opened.read(length - len(found))):
        found += more
    return found


def _checksum_of(opened: FileIO, length: int) -> int | None:
    """Of the next bytes of a file; None where it has fewer."""
    checksum = 0
    while length and (part := opened.read(min(length, PORTION))):
        checksum = zlib.crc32(part, checksum)
        length -= len(part)
    return checksum if length == 0 else None


class Tail:
    """One file, read from an offset on; nothing consumed is read again, only compared."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.offset = 0
        """Bytes consumed."""
        self._head = b""
        self._end = b""
        self._checksum = 0
        """Of all that was consumed. It tells an edit, not a forgery, and costs next to nothing."""
        self._inode: tuple[int, int] | None = None
        self._seen: tuple[int, int, int, int] | None = None
        self._pending = b""
        self._more = False

    def _lose_sight(self) -> None:
        """At the next sight everything behind the offset is news again."""
        self._seen = None
        self._pending = b""

    def look(self, *, thorough: bool = True) -> Look:
        """What stands behind the offset.

        Args:
            thorough: open the file even if its size, time and inode are as before; a network
                share may keep telling old ones.
        """
        try:
            found = self.path.stat()
            if not thorough and not self._more and self._mark(found) == self._seen:
                return Look("same")
            # Opening a pipe would wait for its other end.
            if not stat.S_ISREG(found.st_mode):
                return Look("denied", trouble="it is not a file")
            with _opened(self.path) as opened:
                return self._compare(opened)
        except FileNotFoundError:
            self._lose_sight()
            return Look("vanished")
        except OSError as error:
            self._lose_sight()
            return Look("denied", trouble=(error.strerror or type(error).__name__).lower())

    @staticmethod
    def _mark(found: os.stat_result) -> tuple[int, int, int, int]:
        return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns

    def _compare(self, opened: FileIO) -> Look:
        mark = self._mark(os.fstat(opened.fileno()))
        size = mark[2]
        if size < self.offset:
            self._lose_sight()
            return Look("empty" if size == 0 else "replaced")
        if not self._goes_on(opened):
            return Look("replaced", edited=self._begins_alike(opened))
        chunk = _next(opened, _GROWN)
        if len(chunk) == _GROWN:
            chunk += _next(opened, PORTION - _GROWN)
        moved = self._inode is not None and mark[:2] != self._inode
        touched = self._seen is not None and mark != self._seen and chunk == self._pending
        # Head and end are as they were, but it is another file, or it was written without
        # growing: only then is all of it compared, because that costs as much as reading it.
        if self.offset and (moved or touched) and not self._unchanged(opened):
            return Look("replaced", edited=True)
        self._inode = mark[:2]
        self._seen = mark
        self._more = self.offset + len(chunk) < size
        fresh = chunk != self._pending
        self._pending = chunk
        return Look("grown" if fresh and chunk else "same", chunk, self._more)

    def _begins_alike(self, opened: FileIO) -> bool:
        opened.seek(0)
        return _next(opened, len(self._head)) == self._head

    def _goes_on(self, opened: FileIO) -> bool:
        """Whether it does at head and end; what is read next stands behind the offset."""
        if not self._begins_alike(opened):
            return False
        opened.seek(self.offset - len(self._end))
        return _next(opened, len(self._end)) == self._end

    def _unchanged(self, opened: FileIO) -> bool:
        opened.seek(0)
        return _checksum_of(opened, self.offset) == self._checksum

    def consume(self, taken: bytes) -> None:
        """Move the offset behind the bytes that were used: the beginning of the last chunk."""
        if not taken:
            return
        self.offset += len(taken)
        if len(self._head) < _KEPT:
            self._head += taken[: _KEPT - len(self._head)]
        self._end = (self._end + taken)[-_KEPT:] if len(taken) < _KEPT else taken[-_KEPT:]
        self._checksum = zlib.crc32(taken, self._checksum)
        self._pending = self._pending[len(taken) :]

    def is_at(self, path: Path) -> bool:
        """Whether the file at another path holds all that was consumed here: it was renamed."""
        if self.offset == 0:
            return False
        try:
            found = path.stat()
            if not stat.S_ISREG(found.st_mode) or found.st_size < self.offset:
                return False
            with _opened(path) as opened:
                return self._goes_on(opened) and (
                    self._mark(found)[:2] == self._inode or self._unchanged(opened)
                )
        except OSError:
            return False

    def is_edited(self) -> bool:
        """Whether what was consumed is surely no longer what stands there."""
        try:
            with _opened(self.path) as opened:
                return not self._unchanged(opened)
        except OSError:
            return False

    def move(self, path: Path) -> None:
        """Follow the file to its new name."""
        self.path = path
        self._lose_sight()
        try:
            self._inode = self._mark(path.stat())[:2]
        except OSError:
            self._inode = None
