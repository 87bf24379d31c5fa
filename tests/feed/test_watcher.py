"""The background thread over real files that a second process appends to."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from one_cell_bench import CELL, Told

from tui.feed import events, rounds, watch
from tui.feed.rows import Arrivals
from tui.feed.source import CellSource
from tui.feed.watch import Watcher, read_all
from tui.settings.places import Layout, read_layout

HEADER = "time,cell_pressure_kPa\n"
PATIENCE_S = 20.0
BEAT_S = 0.2
"""Whoever shows a bench looks by itself, too: what keeps a round waiting holds nothing back."""

APPEND = """
import sys
from pathlib import Path
paths = [Path(name) for name in sys.argv[2:]]
for number in range(int(sys.argv[1])):
    for path in paths:
        with path.open("a") as opened:
            opened.write(f"2031-02-03T08:{number // 60:02d}:{number % 60:02d},")
            opened.flush()
            opened.write(f"{number}.5\\n")
"""


class Watched:
    """A watcher, and what it told so far by cell."""

    def __init__(self, root: Path, sweep_s: float) -> None:
        self.woken = threading.Event()
        self.watcher = Watcher(root, sweep_s=sweep_s)
        self.watcher.call_on_arrival(self.woken.set)
        self.layouts: list[Layout] = []
        self.told: dict[str, Told] = {}
        self.watcher.start()

    def until(self, done: Callable[[], bool]) -> None:
        """Take news as they come until something is so."""
        end = time.monotonic() + PATIENCE_S
        while True:
            news = self.watcher.drain()
            if news.layout is not None:
                self.layouts.append(news.layout)
            for arrived in news.arrivals:
                self.told.setdefault(arrived.folder, Told()).add(arrived)
            if done():
                return
            left = end - time.monotonic()
            assert left > 0, f"nothing more after {PATIENCE_S} s: {self.told}"
            self.woken.wait(min(left, BEAT_S))
            self.woken.clear()

    def values(self, folder: str) -> list[float]:
        told = self.told.get(folder)
        return [] if told is None else told.values.get("cell_pressure", [])


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "bench.toml").write_text('zone = "UTC"\n', encoding="utf-8")
    for name in ("C1", "C2"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "cell.toml").write_text(CELL.replace("C1", name), encoding="utf-8")
        (tmp_path / name / "a.csv").write_text(HEADER, encoding="utf-8")
    return tmp_path


Begin = Callable[..., Watched]


@pytest.fixture
def begin(bench: Path) -> Iterator[Begin]:
    begun: list[Watched] = []

    def start(sweep_s: float = 2.0) -> Watched:
        begun.append(Watched(bench, sweep_s))
        return begun[-1]

    yield start
    for one in begun:
        one.watcher.stop()
        assert one.watcher._thread is not None
        assert not one.watcher._thread.is_alive()


def refuse(_: object) -> None:
    """As an observer that cannot start."""
    raise OSError(28, "inotify watch limit reached")


def append(bench: Path, count: int) -> None:
    paths = [str(bench / name / "a.csv") for name in ("C1", "C2")]
    subprocess.run([sys.executable, "-c", APPEND, str(count), *paths], check=True, timeout=60)


def test_rows_of_another_process_arrive(bench: Path, begin: Begin) -> None:
    watched = begin()
    watched.until(lambda: bool(watched.layouts))
    appending = threading.Thread(target=append, args=(bench, 200))
    appending.start()
    expected = [number + 0.5 for number in range(200)]
    watched.until(lambda: watched.values("C1") == watched.values("C2") == expected)
    appending.join()
    assert all(told.unused == [] and told.restarts == 0 for told in watched.told.values())
    assert len(watched.layouts) == 1


def test_an_event_is_heeded_before_the_next_sweep(bench: Path, begin: Begin) -> None:
    watched = begin(sweep_s=600.0)
    watched.until(lambda: bool(watched.layouts) and "C2" in watched.told)
    append(bench, 3)
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 3)


def test_what_one_round_finds_is_told_once_unless_the_round_takes_long(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[float] = []
    watcher = Watcher(bench)
    watcher.call_on_arrival(lambda: told.append(time.monotonic()))
    for name in ("C1", "C2"):
        watcher._put(Arrivals(name))
    assert told == []
    watcher._tell()
    watcher._tell()
    assert len(told) == 1
    monkeypatch.setattr("tui.feed.watch._TOGETHER_S", 0.0)  # as if a share kept it waiting
    watcher._put(Arrivals("C1"))
    assert len(told) == 2


def test_without_events_the_sweep_finds_the_rows(
    bench: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(events.Observer, "start", refuse)
    watched = begin(sweep_s=0.05)
    watched.until(lambda: bool(watched.layouts))
    notes = [problem.what for problem in watched.layouts[0].problems if problem.severity == "note"]
    assert any("no change events" in note for note in notes)
    append(bench, 3)
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 3)


def test_a_file_whose_stat_stands_still_is_opened_now_and_then(
    bench: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    stale = {bench / name / "a.csv": (bench / name / "a.csv").stat() for name in ("C1", "C2")}
    stat = Path.stat

    def as_a_share_tells(self: Path, *, follow_symlinks: bool = True) -> os.stat_result:
        return stale.get(self) or stat(self, follow_symlinks=follow_symlinks)

    monkeypatch.setattr(events.Observer, "start", refuse)
    monkeypatch.setattr(Path, "stat", as_a_share_tells)
    watched = begin(sweep_s=0.02)
    watched.until(lambda: bool(watched.layouts))
    append(bench, 2)
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 2)


def test_new_settings_tell_all_rows_anew(bench: Path, begin: Begin) -> None:
    append(bench, 4)
    watched = begin(sweep_s=0.1)
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 4)
    log = '[log.channels]\ncell_pressure = { column = "cell_pressure_kPa", unit = "bar" }\n'
    (bench / "C1" / "cell.toml").write_text(CELL + log, encoding="utf-8")
    watched.until(lambda: watched.values("C1") == [50.0, 150.0, 250.0, 350.0])
    assert watched.told["C1"].restarts == 1
    assert watched.told["C2"].restarts == 0
    assert len(watched.layouts) == 2


def test_a_new_cell_is_seen(bench: Path, begin: Begin) -> None:
    watched = begin(sweep_s=0.1)
    watched.until(lambda: bool(watched.layouts))
    (bench / "C3").mkdir()
    (bench / "C3" / "a.csv").write_text(HEADER + "2031-02-03T08:00,7\n", encoding="utf-8")
    (bench / "C3" / "cell.toml").write_text(CELL.replace("C1", "C3"), encoding="utf-8")
    watched.until(lambda: watched.values("C3") == [7.0])


def test_a_source_that_fails_is_named_and_the_others_go_on(
    bench: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    append(bench, 2)
    read = CellSource.read
    mended = threading.Event()

    def fail(self: CellSource, *, thorough: bool = True) -> Arrivals | None:
        if self._place.folder == "C1" and not mended.is_set():
            raise RuntimeError("no such thing")
        return read(self, thorough=thorough)

    monkeypatch.setattr(CellSource, "read", fail)
    layout = read_layout(bench)
    arrived = {one.folder: one for one in read_all(layout)}
    assert "no such thing" in (arrived["C1"].problems or ())[0].what
    assert arrived["C2"].rows is not None
    watched = begin(sweep_s=0.02)
    watched.until(lambda: "C1" in watched.told and len(watched.values("C2")) == 2)
    assert watched.told["C1"].said("no such thing").severity == "error"
    mended.set()
    watched.until(lambda: len(watched.values("C1")) == 2)
    assert watched.told["C1"].problems == ()


def test_a_log_that_has_grown_is_looked_at_once(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    append(bench, 2)
    arrived: list[Arrivals] = []
    looks: list[str] = []
    read = CellSource.read

    def count(self: CellSource, *, thorough: bool = True) -> Arrivals | None:
        looks.append(self._place.folder)
        return read(self, thorough=thorough)

    round_about = rounds.Rounds(
        bench, events.Events(lambda _: None), lambda _: None, lambda one: not arrived.append(one)
    )
    round_about.go(thorough=True)
    arrived.clear()
    monkeypatch.setattr(CellSource, "read", count)
    with (bench / "C2" / "a.csv").open("a") as log:
        log.write("2031-02-03T08:01:00,7\n")
    round_about.go_to({bench / "C2"})
    round_about.close()
    assert looks == ["C2"]
    assert [(one.folder, len(one.rows or ()), one.more) for one in arrived] == [("C2", 1, False)]


def test_nothing_new_is_nothing_told(bench: Path, begin: Begin) -> None:
    append(bench, 2)
    watched = begin(sweep_s=0.02)
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 2)
    swept = threading.Event()
    signature = rounds.layout_signature
    left = [30]

    def count(root: Path) -> object:
        left[0] -= 1
        if left[0] <= 0:
            swept.set()
        return signature(root)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rounds, "layout_signature", count)
        assert swept.wait(PATIENCE_S)
    news = watched.watcher.drain()
    assert (news.layout, news.arrivals) == (None, ())


def test_reading_pauses_while_nobody_takes_the_news(
    bench: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watch, "_MOST_WAITING", 1)
    append(bench, 5)
    watched = begin()
    watched.until(lambda: len(watched.values("C1")) == len(watched.values("C2")) == 5)


def test_everything_at_once(bench: Path) -> None:
    append(bench, 6)
    arrived = tuple(read_all(read_layout(bench)))
    assert [(one.folder, len(one.rows or ())) for one in arrived] == [("C1", 6), ("C2", 6)]


def test_until_a_log_is_read_to_its_end_its_cell_is_said_to_be_unread(
    bench: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    let = threading.Event()
    read = CellSource.read

    def held_up(self: CellSource, *, thorough: bool = True) -> Arrivals | None:
        if self._place.folder == "C2":
            assert let.wait(PATIENCE_S)
        return read(self, thorough=thorough)

    monkeypatch.setattr(CellSource, "read", held_up)
    (bench / "C1" / "a.csv").write_text(HEADER + "2031-02-03T08:00:00,1.5\n", encoding="utf-8")
    (bench / "C2" / "a.csv").unlink()  # nothing ever comes of it
    watched = begin(sweep_s=600.0)
    try:
        watched.until(lambda: watched.values("C1") == [1.5])
        end = time.monotonic() + PATIENCE_S
        while watched.watcher.drain().unread != {"C2"}:
            assert time.monotonic() < end
            time.sleep(0.01)
    finally:
        let.set()
    end = time.monotonic() + PATIENCE_S
    while watched.watcher.drain().unread and time.monotonic() < end:
        time.sleep(0.01)
    assert watched.watcher.drain().unread == frozenset()
