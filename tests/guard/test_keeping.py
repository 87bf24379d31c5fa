"""One beat after the other, with everything that may fail on the way."""

import json
import sqlite3
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from made import BY, DAY, StandIn, bench, cell, spell

from tui.bench.clock import HandClock
from tui.bench.picture import Bench
from tui.guard import post
from tui.guard.duty import Duty
from tui.guard.keeping import Keeping
from tui.guard.kit import Kit
from tui.guard.letters import Letter
from tui.guard.routes import AddressError
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.journal.tables import JournalError
from tui.settings.alarm_tables import BenchAlarms
from tui.settings.problems import Problem


class Line:
    """A route as a test wants it."""

    def __init__(self) -> None:
        self.letters: list[Letter] = []
        self.error: Exception | None = None
        self.hangs: threading.Event | None = None

    def send(self, letter: Letter, at: float) -> None:
        if self.hangs is not None:
            self.hangs.wait(30)
        if self.error is not None:
            raise self.error
        self.letters.append(letter)

    @property
    def subjects(self) -> list[str]:
        return [one.subject for one in self.letters]


class Watch:
    """A watch over a picture, with two routes, all of it in this process."""

    def __init__(self, root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.root = root
        self.clock, self.tick = HandClock(DAY), 0.0
        self.lines = {"https://a": Line(), "https://b": Line()}
        monkeypatch.setattr(post, "way_of", self._way)
        monkeypatch.setenv("WAY_A", "https://a")
        monkeypatch.setenv("WAY_B", "https://b")
        self.heart = root / "heart"
        monkeypatch.setenv("HEART", f"file:{self.heart}")
        self.alarms = BenchAlarms.model_validate(
            {
                "routes": [{"name": "A", "to": "env:WAY_A"}, {"name": "B", "to": "env:WAY_B"}],
                "heartbeat": {"url": "env:HEART", "every": "5 min"},
            }
        )
        self.said: list[str] = []
        self.following = StandIn(self.clock.now, bench(DAY, cell("C1")))
        self.journal = Journal.open(root)
        self.duty = Duty(root)
        assert self.duty.take(self.clock.now()) is None
        self.keeping = self.begin()

    def _way(self, address: str) -> Line:
        if address not in self.lines:
            raise AddressError("the address begins with none of the forms")
        return self.lines[address]

    def begin(self) -> Keeping:
        kit = Kit(
            self.root, self.following, self.clock, lambda: self.tick, lambda: self.alarms, BY,
            self.said.append, lambda: None,
        )  # fmt: skip
        return Keeping(kit, self.journal, self.duty)

    @property
    def a(self) -> Line:
        return self.lines["https://a"]

    @property
    def b(self) -> Line:
        return self.lines["https://b"]

    def beat(self, after_s: float = 1.0) -> None:
        """One beat, and what it sends comes back."""
        self.clock.set(self.clock.now() + after_s)
        self.tick += after_s
        self.keeping.beat()
        self.settle()

    def settle(self) -> None:
        deadline = time.monotonic() + 5
        while self.keeping.is_busy and time.monotonic() < deadline:
            if self.a.hangs or self.b.hangs:
                time.sleep(0.05)
                self.keeping.collect()
                return
            time.sleep(0.001)
            self.keeping.collect()

    def show(self, picture: Bench) -> None:
        self.following.picture = picture

    def entered(self, kind: str) -> list[str]:
        return [one.act.text for one in self.journal.entries() if one.act.kind == kind]


@pytest.fixture
def watch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Watch]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = tmp_path / "bench"
    root.mkdir()
    made = Watch(root, monkeypatch)
    yield made
    made.journal.close()
    made.duty.leave()


ON = bench(DAY, cell("C1", (spell(DAY, raised_at=DAY),)))


def test_what_is_raised_is_journalled_and_told_by_every_route_once(watch: Watch) -> None:
    watch.show(ON)
    for _ in range(5):
        watch.beat()
    assert watch.entered("raised") == ["cell pressure 990 kPa"]
    assert watch.entered("notified") == ["raised", "raised"]
    assert watch.a.subjects == watch.b.subjects == ["URGENT: C1: over-pressure - Ferry quay"]
    watch.keeping = watch.begin()  # a restart knows all that
    watch.beat()
    assert len(watch.a.letters) == 1


def test_a_route_that_hangs_delays_nothing_else(watch: Watch) -> None:
    watch.a.hangs = threading.Event()
    watch.show(ON)
    begun = time.monotonic()
    for _ in range(3):
        watch.beat()
    assert time.monotonic() - begun < 2.0
    assert len(watch.b.letters) == 1
    assert watch.a.letters == []
    watch.beat(after_s=91)  # given up: it counts as failed, and is tried again
    watch.a.hangs.set()
    watch.a.hangs = None
    watch.beat(after_s=6)
    assert watch.a.subjects[-1] == "URGENT: C1: over-pressure - Ferry quay"


