"""What people do, and what the watch tells: one frozen value an entry."""

from dataclasses import dataclass
from typing import Literal

ShelfEnd = Literal["cleared", "phase-end"]
"""What ends a shelf, besides its time."""

WATCH_KINDS = ("raised", "cleared", "notified", "duty")
"""Kinds that the night watch enters: facts, which nobody takes back and no fold needs."""


@dataclass(frozen=True, slots=True)
class Act:
    """An entry of the journal."""

    entry: int
    """Its number in the journal."""
    kind: str
    """"mark", "rebase", "note", "close", "acknowledge", "shelve", "accept", or one of
    `WATCH_KINDS`, which like undone entries are left out of what `advance` gets."""
    cell: str
    """Folder of the cell relative to the bench."""
    test: str | None
    """Id of the test that ran in the cell."""
    held_at: float
    """When it holds. [s since the epoch]"""
    entered_at: float
    """When it was entered. [s since the epoch]"""
    who: str
    host: str
    text: str = ""
    phase: str | None = None
    """Of a mark."""
    step: str | None = None
    """Of a mark."""
    until: float | None = None
    """End of a planned hold, of the change that a rebase is about, or the latest end of a shelf.
    [s since the epoch]"""
    channel: str | None = None
    """Of a rebase."""
    reads: float | None = None
    """Of a rebase: what the channel should read after it. [internal unit]"""
    alarm: str | None = None
    """Kind of the alarm that is acknowledged, shelved, raised, cleared, notified."""
    about: str | None = None
    """The channel, or the part, that this alarm is about."""
    ends: ShelfEnd | None = None
    """Of a shelf without a time of its own: what ends it before `until`."""
    priority: str | None = None
    """Of an alarm that was raised, cleared or notified."""
    since: float | None = None
    """Onset of an alarm that was raised or cleared. [s since the epoch]"""
    route: str | None = None
    """Of a notification: the name of the way by which it went."""
