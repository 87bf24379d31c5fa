"""All entries in the order in which they hold; a new one costs itself, not the whole journal."""

from bisect import bisect_right, insort
from collections.abc import Sequence
from dataclasses import replace

from tui.journal.acts import WATCH_KINDS, Act
from tui.journal.entries import UNDO, Entry, undone

_FEW = 32
"""So many new ones are put in one by one; more are sorted in."""


class Held:
    """Entries of several files, put together."""

    def __init__(self) -> None:
        self._all: list[Entry] = []
        self._people: list[Entry] = []
        """Without what the watch tells, and without undos."""
        self._undos: list[Entry] = []

    def take(self, entries: Sequence[Entry]) -> None:
        """Add what is new."""
        _put(self._all, entries)
        apart = (UNDO, *WATCH_KINDS)
        _put(self._people, [one for one in entries if one.act.kind not in apart])
        _put(self._undos, [one for one in entries if one.act.kind == UNDO])

    def entries(self, until: float | None) -> tuple[Entry, ...]:
        """All that hold by then; each says whether it was taken back."""
        void = self._void(until)
        return tuple(
            replace(one, undone_by=void[one.number]) if one.number in void else one
            for one in _up_to(self._all, until)
        )

    def acts(self, until: float | None) -> tuple[Act, ...]:
        """What people did and did not take back."""
        void = self._void(until)
        return tuple(
            one.act for one in _up_to(self._people, until) if not void or one.number not in void
        )

    def _void(self, until: float | None) -> dict[int, int]:
        return undone(_up_to(self._undos, until))


def _put(into: list[Entry], entries: Sequence[Entry]) -> None:
    if len(entries) > _FEW:
        into.extend(entries)
        into.sort(key=_order)
        return
    for entry in entries:
        insort(into, entry, key=_order)


def _order(entry: Entry) -> tuple[float, float, int]:
    """By the time they hold; among equals the one entered later comes later."""
    return entry.act.held_at, entry.act.entered_at, entry.number


def _held_at(entry: Entry) -> float:
    return entry.act.held_at


def _up_to(entries: list[Entry], until: float | None) -> list[Entry]:
    return entries if until is None else entries[: bisect_right(entries, until, key=_held_at)]