def test_a_route_that_fails_is_told_by_the_other_once_and_goes_on(watch: Watch) -> None:
    watch.a.error = ConnectionRefusedError("https://a?token=hunter2")
    watch.show(ON)
    for _ in range(12):
        watch.beat(after_s=20)
    failing = [one for one in watch.b.subjects if "the route A fails" in one]
    assert failing == [
        "URGENT: the route A fails: the connection was refused; it is tried again and again - "
        "Ferry quay"
    ]
    duty = json.loads((watch.root / ".porewatch" / "duty.json").read_text())
    assert duty["troubles"] == [
        "the route A fails: the connection was refused; it is tried again and again"
    ]
    watch.a.error = None
    watch.beat(after_s=121)
    watch.beat(after_s=31)
    watch.beat(after_s=31)
    assert watch.a.subjects[0] == "URGENT: C1: over-pressure - Ferry quay"
    assert any(one.startswith("Over: the route A fails") for one in watch.b.subjects)
    everything = " ".join([*watch.said, *watch.entered("duty"), *watch.b.subjects])
    assert "hunter2" not in everything


def test_an_address_that_is_none_is_told_at_once(
    watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("WAY_A")
    watch.show(ON)
    watch.beat()
    watch.beat()
    watch.beat(after_s=31)
    (line,) = watch.entered("duty")
    assert "the variable WAY_A is not set" in line
    assert any("WAY_A" in one for one in watch.b.subjects)


def test_a_full_disk_ends_no_watch(watch: Watch, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = watch.journal.add_all

    def full(entries: Sequence[Entry]) -> tuple[int, ...]:
        raise JournalError("the disk is full")

    monkeypatch.setattr(watch.journal, "add_all", full)
    watch.show(ON)
    for _ in range(3):
        watch.beat()
    watch.beat(after_s=31)
    assert watch.a.subjects[0] == "URGENT: C1: over-pressure - Ferry quay"
    assert any("the journal takes nothing" in one for one in watch.a.subjects)
    assert len(watch.a.subjects) == 2
    monkeypatch.setattr(watch.journal, "add_all", whole)
    watch.beat()
    assert watch.entered("raised") == ["cell pressure 990 kPa"]
    assert watch.entered("notified").count("raised") == 4
    watch.beat()
    assert any(one.startswith("over: the journal") for one in watch.entered("duty"))


def test_while_the_bench_is_away_its_entries_wait_for_it(watch: Watch) -> None:
    watch.beat()
    watch.keeping.enter("on duty")
    away = watch.root.with_name("away")
    watch.root.rename(away)
    watch.show(ON)
    watch.beat()
    watch.beat()
    assert watch.a.subjects[0] == "URGENT: C1: over-pressure - Ferry quay"
    assert not watch.root.exists()  # nothing was begun anew in its place
    away.rename(watch.root)
    watch.beat()
    assert watch.entered("raised") == ["cell pressure 990 kPa"]


@pytest.mark.parametrize("error", [OSError(5, "I/O"), ValueError("x"), sqlite3.OperationalError()])
def test_a_look_that_fails_ends_no_watch(watch: Watch, error: Exception) -> None:
    watch.following.fails = error
    watch.beat()
    watch.beat()
    assert any("could not be looked at" in one for one in watch.said)
    watch.following.fails = None
    watch.show(ON)
    watch.beat()
    watch.beat()
    assert "URGENT: C1: over-pressure - Ferry quay" in watch.a.subjects


def test_a_cell_that_is_not_watched_is_told_after_a_minute_and_stops_the_heart(
    watch: Watch,
) -> None:
    broken = Problem("error", 'zone = "x" is none', "mend it", "C2/cell.toml")
    watch.beat()
    assert watch.heart.exists()
    watch.heart.unlink()
    watch.show(bench(DAY, cell("C1"), replace(cell("C2"), problems=(broken,))))
    watch.beat(after_s=400)
    assert watch.a.letters == []
    watch.beat(after_s=30)
    watch.beat(after_s=61)
    (subject,) = watch.a.subjects
    assert subject.startswith("URGENT: C2 is not watched, no alarm of it can come: C2/cell.toml")
    assert not watch.heart.exists()
    watch.show(bench(DAY, cell("C1"), cell("C2")))
    watch.beat()
    assert watch.heart.exists()
    watch.beat(after_s=31)
    assert watch.a.subjects[1].startswith("Over: C2 is not watched")


def test_the_heart_beats_at_most_as_often_as_it_should(watch: Watch) -> None:
    watch.beat()
    beats = 0
    for _ in range(60):
        watch.heart.unlink(missing_ok=True)
        watch.beat(after_s=10)
        beats += watch.heart.exists()
    assert beats == 2  # in ten minutes, every five


def test_a_heartbeat_that_is_not_taken_is_told(
    watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HEART", "file:/nowhere/hunter2/heart")
    for _ in range(6):
        watch.beat(after_s=20)
    watch.beat(after_s=31)
    assert any("the heartbeat is not taken" in one for one in watch.a.subjects)
    assert "hunter2" not in " ".join([*watch.said, *watch.entered("duty")])


def test_settings_that_change_are_followed(watch: Watch) -> None:
    watch.alarms = BenchAlarms.model_validate({"routes": [{"name": "B", "to": "env:WAY_B"}]})
    watch.show(ON)
    watch.beat()
    assert (len(watch.a.letters), len(watch.b.letters)) == (0, 1)
