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


ODD_LOG = """
[log]
live = "live.csv"
time = { column = ["Date", "Time"], offset = "-95 s" }
[log.channels]
cell_pressure = { column = "Pc", unit = "bar", range = "0 to 20 bar" }
pore_pressure = { column = "u", unit = "kPa", measured_at = "top", datum = "35 mm" }
back_pressure = { same_as = "pore_pressure" }
back_volume = { columns = ["V1", "V2"], combine = "mean", unit = "ml", sign = -1, zero = "2 ml", \
stroke = "0 to 100 ml", refill = "3 ml" }
cell_volume = { columns = ["W1", "W2"], combine = "sum", unit = "ml" }
axial_load = [ { column = "F1", unit = "N", range = "0 to 500 N" }, \
{ column = "F2", unit = "kN", range = "0 to 10 kN" } ]
axial_displacement = { column = "D", unit = "mm", table = [[0.0, 0.0], [1000.0, 5.1]] }
""".replace("\\\n", "")
ODD_HEAD = "Logger 7\nDate;Time;Pc;u;V1;V2;W1;W2;F1;F2;D;X\n;;bar;kPa;ml;ml;ml;ml;N;kN;;\n"
ODD_ROW = "{};{};3,1;200,5;11,5;12,5;1,0;2,0;40,0;0,04;100;9\n"


def test_every_feature_of_an_odd_log_is_told(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Encoding, separator, decimal, header, units, time, zone, order of dates, live, channels."""
    cell = bench / "C1"
    (cell / "cell.toml").write_text(CELL + ODD_LOG, "utf-8")
    rows = ODD_ROW.format("03/02/2031", "08:00:00 AM") + ODD_ROW.format("03/02/2031", "08:01:00 AM")
    (cell / "a.csv").write_text(ODD_HEAD + rows + "03/02/2031;08:0", "utf-16")
    live = ODD_ROW.format("03/02/2031", "09:00:00 AM")
    (cell / "live.csv").write_text(ODD_HEAD + live, "utf-16")
    understood = as_json(bench, capsys, 1)["cells"][0]["understood"]
    one = understood["files"]["C1/a.csv"]
    assert one["encoding"] == "utf-16-le"
    assert (one["separator"], one["decimal"]) == ("semicolon", ",")
    assert (one["header_line"], one["units_line"], one["rows"]) == (2, True, 2)
    assert one["unfinished_last_line"]
    assert one["time"] == {
        "columns": ["Date", "Time"],
        "form": "date and time of day, UTC where no offset is given, day first (assumed), "
        "offset -95 s",
    }
    assert one["unused_columns"] == ["X"]
    assert understood["live"]["file"] == "C1/live.csv"
    assert understood["live"]["channels"] == one["channels"]
    (volume,) = one["channels"]["back_volume"]
    assert (volume["columns"], volume["combine"], volume["sign"]) == (["V1", "V2"], "mean", -1)
    assert (volume["stroke"], volume["refill"]) == ([-98.0, 2.0], 3.0)
    assert run(["check", str(bench)]) == 1
    text = " ".join(capsys.readouterr().out.split())
    for words in (
        "encoding utf-16-le, separator semicolon, decimal comma, header line 2, units line yes",
        'cell_pressure ← "Pc" in bar, × 100 = kPa, range 0 to 2000 kPa',
        'pore_pressure ← "u" in kPa, measured at top, datum 35 mm',
        'back_pressure ← "u" in kPa, same as pore_pressure',
        'mean of "V1" and "V2" in ml, zero 2, sign −1, stroke -98 to 2 ml, refill 3 ml',
        'cell_volume ← "W1" + "W2" in ml',
        '"F1" in N, range 0 to 500 N; "F2" in kN, × 1000 = N, range 0 to 10000 N',
        'axial_displacement ← "D" in mm, by a table of 2 points',
        "C1/live.csv (live: its last row)",
        "C1/a.csv: its last line is unfinished",
        "columns not used: X",
    ):
        assert words in text, words


TIMES = {
    "day found": ("time", "", ["13/02/2031 08:00:00"], "day first as its dates show"),
    "month found": ("time", "", ["02/13/2031 08:00:00"], "month first as its dates show"),
    "points": ("time", "", ["03.02.2031 08:00:00"], "where no offset is given, day first"),
    "ISO": ("time", "", ["2031-02-03T08:00:00"], "ISO 8601, UTC where no offset is given"),
    "unix": ("time", "", ["1928000000"], "seconds since 1970"),
    "elapsed": (
        "min",
        'time = { column = "min", kind = "elapsed min", start = "2031-02-03T09:00:00+01:00" }',
        ["0", "1"],
        "elapsed min since 2031-02-03T08:00:00+00:00 (settings)",
    ),
}


@pytest.mark.parametrize("name", TIMES)
def test_how_times_are_read_is_told(
    name: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    column, setting, stamps, form = TIMES[name]
    cell = bench / "C1"
    settings = CELL.replace('started = "2031-02-03T08:00"', 'started = "2031-01-01T08:00"')
    (cell / "cell.toml").write_text(f"{settings}[log]\n{setting}\n", "utf-8")
    rows = "".join(f"{stamp},1.5\n" for stamp in stamps)
    (cell / "a.csv").write_text(f"{column},cell_pressure_kPa\n{rows}", "utf-8")
    run(["check", str(bench), "--json"])
    files = json.loads(capsys.readouterr().out)["cells"][0]["understood"]["files"]
    assert form in files["C1/a.csv"]["time"]["form"]


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
