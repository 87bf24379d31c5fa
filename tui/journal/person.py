"""Who enters something, and from where; and one way to enter it, for commands and keys."""

import getpass
import os
import socket
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal


@dataclass(frozen=True, slots=True)
class Person:
    """Who enters something, and from where."""

    who: str
    host: str
    client: str | None
    """Address of the other end of an SSH log-in."""

    def says(self, act: Act) -> Entry:
        """An act as an entry of this person."""
        return Entry(replace(act, who=self.who, host=self.host), self.client)


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of something that was entered."""

    numbers: tuple[int, ...]
    elsewhere: str | None
    """Where it went if the bench did not take it, in words; None if it did."""


def person(by: str | None) -> Person:
    """The user, or the name that was given."""
    client = (os.environ.get("SSH_CONNECTION") or os.environ.get("SSH_CLIENT") or "").split()
    try:
        user = getpass.getuser()
    except (KeyError, OSError):  # a container's user may have no name
        user = "unknown"
    return Person((by or "").strip() or user, socket.gethostname(), client[0] if client else None)


def enter_all(root: Path, entries: Sequence[Entry]) -> Entered:
    """Append to the journal of a bench, all or none.

    Raises:
        JournalError: nothing took them.
    """
    journal = Journal.open(root)
    try:
        numbers = journal.add_all(entries)
    finally:
        journal.close()
    if journal.refused is None:
        return Entered(numbers, None)
    return Entered(
        numbers,
        f"the bench cannot be written ({journal.refused}); the entry is in {journal.written_to}, "
        "where only this user's looks count it",
    )
