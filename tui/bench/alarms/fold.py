"""All alarms of one cell, folded row by row beside its phases.

Looks decide nothing here: the same readings raise the same alarms at the same times, whether
somebody looks every second or once.
"""

from collections.abc import Mapping
from math import inf
from typing import Self

from tui.bench.alarms.board import Board
from tui.bench.alarms.kinds import KINDS, judged_in
from tui.bench.alarms.rules import RULES
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.alarms.spells import Spell
from tui.bench.attended import Attended
from tui.bench.phases import Mark
from tui.bench.picture import Blind
from tui.bench.readings import Reading
from tui.bench.telling import Telling
from tui.bench.twins import twin
from tui.settings.cell_toml import CellToml

TIMED = tuple(place for place, rule in enumerate(RULES) if rule.due is not Rule.due)
"""Rules to which something happens without a reading."""
WITHOUT_READINGS = {
    "log-silent", "watch-sparse", "reading-missed", "schedule-ends-early", "phase-complete",
    "disk-low",
}  # fmt: skip
"""Kinds that are told although no reading comes."""


class Alarms:
    """The conditions of one cell as its readings tell them."""

    def __init__(
        self, settings: CellToml, attended: Attended | None, marks: tuple[Mark, ...]
    ) -> None:
        self.scene = Scene.of(settings, attended)
        self.board = Board()
        made: list[Rule] = []
        for place, rule in enumerate(RULES):
            self.board.rule = place
            made.append(rule(self.scene, self.board))
        self.rules = tuple(made)
        self._each: tuple[int, ...] = ()
        """Rules that want every reading, of those with something to judge in the present phase."""
        self._some: tuple[int, ...] = ()
        """Those of them for which one in `every_s` is enough."""
        self._next_at = -inf
        self._marks = marks
        self._place: tuple[str, str | None, float] | None = None
        self._now = -inf
        self._tell_marks()

    def _tell_marks(self) -> None:
        for rule in self.rules:
            rule.marks = self._marks

    def copy(self) -> Self:
        """Independent alarms in the same state."""
        other = twin(self)
        other.board = self.board.copy()
        other.rules = tuple(rule.copy(other.board) for rule in self.rules)
        return other

    def with_marks(self, marks: tuple[Mark, ...]) -> Self:
        """The same under other marks; those that hold by its newest reading are the same."""
        other = self.copy()
        other._marks = marks
        other._tell_marks()
        return other

    def add(
        self,
        reading: Reading,
        telling: Telling,
        gauges: Mapping[str, float] = {},
        *,
        live: bool = False,
    ) -> None:
        """Follow one reading, which `telling` has followed before.

        Args:
            reading: the next one of the log, or of the live file.
            telling: what it tells of phase and checks.
            gauges: what gauges show, of channels whose zero has moved.
            live: whether it stands in the live file alone.
        """
        told = telling.phases.told
        span = told.now
        time = reading.time
        self.pass_time(time)
        moment = Moment(
            reading, time, span.name, span.step, span.start, told, telling.checks, self._marks,
            live, gauges,
        )  # fmt: skip
        place = (span.name, span.step, span.start)
        if place != self._place:
            self._enter(place, moment)
        rules = self.rules
        for at in self._each:
            rules[at].add(moment)
        if not live and time < self._next_at:
            return
        for at in self._some:
            rule = rules[at]
            if live:
                rule.add(moment)
            elif time >= rule.next_at:
                rule.next_at = time + rule.every_s
                rule.add(moment)
        if not live:
            self._next_at = time + Rule.every_s

    def _enter(self, place: tuple[str, str | None, float], moment: Moment) -> None:
        before, self._place = self._place, place
        if before is None or before[:2] != place[:2]:
            self.board.judged = judged_in(place[0], place[1], self.scene.settings.test.kind)
            self.board.leave(
                [
                    one
                    for one in self.board.conditions.values()
                    if one.kind not in self.board.judged and not one.quiet
                ],
                moment.time,
            )
            self._choose_rules()
        self._next_at = -inf
        for rule in self.rules:
            rule.next_at = -inf
            rule.begin(moment)

    def _choose_rules(self) -> None:
        """Those with a kind that is judged now, and those that only follow what others ask."""
        kinds: dict[int, set[str]] = {}
        for one in self.board.conditions.values():
            kinds.setdefault(one.rule, set()).add(one.kind)
        judged = [
            at for at in range(len(RULES)) if at not in kinds or kinds[at] & self.board.judged
        ]
        self._each = tuple(at for at in judged if RULES[at].every_s == 0.0)
        self._some = tuple(at for at in judged if RULES[at].every_s > 0.0)

    def pass_time(self, now: float) -> None:
        """No reading has come until this moment: what was so is still so."""
        self.board.pass_time(now)
        for place in TIMED:
            if now >= self.rules[place].due:
                self.rules[place].pass_time(now)

    @property
    def due(self) -> float:
        """When the next thing happens if no reading comes. [s]"""
        return min([self.board.due, *(self.rules[place].due for place in TIMED)])

    def passed_to(self, now: float) -> Self:
        """As they stand if no reading has come until a moment, not before the newest one."""
        if now < self.due:
            passed = twin(self)  # nothing happens by then: what is shared stays as it is
        else:
            passed = self.copy()
            passed.pass_time(now)
        passed._now = now
        return passed

    def spells(self) -> tuple[Spell, ...]:
        """Everything that was raised by the moment to which time has passed."""
        return self.board.spells(self._now)

    def blind(self, has: frozenset[str], unforeseen: Mapping[str, str] = {}) -> tuple[Blind, ...]:
        """Kinds of the present phase that cannot be judged, and why.

        Args:
            has: channels that have shown a reading.
            unforeseen: kinds that rest on what cannot be foreseen, and why.
        """
        found: dict[str, str] = dict(unforeseen)
        for rule in self.rules:
            found |= rule.blind
        for kind in self.board.judged:
            missing = KINDS[kind].missing(has)
            if missing is not None:
                found[kind] = f"needs {missing}"
        silent = [one for one in self.board.conditions.values() if one.kind == "log-silent"]
        if any(one.raised for one in silent):
            # No news is no good news.
            found |= dict.fromkeys(self.board.judged - WITHOUT_READINGS, "no readings come")
        judged = (kind for kind in KINDS if kind in found and kind in self.board.judged)
        return tuple(Blind(kind, found[kind]) for kind in judged)
