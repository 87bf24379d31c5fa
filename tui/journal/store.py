"""The journal on disk: append-only, read and written by several programs at once.

It is SQLite in the bench, and where the bench is on a network file system a file of lines for each
host (`sheets.py`), besides SQLite in the state folder of the host on duty for what the watch tells:
a watch must not wait for a share that hangs. Every host reads all that it can reach.

Nothing is updated or deleted; an undo is an entry. Reading never creates a file, and a journal
that cannot be read is a problem to show, never a reason to stop watching. The moment of entry is
an argument: nothing here looks at a clock.
"""

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from threading import RLock

from tui.journal.acts import WATCH_KINDS, Act, ShelfEnd
from tui.journal.book import Book
from tui.journal.entries import Entry
from tui.journal.held import Held
from tui.journal.location import on_network, own_file, shared_file
from tui.journal.sheet import Sheet
from tui.journal.sheets import Sheets
from tui.journal.tables import JournalError
from tui.settings.problems import Problem

OWN_FROM = 1_000_000
"""Entries of a user's own journal are numbered from here on, those of the files in `acts` from
twice, three times this: so that a number names one entry."""

_WRITES_REFUSED = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")


class Journal:
    """All entries of a bench: those that everybody shares, and this user's own if there are any."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.written_to: Path | None = None
        """The file that took the last entry; None before the first."""
        self.refused: str | None = None
        """Why the bench did not take the last entry; None when it did, or was not to."""
        self._shared = Book(root, shared_file(root), 0, several_hosts=True)
        self._own = Book(root, own_file(root), OWN_FROM, several_hosts=False)
        self._sheets = Sheets(root, OWN_FROM)
        self._lock = RLock()
        self._held = Held()
        self._taken: dict[Path, tuple[int, int]] = {}
        """Of each file: its edition, and how many of its entries were put together already."""

    @classmethod
    def open(cls, root: Path) -> "Journal":
        """The journal of a bench; nothing is read or created yet."""
        return cls(root)

    def close(self) -> None:
        """Let go of the files."""
        with self._lock:
            for book in (self._shared, self._own):
                book.let_go()

    def version(self) -> tuple[tuple[int, int], ...]:
        """Changes when an entry was added or a file was replaced; costs next to nothing."""
        with self._lock:
            return tuple(file.version() for file in self._files())

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What could not be read at the last look."""
        with self._lock:
            return (
                *self._shared.problems(),
                *self._own.problems(),
                *self._sheets.problems(),
            )

    def entries(self, until: float | None = None) -> tuple[Entry, ...]:
        """All entries that hold by then, in the order in which they hold.

        Args:
            until: entries that hold later are left out. [s since the epoch]
        """
        with self._lock:
            self._look()
            return self._held.entries(until)

    def acts(self, until: float | None = None) -> tuple[Act, ...]:
        """What people did and counts by then, in the order in which it holds.

        Undone entries are left out, and those of the watch (`WATCH_KINDS`).

        Args:
            until: acts that hold later are left out. [s since the epoch]
        """
        with self._lock:
            self._look()
            return self._held.acts(until)

    def _files(self) -> tuple[Book | Sheet, ...]:
        return (self._shared, self._own, *self._sheets.files())

    def _look(self) -> None:
        found = {file.path: (file.entries(), file.edition) for file in self._files()}
        told = {path: edition for path, (edition, _) in self._taken.items()}
        if any(path not in found or found[path][1] != edition for path, edition in told.items()):
            self._held, self._taken = Held(), {}
        for path, (entries, edition) in found.items():
            _, count = self._taken.get(path, (edition, 0))
            self._held.take(entries[count:])
            self._taken[path] = edition, len(entries)

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
        with self._lock:
            self.refused = None
            if any(OWN_FROM < (one.refers or 0) < 2 * OWN_FROM for one in entries):
                # Others have an own journal too: there this number may name another entry.
                return self._into_own(entries)
            afar = on_network(self._shared.path.parent)
            if afar and all(one.act.kind in WATCH_KINDS for one in entries):
                return self._into_own(entries)
            try:
                return self._into_sheet(entries) if afar else self._into_shared(entries)
            except (OSError, sqlite3.Error) as error:
                path = self._sheets.folder if afar else self._shared.path
                if not _refuses_writing(error):
                    raise JournalError(f"{path}: {error}; the entry was not kept") from error
                self.refused = str(error)
                return self._into_own(entries)

    def _into_shared(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        numbers = self._shared.append_all(entries)
        self.written_to = self._shared.path
        return numbers

    def _into_sheet(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        self.written_to, numbers = self._sheets.append_all(entries)
        return numbers

    def _into_own(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        try:
            numbers = self._own.append_all(entries)
        except (OSError, sqlite3.Error) as error:
            why = "" if self.refused is None else "neither the bench nor "
            raise JournalError(
                f"{why}{self._own.path.parent} can{'' if why else 'not'} be written ({error}); "
                "the entry was not kept"
            ) from error
        self.written_to = self._own.path
        return numbers


def _refuses_writing(error: OSError | sqlite3.Error) -> bool:
    if isinstance(error, OSError):
        return True
    name = getattr(error, "sqlite_errorname", "")  # the module's own errors have none
    return str(name).startswith(_WRITES_REFUSED)
