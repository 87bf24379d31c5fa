"""A watch that is cut off between any two steps: nothing is raised twice, nothing is lost.

A restart forgets all memory and reads the journal again. What a kill does to the journal's own file
is tried with processes in `tests/real/test_guard_processes.py`.
"""

import os
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from made import BY, DAY, StandIn, alarm, bench, cell, spell

from tui.bench.alarms.spells import Spell
from tui.bench.clock import HandClock
from tui.bench.picture import Bench
from tui.guard import errands, post
from tui.guard.keeping import Keeping
from tui.guard.kit import Kit
from tui.guard.letters import Letter
from tui.journal.entries import Entry
from tui.settings.alarm_tables import BenchAlarms

STORIES = int(os.environ.get("POREWATCH_STORIES", "25"))
"""In short; with 500 of them there are ten thousand restarts."""
LIVES = 20
"""Of each story."""


class Cut(BaseException):
    """The process is gone."""


class Cuts:
    """Cuts a process off at any step, with some probability."""

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance
        self.probability = 0.0
        self.made = 0

    def maybe(self) -> None:
        if self._chance.random() < self.probability:
            self.made += 1
            raise Cut


class Kept:
    """A journal of entries that stay, all of one call or none."""

    refused = None

    def __init__(self, cuts: Cuts) -> None:
        self.all: list[Entry] = []
        self._cuts = cuts

    def entries(self) -> tuple[Entry, ...]:
        return tuple(self.all)

    def add_all(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        self._cuts.maybe()
        first = len(self.all) + 1
        for number, entry in enumerate(entries, start=first):
            self.all.append(replace(entry, act=replace(entry.act, entry=number)))
        self._cuts.maybe()
        return tuple(range(first, len(self.all) + 1))


class Line:
    """A route that takes messages, or does not answer for a while."""

    def __init__(self, cuts: Cuts) -> None:
        self.carried: Counter[tuple[str, str, float]] = Counter()
        self.is_dead = False
        self._cuts = cuts

    def send(self, letter: Letter, at: float) -> None:
        self._cuts.maybe()
        if self.is_dead:
            raise ConnectionRefusedError
        for one in letter.document["notices"]:
            self.carried[one["what"], one["kind"], one["since"]] += 1
        self._cuts.maybe()


class Onlooker:
    """The duty of another test (`test_duty.py`)."""

    refused = None

    def beat(self, now: float, evaluated: dict[str, object]) -> None: ...


def drawn(chance: random.Random) -> list[Spell]:
    """A few spells of one cell, one after the other for each kind."""
    found = []
    for kind in ("over-pressure", "log-silent", "leak-membrane"):
        at = DAY + chance.uniform(0, 300)
        for _ in range(chance.randint(0, 3)):
            lasts = chance.choice((5.0, 60.0, 400.0))
            found.append(spell(at, at + lasts, kind=kind, raised_at=at + 1))
            at += lasts + chance.uniform(20, 400)
    if chance.random() < 0.5:  # one that stands to the end
        at = DAY + chance.uniform(0, 900)
        found.append(spell(at, kind="shear-stopped", raised_at=at + 1))
    return found


def as_of(story: list[Spell], at: float) -> Bench:
    known = [
        replace(one, cleared_at=one.cleared_at if (one.cleared_at or 0) <= at else None)
        for one in story
        if one.raised_at <= at
    ]
    standing = tuple(alarm(one) for one in known if one.cleared_at is None)
    return bench(at, cell("C1", tuple(known), alarms=standing))


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Errands are run where they begin, so that a cut may fall within one."""

    def run(work: Callable[[], None], name: str) -> None:
        work()

    monkeypatch.setattr(errands, "_start", run)


def test_many_restarts(at_once: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POREWATCH_A", "https://nowhere.invalid/")
    alarms = BenchAlarms.model_validate({"routes": [{"name": "phone", "to": "env:POREWATCH_A"}]})
    restarts = told_twice = cuts_made = 0
    for seed in range(STORIES):
        chance = random.Random(seed)
        cuts = Cuts(chance)
        journal, line, story = Kept(cuts), Line(cuts), drawn(chance)
        monkeypatch.setattr(post, "way_of", lambda _, line=line: line)
        clock = HandClock(DAY)
        for life in range(LIVES + 1):
            last = life == LIVES
            cuts.probability = 0.0 if last else 0.15
            line.is_dead = not last and chance.random() < 0.2
            following = StandIn(clock.now, as_of(story, clock.now()))
            kit = Kit(
                Path("b"), following, clock, clock.now, lambda: alarms, BY, lambda _: None,
                lambda: None,
            )  # fmt: skip
            restarts += 1
            try:
                keeping = Keeping(kit, journal, Onlooker())  # type: ignore[arg-type]
                for _ in range(40 if last else chance.randint(1, 12)):
                    clock.set(clock.now() + chance.uniform(1, 30))
                    following.picture = as_of(story, clock.now())
                    keeping.beat()
            except Cut:
                pass
            if last:
                clock.set(clock.now() + 3000)
                following.picture = as_of(story, clock.now())
                keeping.beat()
                keeping.beat()
        cuts_made += cuts.made
        acts = [entry.act for entry in journal.all]
        for kind in ("raised", "cleared"):
            entered = Counter((a.alarm, a.since) for a in acts if a.kind == kind)
            over = [one for one in story if kind == "raised" or one.cleared_at]
            assert entered == Counter((one.kind, one.since) for one in over), (seed, kind)
        notified = Counter(
            (a.text, a.alarm, a.since) for a in acts if a.kind == "notified" and a.alarm
        )
        raised = {key[1:] for key in notified if key[0] == "raised"}
        cleared = {key[1:] for key in notified if key[0] == "cleared"}
        standing = {(one.kind, one.since) for one in story if one.cleared_at is None}
        assert standing <= raised, seed  # what stands was told, whatever had been cut
        assert cleared == raised - standing, seed  # and who was told of it was told of its end
        assert all(count == 1 for key, count in notified.items() if key[0] != "reminder"), seed
        carried, written = sum(line.carried.values()), sum(notified.values())
        assert carried >= written, seed  # nothing is written down as told that was not
        told_twice += carried - written
    assert restarts == STORIES * (LIVES + 1)
    assert cuts_made > 4 * STORIES
    # A message that was taken in the very moment of the kill comes again: better twice than never.
    assert told_twice < cuts_made
