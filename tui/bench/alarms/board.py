"""Conditions of alarms: on-delay, raising, clearing, each on the time of the readings.

A condition that a reading shows holds until another reading denies it: with a log that gives a row
every half hour an on-delay of a minute has passed a minute after the reading, not at the next row.
"""

from collections.abc import Iterable
from dataclasses import replace
from math import inf
from typing import Self

from tui.bench.alarms.spells import Priority, Spell
from tui.bench.twins import twin

KEPT = 400
"""Ended spells of one cell that are kept; chattering must not fill the memory."""

Key = tuple[str, str | None, Priority, str]


class Condition:
    """One thing that must not be, and since when it is."""

    __slots__ = (
        "_bad", "_good", "_known", "_raised_at", "_since", "_well_until", "about", "delay_s",
        "good_rows", "kind", "message", "priority", "reason", "rows", "rule",
    )  # fmt: skip

    def __init__(
        self,
        kind: str,
        about: str | None,
        priority: Priority,
        reason: str,
        delay_s: float,
        rows: int,
        good_rows: int,
    ) -> None:
        self.kind, self.about, self.priority, self.reason = kind, about, priority, reason
        self.delay_s, self.rows, self.good_rows = delay_s, rows, good_rows
        self.message = ""
        self.rule = 0
        """Place of the rule that tells it."""
        self._since: float | None = None
        self._known = False
        """Whether that is an onset that a reading showed, not the moment of the reading."""
        self._raised_at: float | None = None
        self._well_until: float | None = None
        self._bad = self._good = 0

    def copy(self) -> "Condition":
        """An independent condition in the same state; a board has half a hundred."""
        other = Condition.__new__(Condition)
        other.kind, other.about = self.kind, self.about
        other.priority, other.reason = self.priority, self.reason
        other.delay_s, other.rows, other.good_rows = self.delay_s, self.rows, self.good_rows
        other.message, other.rule = self.message, self.rule
        other._since, other._known, other._raised_at = self._since, self._known, self._raised_at
        other._well_until, other._bad, other._good = self._well_until, self._bad, self._good
        return other

    @property
    def key(self) -> Key:
        """By which its board knows it."""
        return self.kind, self.about, self.priority, self.reason

    @property
    def raised(self) -> bool:
        """Whether it has lasted for its delay; rules clear at another level than they raise."""
        return self._raised_at is not None

    @property
    def pending(self) -> bool:
        """Whether it is so, and its delay has not passed."""
        return self._since is not None and self._raised_at is None

    @property
    def quiet(self) -> bool:
        """Whether there is nothing that a well reading could end."""
        return self._since is None

    @property
    def due(self) -> float:
        """When its delay has passed. [s]"""
        return inf if self._since is None else self._since + self.delay_s

    def tell(self, so: bool, time: float, message: str, since: float | None = None) -> Spell | None:
        """Follow one reading; a spell that it ends, if any.

        Args:
            so: whether the reading shows it.
            time: of the reading. [s]
            message: what was read; that of the reading which raises it stays.
            since: its onset, where the reading shows that it has been so for a while. [s]
        """
        if not so:
            return self._well(time)
        self._good = 0
        if self._since is None:
            self._since, self._bad = time if since is None else min(since, time), 0
            self._known = since is not None
        elif since is not None and not self._known and self._raised_at is None:
            self._since, self._known = min(self._since, since), True
        self._bad += 1
        if self._raised_at is None:
            self.message = message
            if self._bad >= self.rows or time >= self._since + self.delay_s:
                self._raised_at = min(time, self._since + self.delay_s)
        return None

    def pass_time(self, now: float) -> None:
        """What was so at the last reading is so until another one denies it."""
        if (
            self._since is not None
            and self._raised_at is None
            and now >= self._since + self.delay_s
        ):
            self._raised_at = self._since + self.delay_s

    def _well(self, time: float) -> Spell | None:
        if self._raised_at is not None:
            self._good += 1
            if self._good < self.good_rows:
                return None
        ended = self.end(time)
        self._well_until = time
        return ended

    def end(self, time: float, *, by_phase: bool = False) -> Spell | None:
        """It is no longer so, or no longer judged; the spell that ends with it, if any."""
        spell = self.spell
        self._since = self._raised_at = None
        self._bad = self._good = 0
        return None if spell is None else replace(spell, cleared_at=time, by_phase=by_phase)

    @property
    def spell(self) -> Spell | None:
        """As it lasts; None while it is not raised."""
        if self._since is None or self._raised_at is None:
            return None
        return Spell(
            self.kind, self.about, self.priority, self._since, self._raised_at,
            message=self.message, reason=self.reason, well_until=self._well_until,
        )  # fmt: skip


class Board:
    """All conditions of one cell, and the spells that have ended."""

    def __init__(self) -> None:
        self.conditions: dict[Key, Condition] = {}
        self.rule = 0
        """Place of the rule that makes its conditions now."""
        self.judged: frozenset[str] = frozenset()
        """Kinds that are judged in the present phase; others are not told."""
        self._pending: tuple[Key, ...] = ()
        """Of those that wait for their delay to pass."""
        self._ended: tuple[Spell, ...] = ()

    def copy(self) -> Self:
        """An independent board in the same state."""
        other = twin(self)
        other.conditions = {key: one.copy() for key, one in self.conditions.items()}
        return other

    def condition(
        self,
        kind: str,
        priority: Priority,
        *,
        about: str | None = None,
        reason: str = "",
        delay_s: float = inf,
        rows: float = inf,
        good_rows: float = 1,
    ) -> Condition:
        """A new condition: raised after `delay_s`, or by `rows` readings that say so, if sooner.

        With neither given it is raised by its first reading.
        """
        if delay_s == rows == inf:
            rows = 1
        number = int(rows) if rows < inf else 1 << 60
        made = Condition(kind, about, priority, reason, delay_s, number, int(good_rows))
        made.rule = self.rule
        self.conditions[made.key] = made
        return made

    def tell(
        self,
        which: Condition,
        so: bool,
        time: float,
        message: str = "",
        since: float | None = None,
    ) -> None:
        """Follow one reading of one condition; the usual case, well and quiet, costs little."""
        if which.kind not in self.judged:
            return
        if so or which._since is not None:
            ended = which.tell(so, time, message, since)
            if ended is not None:
                self._keep(ended)
            if which.pending and which.key not in self._pending:
                self._pending = (*self._pending, which.key)
        else:
            which._well_until = time

    def pass_time(self, now: float) -> None:
        """Raise what is so since long enough by a moment."""
        if self._pending:
            waiting = [self.conditions[key] for key in self._pending]
            for one in waiting:
                one.pass_time(now)
            self._pending = tuple(one.key for one in waiting if one.pending)

    @property
    def due(self) -> float:
        """When the next condition is raised if no reading comes. [s]"""
        return min((self.conditions[key].due for key in self._pending), default=inf)

    def leave(self, which: Iterable[Condition], time: float) -> None:
        """The phase in which these are judged is over."""
        for one in which:
            if not one.quiet and (ended := one.end(time, by_phase=True)) is not None:
                self._keep(ended)

    def _keep(self, ended: Spell) -> None:
        self._ended = (*self._ended[-KEPT + 1 :], ended)

    def spells(self, now: float) -> tuple[Spell, ...]:
        """All that was raised by a moment, in the order of raising."""
        self.pass_time(now)
        open_ones = (one.spell for one in self.conditions.values())
        found = [*self._ended, *(spell for spell in open_ones if spell is not None)]
        return tuple(sorted(found, key=lambda spell: (spell.raised_at, spell.kind)))
