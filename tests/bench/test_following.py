"""A bench followed live, replayed and standing: the same pictures from the same files."""

import shutil
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tui.bench import advance, following, row_fold
from tui.bench.checkpoints import load_checkpoints
from tui.bench.clock import HandClock
from tui.bench.following import Following
from tui.bench.look import look
from tui.bench.picture import Bench
from tui.feed import source, watch
from tui.feed.watch import News
from tui.journal.store import Journal
from tui.settings.places import read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"
PATIENCE_S = 20.0


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    folder = tmp_path / "bench"
    shutil.copytree(SAMPLES, folder, ignore=shutil.ignore_patterns(".porewatch"))
    return folder


class Heard:
    """Beats whenever the watcher says that something has come."""

    def __init__(self, folder: Path, clock: HandClock) -> None:
        self._news = threading.Event()
        self.following = Following.live(folder, clock)
        self.following.call_on_arrival(self._news.set)

    def wait(self, for_s: float) -> None:
        """Until the watcher says that something has come, or so long."""
        self._news.wait(for_s)
        self._news.clear()

    def until(self, told: object) -> Bench:
        bench = self.following.beat()
        while not told(bench):  # type: ignore[operator]
            assert self.following.waits or self._news.wait(PATIENCE_S), bench
            self._news.clear()
            bench = self.following.beat()
        return bench


def test_live_and_one_look_show_the_same(bench: Path) -> None:
    heard = Heard(bench, HandClock(0.0))
    try:
        live = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
    finally:
        heard.following.close()
    once = look(bench)
    assert live.cells == once.cells
    assert live.at == once.at
    assert not live.follows_clock


def test_what_was_said_counts_also_where_the_journal_is_read_before_the_folders(
    bench: Path,
) -> None:
    """The first beat does not wait for the reader: it has the journal, and no cell yet."""
    told = look(bench)
    (stalled,) = (alarm for cell in told.cells for alarm in cell.alarms if cell.cell == "C2")
    journal = Journal.open(bench)
    journal.add(
        "acknowledge", cell="C2", test="T012", alarm=stalled.kind, held_at=told.at - 60.0,
        entered_at=told.at, who="mira", host="lab",
    )  # fmt: skip
    journal.close()
    heard = Heard(bench, HandClock(0.0))
    # whatever the reader has to say comes behind the first beat
    drain, first = heard.following._source.drain, [News(None, ())]
    heard.following._source.drain = lambda: first.pop() if first else drain()  # type: ignore[method-assign]
    try:
        begun = heard.following.beat()
        assert begun.cells == ()
        live = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
    finally:
        heard.following.close()
    (known,) = (alarm for cell in live.cells for alarm in cell.alarms if cell.cell == "C2")
    assert (known.kind, known.state) == (stalled.kind, "acknowledged")


