"""What the journal says was raised, cleared and told: all that a restarted watch knows.

A line of the ledger is a spell of the picture as it stood when it was journalled. Its onset, as it
was written then, is part of its key and never changes, however often the history is told anew.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import inf

from tui.journal.acts import Act

WATCH = "watch"
"""Stands for the kind of what is wrong with the watch itself; the journal calls it "duty"."""
_ENOUGH = 500
"""Of what a route has carried, so many of the newest are looked at: a flood is far less."""


@dataclass(frozen=True, slots=True)
class Key:
    """By which entries about one spell find each other."""

    cell: str
    """Folder of the cell; "" for the bench."""
    test: str | None
    kind: str
    about: str | None
    priority: str
    since: float
    """Onset, as it was journalled first. [s]"""

    @property
    def identity(self) -> tuple[str, str | None, str, str | None, str]:
        """What remains when the history is told anew."""
        return self.cell, self.test, self.kind, self.about, self.priority


@dataclass(frozen=True, slots=True)
class Line:
    """One spell as the journal has it."""

    key: Key
    raised_at: float
    text: str
    cleared_at: float | None = None
    why_cleared: str = ""


@dataclass(frozen=True, slots=True)
class Telling:
    """That somebody was told of it: by which route, what, and when."""

    what: str
    """"raised", "after a shelf", "reminder" or "cleared"."""
    at: float


class Ledger:
    """Grows by entries; the same whether they were read from the journal or were just written."""

    def __init__(self, acts: Iterable[Act] = ()) -> None:
        self._lines: dict[Key, Line] = {}
        self._of: dict[tuple[str, str | None, str, str | None, str], list[Key]] = {}
        self._open: dict[Key, None] = {}
        self._told: dict[Key, dict[str, list[Telling]]] = {}
        self._waits_for_end: dict[str, dict[Key, None]] = {}
        self._sent: dict[str, list[float]] = {}
        self._last: dict[tuple[str, str], float] = {}
        self.worked: dict[str, float] = {}
        """When a route last worked, by its name. [s]"""
        self.take(acts)

    def take(self, acts: Iterable[Act]) -> None:
        """Take more entries, in the order in which they were entered."""
        for act in acts:
            if act.kind == "notified":
                self._take_telling(act)
            elif act.kind in ("raised", "cleared", "duty") and act.since is not None:
                self._take_line(act)

    def _take_line(self, act: Act) -> None:
        key = key_of(act)
        over = act.kind == "cleared" or (act.kind == "duty" and act.until is not None)
        known = self._lines.get(key)
        if not over:
            if known is None:
                self._lines[key] = Line(key, act.held_at, act.text)
                self._of.setdefault(key.identity, []).append(key)
                self._open[key] = None
        elif known is not None and known.cleared_at is None:
            self._lines[key] = replace(known, cleared_at=act.held_at, why_cleared=act.text)
            self._open.pop(key, None)

    def _take_telling(self, act: Act) -> None:
        if act.route is None:
            return
        self.worked[act.route] = max(act.held_at, self.worked.get(act.route, -inf))
        if act.since is None:
            return  # a trial of the route
        key = key_of(act)
        by_route = self._told.setdefault(key, {})
        by_route.setdefault(act.route, []).append(Telling(act.text, act.held_at))
        waiting = self._waits_for_end.setdefault(act.route, {})
        if act.text == "cleared":
            waiting.pop(key, None)
        else:
            waiting[key] = None
        self._sent.setdefault(act.route, []).append(act.held_at)
        if act.priority == "urgent" and act.text != "cleared":
            place = (act.route, act.cell)
            self._last[place] = max(act.held_at, self._last.get(place, -inf))

    def open(self) -> Iterator[Line]:
        """What was raised and is not cleared."""
        return (self._lines[key] for key in tuple(self._open))

    def ended(self, route: str) -> Iterator[Line]:
        """What a route has told of, and is over, and it has not told that."""
        for key in tuple(self._waits_for_end.get(route, ())):
            line = self._lines.get(key)
            if line is not None and line.cleared_at is not None:
                yield line

    def overlapping(
        self,
        identity: tuple[str, str | None, str, str | None, str],
        since: float,
        until: float | None,
    ) -> list[Line]:
        """The lines of the same thing that share time with a spell."""
        lines = [self._lines[key] for key in self._of.get(identity, ())]
        return [one for one in lines if shares(one.key.since, one.cleared_at, since, until)]

    def told(self, key: Key, route: str) -> list[Telling]:
        """What was told of it by a route."""
        return self._told.get(key, {}).get(route, [])

    def sent_since(self, route: str, moment: float) -> int:
        """How many announcements a route has carried since then, as far as it matters."""
        return sum(at >= moment for at in self._sent.get(route, ())[-_ENOUGH:])

    def last_urgent(self, route: str, cell: str) -> float:
        """When a route last carried something urgent about a cell. [s]"""
        return self._last.get((route, cell), -inf)

    def last_of_all(self, route: str) -> float:
        """When a route last carried anything. [s]"""
        return max(self._sent.get(route, ())[-_ENOUGH:], default=-inf)


def key_of(act: Act) -> Key:
    """The key of an entry about a spell."""
    kind = act.alarm or WATCH
    return Key(act.cell, act.test, kind, act.about, act.priority or "", act.since or 0.0)


def shares(a: float, a_end: float | None, b: float, b_end: float | None) -> bool:
    """Whether two stretches share time; one without an end lasts. [s]"""
    first_end, second_end = (inf if end is None else end for end in (a_end, b_end))
    return a == b or (a < second_end and b < first_end)
