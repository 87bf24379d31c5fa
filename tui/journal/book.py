"""One journal file as its readers know it: opened once; of what comes on top only that is read."""

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

from tui.journal.afar import file_stamp, open_copy
from tui.journal.entries import Entry
from tui.journal.location import on_network
from tui.journal.tables import (
    JournalError,
    append_all,
    newest,
    open_to_read,
    open_to_write,
    read_from,
)
from tui.settings.problems import Problem

_Answer = TypeVar("_Answer")


class Book:
    """A file of entries; it need not exist."""

    def __init__(self, root: Path, path: Path, first: int, *, several_hosts: bool) -> None:
        """Nothing is opened yet.

        Args:
            root: the bench.
            path: of the file.
            first: added to the file's own numbers.
            several_hosts: whether other machines may use it too; on a network file system it is
                then read from a copy.
        """
        self.path = path
        self._root = root
        self.edition = 0
        """Goes up when everything was read anew: another file, or none any more."""
        self._trouble: str | None = None
        self._first = first
        self._several_hosts = several_hosts
        self._afar = False
        self._stamp: object = None
        self._inode: int | None = None
        self._connection: sqlite3.Connection | None = None
        self._known: list[Entry] = []
        self._newest = 0
        """Number of the newest known entry in the file."""

    def let_go(self) -> None:
        """Close the file; the next question opens it again."""
        if self._connection is not None:
            self._connection.close()
        self._connection, self._stamp = None, None

    def version(self) -> tuple[int, int]:
        """Another one tells of another file, of a new entry, or of trouble."""
        known = self.entries()
        return self.edition, -1 if self._trouble else len(known)

    def problems(self) -> tuple[Problem, ...]:
        """What was wrong at the last look."""
        if self._trouble is None:
            return ()
        return (
            Problem(
                severity="warning",
                what=f"the journal cannot be read: {self._trouble}",
                remedy="marks and notes in it do not count; restore it from a copy, or move it "
                "away",
                file=shown_path(self.path, self._root),
            ),
        )

    def entries(self) -> Sequence[Entry]:
        """All entries in the order in which they were entered; it only grows within an edition.

        While a file cannot be read, what was last read of it stands.
        """
        self._trouble = None
        try:
            inode = self._present()
            if inode is None:
                self.let_go()
                self._begin_anew(None)
            else:
                self._read_on(inode)
        except (sqlite3.Error, JournalError, OSError) as error:
            self.let_go()
            self._trouble = str(error)
        return self._known

    def _read_on(self, inode: int) -> None:
        # A file that was put in another's place would otherwise be missed for good.
        stamp: object = file_stamp(self.path) if self._afar else inode
        if self._connection is None or stamp != self._stamp:
            self.let_go()
            self._afar = self._several_hosts and on_network(self.path.parent)
            stamp = file_stamp(self.path) if self._afar else inode
            self._connection = (open_copy if self._afar else open_to_read)(self.path)
            self._stamp = stamp
        number = newest(self._connection)
        if inode == self._inode and number == self._newest:
            return
        if inode == self._inode and self._newest and number > self._newest:
            # The newest known entry is read once more: it shows that the file is still the same.
            same, *more = read_from(self._connection, self._first, self._newest) or (None,)
            if self._known and same == self._known[-1]:
                self._known += [entry for entry in more if entry is not None]
                self._newest = number
                return
        found = read_from(self._connection, self._first, 0)
        self._begin_anew(inode)
        self._known += found
        self._newest = found[-1].number - self._first if found else 0

    def _begin_anew(self, inode: int | None) -> None:
        if self._known:
            self.edition += 1
        self._known, self._newest, self._inode = [], 0, inode

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

    def append_all(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Write entries, all or none, and make the file for the first; gives their numbers."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        connection = open_to_write(self.path, ahead=not on_network(self.path.parent))
        try:
            return tuple(self._first + number for number in append_all(connection, entries))
        finally:
            connection.close()


def shown_path(path: Path, root: Path) -> str:
    """A path as problems show it: relative to the bench if it lies there."""
    return (path.relative_to(root) if path.is_relative_to(root) else path).as_posix()
