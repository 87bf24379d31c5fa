"""`porewatch check` on real folders: exit code, JSON after the contract, text for people."""

import json
import shutil
from collections import namedtuple
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tui.commands import findings
from tui.commands.main import run

CELL = """\
[cell]
rating = "1700 kPa"
piston = { diameter = "20 mm", load_cell = "internal" }
[test]
id = "T1"
kind = "CU"
standard = "ASTM D4767"
started = "2031-02-03T08:00"
[specimen]
diameter = "50 mm"
height = "100 mm"
mass = "377.9 g"
water_content = 0.312
particle_density = "2.70 Mg/m3"
drainage = "both ends"
membrane = { thickness = "0.3 mm" }
[plan]
effective_stress = "150 kPa"
back_pressure_limit = "600 kPa"
"""

LOG = """\
time,cell_pressure_kPa,pore_pressure_kPa
2031-02-03T08:00:00,0,0
2031-02-03T08:01:00,OVER,5
2031-02-03T08:02:00,20,10
2031-02-03T08:02:00,20,10
no time at all,20,10
2031-02-03T08:03:00,30,12
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("POREWATCH_BENCH", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = tmp_path / "bench"
    (root / "C1").mkdir(parents=True)
    (root / "bench.toml").write_text('zone = "UTC"\nnow = "last row"\n', "utf-8")
    (root / "C1" / "cell.toml").write_text(CELL, "utf-8")
    (root / "C1" / "a.csv").write_text(LOG.split("2031-02-03T08:01", maxsplit=1)[0], "utf-8")
    return root


def as_json(bench: Path, capsys: pytest.CaptureFixture[str], code: int) -> dict[str, Any]:
    assert run(["check", str(bench), "--json"]) == code
    out = capsys.readouterr()
    assert out.err == ""
    found: dict[str, Any] = json.loads(out.out)
    return found


def test_a_bench_in_order(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = as_json(bench, capsys, 0)
    assert found["schema"] == "porewatch.check/1"
    assert found["problems"] == []
    (cell,) = found["cells"]
    assert cell["cell"] == "C1"
    assert cell["unused"] == []
    assert "cell_pressure_kPa" in json.dumps(cell["understood"])
    assert run(["check", str(bench)]) == 0
    assert capsys.readouterr().out.endswith("nothing to mend\n")


def test_every_row_and_field_not_used_is_listed(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "C1" / "a.csv").write_text(LOG, "utf-8")
    assert run(["check", str(bench), "--json"]) in (0, 1)
    (cell,) = json.loads(capsys.readouterr().out)["cells"]
    unused = {row["line"]: row for row in cell["unused"]}
    assert set(unused) == {3, 5, 6}
    assert unused[3]["field"] == "cell_pressure_kPa"
    assert "OVER" in unused[3]["reason"]
    assert unused[5]["field"] is None
    assert "repeated" in unused[5]["reason"]
    assert {row["file"] for row in cell["unused"]} == {"C1/a.csv"}
    run(["check", str(bench)])
    text = capsys.readouterr().out
    assert "C1/a.csv line 3, column cell_pressure_kPa" in text


@pytest.mark.parametrize(("at", "rows"), [("08:00", 1), ("08:02:30", 3), ("09:00", 4)])
def test_as_of_a_moment_later_rows_are_ignored(
    bench: Path, capsys: pytest.CaptureFixture[str], at: str, rows: int
) -> None:
    """The readings are as of then; the file is read as it is, and what is unused stays listed."""
    (bench / "C1" / "a.csv").write_text(LOG, "utf-8")
    (bench / "bench.toml").write_text('zone = "UTC"\n', "utf-8")
    run(["check", str(bench), "--json", "--at", f"2031-02-03T{at}"])
    found = json.loads(capsys.readouterr().out)
    assert found["at"].startswith(f"2031-02-03T{at}")
    assert found["problems"] == []  # nothing of it is ahead of the moment that is looked at
    (cell,) = found["cells"]
    assert cell["rows"] == {"used": rows, "unused": 3}
    run(["check", str(bench), "--at", f"2031-02-03T{at}"])
    assert "settings, disk and routes as now" in capsys.readouterr().out


def test_settings_and_plan_have_file_line_key_remedy(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "C2").mkdir()
    (bench / "C2" / "cell.toml").write_text(CELL.replace('"50 mm"', "50"), "utf-8")
    (bench / "C1" / "cell.toml").write_text(CELL.replace("1700", "700"), "utf-8")
    (bench / "incoming").mkdir()
    (bench / "incoming" / "x.csv").write_text("a\n", "utf-8")
    found = as_json(bench, capsys, 1)
    by_file = {problem["file"]: problem for problem in found["problems"]}
    assert set(by_file) == {"incoming", "C1/cell.toml", "C2/cell.toml"}
    assert by_file["C2/cell.toml"] == {
        "severity": "error",
        "file": "C2/cell.toml",
        "line": 10,
        "key": "specimen.diameter",
        "what": "diameter is 50, a number without a unit",
        "remedy": by_file["C2/cell.toml"]["remedy"],
    }
    assert by_file["C1/cell.toml"]["key"] == "plan.back_pressure_limit"
    assert "incoming/cell.toml" in by_file["incoming"]["remedy"]
    assert [cell["cell"] for cell in found["cells"]] == ["C1", "C2"]


def test_notes_are_nothing_to_mend(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = CELL.replace('standard = "ASTM D4767"\n', "")
    (bench / "C1" / "cell.toml").write_text(text, "utf-8")
    found = as_json(bench, capsys, 0)
    assert [problem["severity"] for problem in found["problems"]] == ["note"]


def test_no_bench_and_no_cell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(tmp_path / "gone")]) == 64
    assert capsys.readouterr().err.count("\n") == 1
    (tmp_path / "empty").mkdir()
    found = as_json(tmp_path / "empty", capsys, 1)
    assert found["cells"] == []
    assert "there is no cell" in found["problems"][0]["what"]


def test_a_clock_ahead_is_told_with_the_offset_that_mends_it(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "bench.toml").write_text('zone = "UTC"\n', "utf-8")
    soon = datetime.now(UTC) + timedelta(hours=2)
    rows = f"time,cell_pressure_kPa\n{soon:%Y-%m-%dT%H:%M:%S},10\n"
    (bench / "C1" / "a.csv").write_text(rows, "utf-8")
    text = CELL.replace("2031-02-03", "2021-02-03")
    (bench / "C1" / "cell.toml").write_text(text, "utf-8")
    found = as_json(bench, capsys, 1)
    (problem,) = found["problems"]
    assert "clock ahead" in problem["what"]
    assert 'offset = "-7' in problem["remedy"]  # 7200 s less what has passed


def test_a_route_whose_variable_is_not_set(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = 'now = "last row"\n[[alarms.routes]]\nname = "night"\nto = "env:POREWATCH_ROUTE_X"\n'
    (bench / "bench.toml").write_text(text, "utf-8")
    monkeypatch.delenv("POREWATCH_ROUTE_X", raising=False)
    (problem,) = as_json(bench, capsys, 1)["problems"]
    assert (problem["line"], problem["key"]) == (4, "alarms.routes#1.to")
    monkeypatch.setenv("POREWATCH_ROUTE_X", "https://example.org/secret")
    assert "secret" not in json.dumps(as_json(bench, capsys, 0))


def test_a_full_disk(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = namedtuple("usage", "total used free")
    for free, code in ((0.9 * 2**30, 1), (0.019 * 2**40, 1), (0.03 * 2**40, 0)):
        full = usage(2**40, 2**40 - int(free), int(free))
        monkeypatch.setattr(findings.shutil, "disk_usage", lambda _path, full=full: full)
        found = as_json(bench, capsys, code)
        assert ["free" in problem["what"] for problem in found["problems"]] == [True] * code


def test_a_feed_that_fails_hides_no_other_cell(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(bench / "C1", bench / "C2")
    real = findings.read_logs

    def failing(place: Any, layout: Any, **moments: Any) -> Any:
        if place.folder == "C1":
            raise RuntimeError("boom\x1b[31m")
        return real(place, layout, **moments)

    monkeypatch.setattr(findings, "read_logs", failing)
    found = as_json(bench, capsys, 1)
    assert [cell["cell"] for cell in found["cells"]] == ["C1", "C2"]
    (problem,) = found["problems"]
    assert problem["file"] == "C1"


def test_text_is_clean_and_plain_when_no_terminal(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = bench / "C\x1b[31mred"
    odd.mkdir()
    (odd / "cell.toml").write_text('[cell]\n"\\u001b[2J" = 1\nrating = "\\u0007 kPa"\n', "utf-8")
    (odd / "a\x1b[0m.csv").write_text("x\n", "utf-8")
    assert run(["check", str(bench)]) == 1
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "\x07" not in out
    assert max(len(line) for line in out.split("\n")) <= 80
    assert run(["check", str(bench), "--ascii"]) == 1
    assert capsys.readouterr().out.isascii()
