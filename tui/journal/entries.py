"""An entry of the journal with all that is kept about it, and which entries still count."""

from collections.abc import Iterable
from dataclasses import dataclass

from tui.journal.acts import Act

UNDO = "undo"
"""The kind of an entry that takes another one back."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal."""

    act: Act
    client: str | None = None
    """Address from which the person was logged in, if over SSH."""
    refers: int | None = None
    """Of an undo: the entry that it takes back."""
    undone_by: int | None = None
    """The undo that took this entry back."""

    @property
    def number(self) -> int:
        """By which people name it."""
        return self.act.entry


def undone(entries: Iterable[Entry]) -> dict[int, int]:
    """Which entries no longer count, each with the undo that took it back.

    An undo may itself be undone: the latest word counts, so it is read from the end.

    Args:
        entries: any order; in what order they were entered is told by time and number.
    """
    void: dict[int, int] = {}
    undos = (entry for entry in entries if entry.act.kind == UNDO and entry.refers is not None)
    for entry in sorted(undos, key=lambda one: (one.act.entered_at, one.number), reverse=True):
        if entry.number not in void and entry.refers is not None:
            void.setdefault(entry.refers, entry.number)
    return void
