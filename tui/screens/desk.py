"""Where what people say at the screen is entered, and by whom; or why it is not entered here."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo
from pathlib import Path

from tui.bench.clock import Clock, WallClock
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.person import Entered, enter_all, person
from tui.journal.store import Journal
from tui.journal.tables import JournalError
from tui.settings.ending import CannotEndError, end_test, resume_test, running, written_end
from tui.settings.places import Place, read_layout
from tui.settings.problems import Problem


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

    def enter(
        self, acts: Sequence[Act], refers: int | None = None, *, resumes: bool = False
    ) -> Entered:
        """Append what a person says, all or none, as the commands do.

        Args:
            acts: where one ends a test, its tables are moved first.
            refers: the entry that is taken back.
            resumes: whether the test that it ended goes on; its tables come back first.

        Raises:
            CannotEndError: the tables of the test cannot be moved.
            JournalError: nothing took it.
        """
        assert self.root is not None
        if resumes:
            for act in acts:
                resume_test(self._place(act.cell)[0], str(act.test))
        acts = [self._ended(act) if act.kind == "close" else act for act in acts]
        someone = person(self.who)
        entries = [replace(someone.says(act), refers=refers) for act in acts]
        try:
            return enter_all(self.root, entries)
        except JournalError as error:
            if resumes or any(act.kind == "close" for act in acts):
                raise JournalError(f"{error}; but the tables of the test have moved") from error
            raise

    def _ended(self, act: Act) -> Act:
        place, zone = self._place(act.cell)
        if running(place).id != act.test:
            raise CannotEndError(f"another test runs in {place.name} by now")
        return replace(act, held_at=end_test(place, zone, None, lambda _start: act.held_at).at)

    def written_end(self, folder: str) -> float | None:
        """When the running test of a cell ended, if its `cell.toml` says so. [s]

        Raises:
            CannotEndError: no test runs that could be ended.
        """
        return written_end(*self._place(folder))

    def _place(self, folder: str) -> tuple[Place, tzinfo]:
        assert self.root is not None
        layout = read_layout(self.root)
        place = next((one for one in layout.places if one.folder == folder), None)
        if place is None:
            raise CannotEndError(f"{folder} is not on the bench any more")
        return place, layout.zone

    def all_entries(self) -> tuple[Entry, ...]:
        """What is in the journal, as far as it can be read."""
        return self.journal()[0]

    def journal(self) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
        """The same, and what of it cannot be read."""
        assert self.root is not None
        journal = Journal.open(self.root)
        try:
            return tuple(journal.entries()), tuple(journal.problems)
        finally:
            journal.close()

    def entries(self, *folders: str) -> tuple[Entry, ...]:
        """What is in the journal about cells ("": the bench itself), in the order of entry."""
        found = [entry for entry in self.all_entries() if entry.act.cell in folders]
        return tuple(sorted(found, key=lambda entry: entry.act.entered_at))


CLOSED = Desk(None)
"""Where nothing is entered."""