def test_what_was_said_counts_also_after_a_look_that_failed(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = Journal.open(bench)
    at = datetime(2031, 2, 5, 10, 50, tzinfo=UTC).timestamp()
    journal.add(
        "mark", cell="C6", test="T016", phase="shear", held_at=at, entered_at=at, who="mira",
        host="lab",
    )  # fmt: skip
    journal.close()
    heard = Heard(bench, HandClock(0.0))

    def fails() -> object:
        monkeypatch.undo()
        raise OSError("the share hangs")

    monkeypatch.setattr(heard.following._journal, "acts", fails)
    try:
        with pytest.raises(OSError, match="hangs"):
            heard.following.beat()
        live = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
    finally:
        heard.following.close()
    (phase,) = (cell.phase for cell in live.cells if cell.cell == "C6")
    assert phase is not None
    assert (phase.name, phase.source) == ("shear", "marks")


def test_what_came_before_a_look_that_failed_is_in_the_next_one(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows leave the reader once: they are kept though the picture of them cannot be made."""
    once, left = look(bench), [3, 2, 1]
    made = advance.visits

    def fails(*given: object) -> object:
        if left:
            raise RuntimeError(f"{left.pop()} to go")
        return made(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(advance, "visits", fails)
    heard = Heard(bench, HandClock(0.0))
    try:
        failed, until = 0, time.monotonic() + PATIENCE_S
        while left and time.monotonic() < until:
            heard.wait(0.2)
            try:
                heard.following.beat()
            except RuntimeError:
                failed += 1
        live = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
    finally:
        heard.following.close()
    assert failed == 3
    assert live.cells == once.cells


def test_a_backlog_in_portions_comes_to_the_same_picture(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(source, "MOST_ROWS", 40)
    monkeypatch.setattr(watch, "MOST_ROWS_AT_ONCE", 1)  # one arrival a beat
    once = look(bench)
    heard = Heard(bench, HandClock(0.0))
    waited = 0

    def all_read(picture: Bench) -> bool:
        nonlocal waited
        waited += heard.following.waits
        return [c.rows_used for c in picture.cells] == [c.rows_used for c in once.cells]

    try:
        live = heard.until(all_read)
    finally:
        heard.following.close()
    assert live.cells == once.cells
    assert waited > 5, "it was not told in portions"


def test_a_new_row_reaches_the_picture(bench: Path) -> None:
    log = bench / "C1" / "2031-02-05.csv"
    lines = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(b"".join(lines[:-1]))
    heard = Heard(bench, HandClock(0.0))
    try:
        before = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
        with log.open("ab") as end:
            end.write(lines[-1])
        after = heard.until(lambda b: b.cells[0].rows_used > before.cells[0].rows_used)
    finally:
        heard.following.close()
    assert after.cells[0].rows_used == before.cells[0].rows_used + 1
    assert after.cells[1:] == before.cells[1:]


@pytest.fixture
def few_rows_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(row_fold, "KEPT", 60)
    monkeypatch.setattr(row_fold, "STRIDE", 25)
    monkeypatch.setattr(following, "FINISHED_WORTH_ROWS", 100)


def without_line(log: Path, number: int) -> bytes:
    """Take a line out of a log; it may come late."""
    lines = log.read_bytes().splitlines(keepends=True)
    line = lines.pop(number)
    log.write_bytes(b"".join(lines))
    return line


@pytest.mark.usefixtures("few_rows_kept")
def test_a_row_later_than_all_that_is_kept_takes_its_place(bench: Path) -> None:
    """The log is read again from its start; meanwhile the picture stands."""
    log = sorted((bench / "C4").glob("*.csv"))[0]
    late = without_line(log, 20)
    heard = Heard(bench, HandClock(0.0))
    try:
        before = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
        with log.open("ab") as end:
            end.write(late)
        after = heard.until(lambda b: b.cells[3].rows_used != before.cells[3].rows_used)
    finally:
        heard.following.close()
    assert after.cells[3].rows_used == before.cells[3].rows_used + 1
    assert after.cells == look(bench).cells


@pytest.mark.usefixtures("few_rows_kept")
def test_a_look_reads_all_when_what_was_kept_does_not_reach_back(bench: Path) -> None:
    log = sorted((bench / "C4").glob("*.csv"))[0]
    late = without_line(log, 20)
    live = Following.live(bench, HandClock(0.0))
    try:
        for _ in range(500):
            live.beat()
            if len(load_checkpoints(read_layout(bench))) >= 5:
                break
            time.sleep(0.02)  # the watcher has a thread of its own
    finally:
        live.close()
    assert "C4" in load_checkpoints(read_layout(bench))
    with log.open("ab") as end:
        end.write(late)
    kept = look(bench)
    shutil.rmtree(bench / ".porewatch" / "checkpoints")
    assert kept.cells == look(bench).cells


def test_a_cell_whose_settings_break_is_shown_and_comes_back(bench: Path) -> None:
    settings = bench / "C2" / "cell.toml"
    whole = settings.read_text(encoding="utf-8")
    heard = Heard(bench, HandClock(0.0))
    try:
        before = heard.until(lambda b: len(b.cells) == 6 and all(c.told for c in b.cells))
        settings.write_text(whole.replace("diameter", "diametre"), encoding="utf-8")
        broken = heard.until(lambda b: not b.cells[1].told)
        assert [cell.told for cell in broken.cells] == [True, False, True, True, True, True]
        time.sleep(0.2)  # whatever else the change brings about
        broken = heard.following.beat()
        assert broken.cells[1].live == before.cells[1].live
        assert broken.cells[1].rows_used == before.cells[1].rows_used > 0
        assert any(p.file == "C2/cell.toml" and p.line for p in broken.cells[1].problems)
        settings.write_text(whole, encoding="utf-8")
        mended = heard.until(lambda b: all(c.told and not c.being_read for c in b.cells))
    finally:
        heard.following.close()
    assert mended.cells == look(bench).cells


def test_a_moment_shows_what_was_there_then(bench: Path) -> None:
    whole = look(bench)
    moment = whole.at - 3 * 3600.0
    standing = Following.fixed(bench, moment)
    then = standing.beat()
    assert then.at == moment
    assert not then.follows_clock
    for cell in then.cells:
        assert cell.live is None or cell.live.at <= moment
    assert sum(c.rows_used for c in then.cells) < sum(c.rows_used for c in whole.cells)
    assert standing.beat() is then


def test_a_replay_ends_with_the_picture_of_one_look(bench: Path) -> None:
    following = Following.replay(bench, speed=1e12)
    try:
        for _ in range(3):
            replayed = following.beat()
    finally:
        following.close()
    once = look(bench)
    assert replayed.at == once.at
    assert [replace(c, projection=None) for c in replayed.cells] == [  # type: ignore[arg-type]
        replace(c, projection=None)
        for c in once.cells  # type: ignore[arg-type]
    ]


def test_a_bench_without_rows_can_be_replayed(tmp_path: Path) -> None:
    following = Following.replay(tmp_path, speed=60.0)
    assert following.beat().cells == ()
    following.close()
