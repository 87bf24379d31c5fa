"""The journal on disk: SQLite, append-only, read and written by several programs at once.

Nothing is updated or deleted; an undo is an entry. Reading never creates a file, and a journal
that cannot be read is a problem to show, never a reason to stop watching. The moment of entry is
an argument: nothing here looks at a clock.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from threading import RLock

from tui.journal.acts import WATCH_KINDS, Act, ShelfEnd
from tui.journal.entries import UNDO, Entry, in_order, undone
from tui.journal.location import own_file, shared_file
from tui.journal.shelf import Shelf
from tui.journal.tables import JournalError
from tui.settings.problems import Problem

OWN_FROM = 1_000_000
"""Entries of a user's own journal are numbered from here on, so that a number names one entry."""

_WRITES_REFUSED = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")


class Journal:
    """All entries of a bench: those that everybody shares, and this user's own if there are any."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.written_to: Path | None = None
        """The file that took the last entry; None before the first."""
        self.refused: str | None = None
        """Why the bench's own journal did not take the last entry; None when it did."""
        self._shelves = (Shelf(root, shared_file(root), 0), Shelf(root, own_file(root), OWN_FROM))
        self._lock = RLock()

    @classmethod
    def open(cls, root: Path) -> "Journal":
        """The journal of a bench; nothing is read or created yet."""
        return cls(root)

    def close(self) -> None:
        """Let go of the files."""
        with self._lock:
            for shelf in self._shelves:
                shelf.let_go()

    def version(self) -> tuple[tuple[int, int], ...]:
        """Changes when an entry was added or a file was replaced; costs next to nothing."""
        with self._lock:
            return tuple(shelf.version() for shelf in self._shelves)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What could not be read at the last look."""
        with self._lock:
            return tuple(
                _problem(shelf, self.root) for shelf in self._shelves if shelf.trouble is not None
            )

    def entries(self, until: float | None = None) -> tuple[Entry, ...]:
        """All entries that hold by then, in the order in which they hold.

        Args:
            until: entries that hold later are left out. [s since the epoch]
        """
        with self._lock:
            found = [entry for shelf in self._shelves for entry in shelf.entries()]
        held = in_order(one for one in found if until is None or one.act.held_at <= until)
        void = undone(held)
        return tuple(replace(entry, undone_by=void.get(entry.number)) for entry in held)

    def acts(self, until: float | None = None) -> tuple[Act, ...]:
        """What people did and counts by then, in the order in which it holds.

        Undone entries are left out, and those of the watch (`WATCH_KINDS`).

        Args:
            until: acts that hold later are left out. [s since the epoch]
        """
        return tuple(
            entry.act
            for entry in self.entries(until)
            if entry.undone_by is None and entry.act.kind not in (UNDO, *WATCH_KINDS)
        )

    def add(
        self,
        kind: str,
        *,
        cell: str,
        held_at: float,
        entered_at: float,
        who: str,
        host: str,
        test: str | None = None,
        text: str = "",
        phase: str | None = None,
        step: str | None = None,
        until: float | None = None,
        channel: str | None = None,
        reads: float | None = None,
        alarm: str | None = None,
        about: str | None = None,
        ends: ShelfEnd | None = None,
        priority: str | None = None,
        since: float | None = None,
        route: str | None = None,
        client: str | None = None,
        refers: int | None = None,
    ) -> int:
        """Append one entry; it is on the disk when this returns.

        Args:
            kind: as in `Act`, or "undo".
            cell: folder of the cell relative to the bench; "" for the bench as a whole.
            held_at: when it holds. [s since the epoch]
            entered_at: the present moment. [s since the epoch]

        Returns:
            The number of the entry.

        Raises:
            JournalError: neither the bench nor the user's state folder takes it.
        """
        said = (text, phase, step, until, channel, reads, alarm, about, ends)
        act = Act(
            0, kind, cell, test, held_at, entered_at, who, host, *said, priority, since, route
        )
        (number,) = self.add_all([Entry(act, client, refers)])
        return number

    def add_all(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Append entries, all of them or none; they are on the disk when this returns.

        Args:
            entries: the number of their acts is not looked at, such as 0.

        Returns:
            Their numbers, in the same order.

        Raises:
            JournalError: neither the bench nor the user's state folder takes them.
        """
        if not entries:
            return ()
        shared, own = self._shelves
        with self._lock:
            self.refused = None
            try:
                numbers = shared.append_all(entries)
                self.written_to = shared.path
            except (OSError, sqlite3.Error) as error:
                if not _refuses_writing(error):
                    raise JournalError(f"{shared.path}: {error}; the entry was not kept") from error
                self.refused = str(error)
                numbers = self._append_own(own, entries)
                self.written_to = own.path
            return numbers

    @staticmethod
    def _append_own(own: Shelf, entries: Sequence[Entry]) -> tuple[int, ...]:
        try:
            return own.append_all(entries)
        except (OSError, sqlite3.Error) as error:
            raise JournalError(
                f"neither the bench nor {own.path.parent} can be written ({error}); "
                "the entry was not kept"
            ) from error


def _refuses_writing(error: OSError | sqlite3.Error) -> bool:
    if isinstance(error, OSError):
        return True
    name = getattr(error, "sqlite_errorname", "")  # the module's own errors have none
    return str(name).startswith(_WRITES_REFUSED)


def _problem(shelf: Shelf, root: Path) -> Problem:
    path = shelf.path
    where = path.relative_to(root) if path.is_relative_to(root) else path
    return Problem(
        severity="warning",
        what=f"the journal cannot be read: {shelf.trouble}",
        remedy="marks and notes in it do not count; restore it from a copy, or move it away",
        file=where.as_posix(),
    )
