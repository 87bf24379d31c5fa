"""One journal file as its readers know it: opened once, read again only when it changed."""

import sqlite3
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar

from tui.journal.entries import Entry
from tui.journal.location import on_network
from tui.journal.tables import (
    JournalError,
    append_all,
    newest,
    open_to_read,
    open_to_write,
    read_all,
)

_Answer = TypeVar("_Answer")


class Shelf:
    """A file of entries; it need not exist."""

    def __init__(self, root: Path, path: Path, first: int) -> None:
        """Nothing is opened yet.

        Args:
            root: the bench.
            path: of the file.
            first: added to the file's own numbers.
        """
        self.path = path
        self._root = root
        self.trouble: str | None = None
        """Why it could not be read at the last look."""
        self._first = first
        self._inode: int | None = None
        self._connection: sqlite3.Connection | None = None
        self._known: tuple[Entry, ...] = ()
        self._known_at: tuple[int, int] | None = None

    def let_go(self) -> None:
        """Close the file; the next question opens it again."""
        if self._connection is not None:
            self._connection.close()
        self._connection, self._inode = None, None

    def _read(self, question: Callable[[sqlite3.Connection], _Answer], nothing: _Answer) -> _Answer:
        """Ask the file as it is now; what goes wrong becomes `trouble` and the answer `nothing`."""
        self.trouble = None
        try:
            inode = self._present()
            if inode is None:
                self.let_go()
                return nothing
            # A file that was put in another's place would otherwise be missed for good.
            if inode != self._inode:
                self.let_go()
            if self._connection is None:
                self._connection, self._inode = open_to_read(self.path), inode
            return question(self._connection)
        except (sqlite3.Error, JournalError, OSError) as error:
            self.let_go()
            self.trouble = str(error)
            return nothing

    def _present(self) -> int | None:
        try:
            return self.path.stat().st_ino
        except (FileNotFoundError, NotADirectoryError):
            # Without the bench itself (a share that went away) nothing is known about its journal.
            self._root.stat()
            return None
        except PermissionError:
            if self.path.is_relative_to(self._root):
                raise
            return None  # where this user may not even look, this user has written nothing

    def version(self) -> tuple[int, int]:
        """Inode and newest number: another one tells of another file or of a new entry."""
        number = self._read(newest, 0)
        return (self._inode or 0, -1 if self.trouble else number)

    def entries(self) -> tuple[Entry, ...]:
        """All entries in the order in which they were entered."""
        version = self.version()
        if self.trouble is None and version != self._known_at:
            none: tuple[Entry, ...] = ()
            known = self._read(partial(read_all, first=self._first), none)
            if self.trouble is None:
                self._known, self._known_at = known, version
        # While a file cannot be read, what was last read of it stands.
        return self._known

    def append_all(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Write entries, all or none, and make the file for the first; gives their numbers."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        connection = open_to_write(self.path, ahead=not on_network(self.path.parent))
        try:
            return tuple(self._first + number for number in append_all(connection, entries))
        finally:
            connection.close()
