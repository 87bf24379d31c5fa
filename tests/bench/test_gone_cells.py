"""A cell whose folder goes away while it is watched stays on the screen, and says so."""

import shutil
from pathlib import Path

import pytest

from tui.bench.advance import advance, empty_bench
from tui.bench.picture import Bench
from tui.feed.watch import read_all
from tui.settings.places import read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    shutil.copytree(SAMPLES, tmp_path / "bench")
    return tmp_path / "bench"


def watched(root: Path) -> Bench:
    layout = read_layout(root)
    return advance(empty_bench(layout, 0.0), now=1.0, arrivals=read_all(layout))


def names(bench: Bench) -> list[str]:
    return [cell.cell for cell in bench.cells]


def test_it_keeps_its_place_and_its_last_picture(root: Path, tmp_path: Path) -> None:
    before = watched(root)
    shutil.move(root / "C3", tmp_path / "elsewhere")
    after = advance(before, now=2.0, layout=read_layout(root))
    assert names(after) == names(before)
    gone = after.cells[2]
    assert "C3 is gone or cannot be read" in gone.problems[0].what
    assert not gone.told
    assert gone.hands == ()
    assert gone.spans == before.cells[2].spans
    assert after.worst == "unknown"
    # also through later looks at other settings
    (root / "bench.toml").write_text("# changed\n" + (root / "bench.toml").read_text("utf-8"))
    later = advance(after, now=3.0, layout=read_layout(root))
    assert names(later) == names(before)


def test_it_comes_back_and_is_told_anew(root: Path, tmp_path: Path) -> None:
    before = watched(root)
    shutil.move(root / "C3", tmp_path / "elsewhere")
    away = advance(before, now=2.0, layout=read_layout(root))
    shutil.move(tmp_path / "elsewhere", root / "C3")
    layout = read_layout(root)
    back = advance(away, now=3.0, layout=layout)
    assert back.cells[2].rows_used == 0
    again = advance(back, now=4.0, arrivals=[a for a in read_all(layout) if a.folder == "C3"])
    assert again.cells[2].rows_used == before.cells[2].rows_used
    assert again.cells[2].told


def test_a_folder_that_was_renamed_is_no_cell_that_is_gone(root: Path) -> None:
    before = watched(root)
    (root / "C3").rename(root / "third")
    after = advance(before, now=2.0, layout=read_layout(root))
    assert names(after) == names(before)
    assert [cell.folder for cell in after.cells][2] == "third"


def test_a_broken_bench_says_in_which_zone_times_are_read(root: Path) -> None:
    (root / "bench.toml").write_text('zone = "Europe/Oslo\n')
    problems = read_layout(root).problems
    assert any("are read in this machine's zone" in problem.what for problem in problems)
    (root / "bench.toml").write_text('zone = "Europe/Oslo"\n')
    assert not read_layout(root).problems
