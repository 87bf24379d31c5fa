"""Somebody edits a log that was read already: said by who watches and by who looks again."""

import os
import shutil
import time
from pathlib import Path

import pytest

from tui.bench import following
from tui.bench.clock import HandClock
from tui.bench.following import Following
from tui.bench.look import look
from tui.bench.one_test import read_test
from tui.bench.picture import Bench
from tui.settings.places import read_layout

SAID = "C1/log.csv was changed in what was read already"
HEADER = "time,cell_pressure_kPa\n"
CELL = """[cell]
name = "C1"
[test]
id = "T1"
kind = "CU"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(following, "WORTH_ROWS", 100)
    root = tmp_path / "bench"
    (root / "C1").mkdir(parents=True)
    (root / "bench.toml").write_text('zone = "UTC"\n', encoding="utf-8")
    (root / "C1" / "cell.toml").write_text(CELL, encoding="utf-8")
    stamps = (
        f"2031-02-03T{8 + k // 3600:02d}:{k // 60 % 60:02d}:{k % 60:02d}" for k in range(5000)
    )
    log = "".join(f"{stamp},{k}\n" for k, stamp in enumerate(stamps))
    (root / "C1" / "log.csv").write_text(HEADER + log, encoding="utf-8")
    return root


def edit(root: Path) -> None:
    """Another number in the middle, the length as before."""
    path = root / "C1" / "log.csv"
    path.write_bytes(path.read_bytes().replace(b",2500\n", b",2600\n"))
    os.utime(path, ns=(1, 1))


def said(picture: Bench) -> list[str]:
    return [problem.what for cell in picture.cells for problem in cell.problems]


def followed(live: Following, wanted: str | None, beats: int) -> Bench:
    """Beat until something is said (or a number of times), 10 s at most."""
    for beat in range(500):
        picture = live.beat()
        rows = [cell.rows_used for cell in picture.cells]
        found = any(wanted in what for what in said(picture)) if wanted else beat >= beats
        if rows == [5000] and found:
            return picture
        time.sleep(0.02)  # the watcher has a thread of its own
    raise AssertionError(f"{wanted} was not said: {said(picture)}")


def test_who_watches_says_it(bench: Path) -> None:
    live = Following.live(bench, HandClock(0.0))
    try:
        assert not any(SAID in what for what in said(followed(live, None, 10)))
        edit(bench)
        followed(live, SAID, 0)
    finally:
        live.close()


def test_a_look_that_goes_on_from_a_checkpoint_says_it(bench: Path) -> None:
    live = Following.live(bench, HandClock(0.0))
    try:
        followed(live, None, 40)
    finally:
        live.close()
    assert not any(SAID in what for what in said(look(bench)))
    edit(bench)
    assert any(SAID in what for what in said(look(bench)))


def test_a_look_that_reads_all_anew_has_nothing_to_say(bench: Path) -> None:
    edit(bench)
    picture = look(bench)
    assert not any(SAID in what for what in said(picture))
    copy = bench.parent / "copy"
    shutil.copytree(bench, copy)
    assert said(look(copy)) == said(picture)


def test_who_reduces_is_told(bench: Path) -> None:
    """Also when everybody has read the log anew since."""
    layout = read_layout(bench)
    assert read_test(layout, layout.places[0]).record.edited_logs == ()
    live = Following.live(bench, HandClock(0.0))
    try:
        followed(live, None, 40)
        edit(bench)
        (edited,) = read_test(layout, layout.places[0]).record.edited_logs
        assert SAID in edited
        followed(live, SAID, 0)
        followed(live, None, 40)
    finally:
        live.close()
    (again,) = read_test(layout, layout.places[0]).record.edited_logs
    assert SAID in again
