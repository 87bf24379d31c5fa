"""`porewatch status` on real files: what it tells, as of when, and its exit code."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tui.commands.main import run

CELL = """
[test]
id = "T015"
kind = "CU"
[specimen]
label = "BH4-U12-a"
diameter = "50.0 mm"
height = "100.0 mm"
"""
LOG = """time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa
2031-02-03T08:00:00,20.0,0.0,10.0
2031-02-03T08:01:00,21.0,0.0,10.5
2031-02-03T08:02:00,22.5,0.0,11.25
"""

Say = Callable[..., tuple[int, str, str]]


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = tmp_path / "bench"
    for name in ("C1", "C2"):
        (root / name).mkdir(parents=True)
        (root / name / "cell.toml").write_text(CELL)
        (root / name / "log.csv").write_text(LOG)
    (root / "bench.toml").write_text('name = "Quay"\nzone = "Europe/Oslo"\nnow = "last row"\n')
    monkeypatch.setenv("POREWATCH_BENCH", str(root))
    return root


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    def run_it(*arguments: str) -> tuple[int, str, str]:
        code = run(arguments)
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return run_it


def cells_of(say: Say, *arguments: str) -> tuple[int, dict[str, Any]]:
    code, out, err = say("status", "--json", *arguments)
    assert err == ""
    found: dict[str, Any] = json.loads(out)
    return code, found


def test_all_is_told_and_nothing_is_written(bench: Path, say: Say, tmp_path: Path) -> None:
    before = sorted(path for path in bench.rglob("*"))
    code, found = cells_of(say)
    assert code == 0
    assert found["bench"] == "Quay"
    assert found["at"] == "2031-02-03T08:02:00+01:00"
    assert [cell["cell"] for cell in found["cells"]] == ["C1", "C2"]
    assert found["cells"][0]["live"]["cell_pressure_kPa"] == 22.5
    assert found["cells"][0]["live"]["effective_stress_kPa"] == 11.25
    assert found["cells"][0]["rows"] == {"used": 3, "unused": 0}
    assert sorted(path for path in bench.rglob("*")) == before
    assert not (tmp_path / "state").exists()


def test_as_of_a_time_later_rows_do_not_count(bench: Path, say: Say) -> None:
    _, found = cells_of(say, "--at", "2031-02-03T08:01:30")
    assert found["at"] == "2031-02-03T08:01:30+01:00"
    assert found["cells"][0]["live"]["cell_pressure_kPa"] == 21.0
    assert found["cells"][0]["live"]["age_s"] == 30.0
    _, found = cells_of(say, "--at", "2031-02-03T07:01:30Z")
    assert found["at"] == "2031-02-03T08:01:30+01:00"


def test_one_cell_by_name_or_folder(bench: Path, say: Say) -> None:
    (bench / "C2" / "cell.toml").write_text("[cell]\nname = 'East'\n" + CELL)
    for named in ("East", "C2", "C2/"):
        _, found = cells_of(say, "--cell", named)
        assert [cell["cell"] for cell in found["cells"]] == ["East"]
    code, out, err = say("status", "--cell", "Eats")
    assert (code, out) == (64, "")
    assert 'did you mean "East"?' in err


def test_a_broken_cell_is_told_with_file_and_line_and_hides_no_other(bench: Path, say: Say) -> None:
    (bench / "C2" / "cell.toml").write_text(CELL.replace('"50.0 mm"', "50.0"))
    code, found = cells_of(say)
    assert code == 3
    assert found["worst"] == "unknown"
    whole, broken = found["cells"]
    assert whole["live"]["cell_pressure_kPa"] == 22.5
    (problem,) = [one for one in broken["problems"] if one["severity"] == "error"]
    assert problem["file"] == "C2/cell.toml"
    assert problem["line"] == 7
    assert "diameter" in problem["key"]
    code, out, _ = say("status")
    assert code == 3
    assert "C2/cell.toml:7" in out
    # Whoever asks for the other cell alone is told that it is well.
    assert cells_of(say, "--cell", "C1")[0] == 0
    assert cells_of(say, "--cell", "C2")[0] == 3


def test_a_folder_not_adopted_is_a_warning(bench: Path, say: Say) -> None:
    (bench / "new logger").mkdir()
    (bench / "new logger" / "log.csv").write_text(LOG)
    code, found = cells_of(say)
    assert code == 1
    assert found["not_adopted"] == ["new logger"]
    code, out, _ = say("status")
    assert code == 1
    assert "not adopted (logs but no cell.toml): new logger" in out


def test_a_bench_without_cells_is_not_well(tmp_path: Path, say: Say) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    code, out, err = say("status", str(empty))
    assert code == 3
    assert err == ""
    assert "no cell" in out
    code, found = cells_of(say, str(empty))
    assert code == 3
    assert found["cells"] == []


def test_a_cell_without_readings_could_not_be_told(bench: Path, say: Say) -> None:
    (bench / "C2" / "log.csv").unlink()
    code, found = cells_of(say)
    assert code == 3
    assert found["cells"][1]["phase"] is None
    assert found["cells"][1]["live"] is None
    assert found["cells"][1]["projection"]["basis"]


def test_a_mark_counts_from_when_it_holds_and_an_undo_takes_it_back(bench: Path, say: Say) -> None:
    assert say("mark", "C1", "saturation/hold", "--when", "2031-02-03T08:01:00")[0] == 0
    _, found = cells_of(say)
    assert found["cells"][0]["phase"]["name"] == "saturation"
    assert found["cells"][0]["phase"]["from"] == "marks"
    assert found["cells"][0]["phase"]["since"] == "2031-02-03T08:01:00+01:00"
    assert found["cells"][1]["phase"]["from"] != "marks"
    _, found = cells_of(say, "--at", "2031-02-03T08:00:30")
    assert found["cells"][0]["phase"]["from"] != "marks"
    assert say("undo", "1")[0] == 0
    _, found = cells_of(say)
    assert found["cells"][0]["phase"]["from"] != "marks"


def test_on_a_finished_bench_now_is_its_newest_row(bench: Path, say: Say) -> None:
    code, out, _ = say("mark", "C1", "saturation")
    assert code == 0
    assert "from Mon 3 Feb 2031 08:02" in out
    _, found = cells_of(say)
    assert found["cells"][0]["phase"]["from"] == "marks"


def test_the_current_folder_is_the_bench_where_none_is_named(
    bench: Path, say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("POREWATCH_BENCH")
    for folder in (bench, bench / "C1"):
        monkeypatch.chdir(folder)
        _, found = cells_of(say)
        assert found["bench"] == "Quay"


def test_a_damaged_journal_is_a_warning_and_the_cells_are_told(bench: Path, say: Say) -> None:
    (bench / ".porewatch").mkdir()
    (bench / ".porewatch" / "journal.sqlite3").write_bytes(b"rubbish" * 999)
    code, found = cells_of(say)
    assert code == 1
    assert any("journal cannot be read" in one["what"] for one in found["problems"])
    assert found["cells"][0]["live"]["cell_pressure_kPa"] == 22.5


def test_the_shell_is_offered_the_cells(bench: Path, say: Say, monkeypatch: Any) -> None:
    monkeypatch.setenv("_POREWATCH_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", "porewatch note ")
    monkeypatch.setenv("COMP_CWORD", "2")
    assert say()[:2] == (0, "plain,C1\nplain,C2\n")
    monkeypatch.setenv("POREWATCH_BENCH", str(bench / "no such"))
    assert say() == (0, "\n", "")


def test_one_look_imports_neither_screen_nor_watcher(bench: Path) -> None:
    script = (
        "import sys; from tui.commands.main import run; "
        "code = run(['status']); print(*sys.modules, sep='\\n', file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    loaded = set(done.stderr.split())
    assert "tui.bench.look" in loaded
    for heavy in ("textual", "rich", "watchdog", "pandas", "scipy", "matplotlib", "asyncio"):
        assert heavy not in loaded


def test_a_name_beyond_the_encoding_keeps_nothing_from_being_told(bench: Path) -> None:
    (bench / "bench.toml").write_text('name = "Færge 土"\nnow = "last row"\n', encoding="utf-8")
    (bench / "C2" / "cell.toml").write_text("[cell]\nname = 'Øst'\n" + CELL, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "tui.commands.main", "note", "Øst", "x", "--bench", str(bench)],
        capture_output=True,
        check=False,
        cwd=Path(__file__).parents[2],
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )
    assert (done.returncode, done.stderr) == (0, b"")
    done = subprocess.run(
        [sys.executable, "-m", "tui.commands.main", "status", str(bench)],
        capture_output=True,
        check=False,
        cwd=Path(__file__).parents[2],
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"22.5 kPa" in done.stdout


def test_planned_holds_of_two_cells_are_one_visit_and_each_cell_has_its_own_part(
    bench: Path, say: Say
) -> None:
    for name, until in (("C1", "11:00"), ("C2", "12:00")):
        when = ("--when", "2031-02-03T08:01:30", "--until", f"2031-02-03T{until}")
        code, _, err = say("mark", name, "setup", "--step", "hold", *when)
        assert (code, err) == (0, "")
    _, found = cells_of(say)
    assert [(hand["cell"], hand["what"], hand["at"]) for hand in found["hands"]] == [
        ("C1", "planned hold ends", "2031-02-03T11:00:00+01:00"),
        ("C2", "planned hold ends", "2031-02-03T12:00:00+01:00"),
    ]
    (visit,) = found["visits"]
    times = {"at": "2031-02-03T12:00:00+01:00", "until": "2031-02-03T13:00:00+01:00"}
    assert visit == times | {"hands": found["hands"]}
    _, one = cells_of(say, "--cell", "C2")
    assert one["hands"] == found["hands"][1:]
    assert one["visits"] == [times | {"hands": found["hands"][1:]}]


def test_hands_wait_until_somebody_is_there(bench: Path, say: Say) -> None:
    with (bench / "bench.toml").open("a") as file:
        file.write('attended = "Mon-Fri 07:30-16:00"\n')
    when = ("--when", "2031-02-03T08:01:30", "--until", "2031-02-03T18:10")
    say("mark", "C1", "setup", "--step", "hold", *when)
    _, found = cells_of(say, "--cell", "C1")
    assert found["hands"][0]["at"] == "2031-02-03T18:10:00+01:00"
    assert found["hands"][0]["attended_at"] == "2031-02-04T07:30:00+01:00"
    assert [visit["at"] for visit in found["visits"]] == ["2031-02-04T07:30:00+01:00"]
    _, out, _ = say("status", "--cell", "C1")
    assert "today 18:10 · C1 · planned hold ends · somebody is there from Tue 07:30" in out
