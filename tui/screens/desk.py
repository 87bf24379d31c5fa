"""Where what people say at the screen is entered, and by whom; or why it is not entered here."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tui.bench.clock import Clock, WallClock
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.person import Entered, enter_all, person
from tui.journal.store import Journal


class Desk:
    """The journal of the bench on screen. What is on disk is asked for away from the screen."""

    def __init__(self, root: Path | None, closed: str = "", clock: Clock | None = None) -> None:
        """Nothing is opened yet.

        Args:
            root: the bench; None where there is none to write about.
            closed: why nothing is entered here; "" where it is.
            clock: tells when something is entered; the wall's if None.
        """
        self.root = root
        self.closed = closed or ("" if root is not None else "this is no bench on disk")
        self._clock = clock or WallClock()
        self.who = person(None).who
        """As people called themselves last; the log-in name at first."""

    def now(self) -> float:
        """The moment of entry. [s]"""
        return self._clock.now()

    def enter(self, acts: Sequence[Act], refers: int | None = None) -> Entered:
        """Append what a person says, all or none, as the commands do.

        Raises:
            JournalError: nothing took it.
        """
        assert self.root is not None
        someone = person(self.who)
        entries = [replace(someone.says(act), refers=refers) for act in acts]
        return enter_all(self.root, entries)

    def entries(self, folder: str) -> tuple[Entry, ...]:
        """What is in the journal about a cell, in the order of entry."""
        assert self.root is not None
        journal = Journal.open(self.root)
        try:
            found = [entry for entry in journal.entries() if entry.act.cell == folder]
        finally:
            journal.close()
        return tuple(sorted(found, key=lambda entry: entry.act.entered_at))


CLOSED = Desk(None)
"""Where nothing is entered."""
