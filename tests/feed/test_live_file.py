"""The live file: its last row, when it changed, and never half of it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tui.feed.live import LiveFile
from tui.feed.rows import LiveRow

Cells = Callable[..., Any]
LOG = '[log]\nlive = "live.csv"\n'
HEADER = "time,cell_pressure_kPa,pore_pressure_kPa\n"
EIGHT = 1927872000.0


def test_the_last_row_is_told_when_it_changed(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", HEADER + "2031-02-03T08:00:00,100,50\n")
    cell.write("live.csv", HEADER + "2031-02-03T08:00:01,101,51\n")
    told = cell.read()
    values = {"cell_pressure": 101.0, "pore_pressure": 51.0}
    assert told.live == [LiveRow(EIGHT + 1, values)]
    assert told.times == [EIGHT], "a live row is no reading"
    cell.read()
    assert len(told.live) == 1
    cell.write("live.csv", HEADER + "2031-02-03T08:00:02,102,OVER\n")
    assert cell.read().live[1:] == [LiveRow(EIGHT + 2, {"cell_pressure": 102.0})]
    assert told.unused == []


def test_a_live_row_without_header_is_read_as_the_log(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", "time;cell_pressure_kPa\n03.02.2031 08:00:00;100,5\n")
    cell.write("live.csv", "03.02.2031 08:00:01;101,5")
    assert cell.read().live == [LiveRow(EIGHT + 1, {"cell_pressure": 101.5})]


def test_a_live_row_comes_without_any_log(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write("live.csv", HEADER + "2031-02-03T08:00:01,101,51\n")
    told = cell.read()
    assert [row.time for row in told.live] == [EIGHT + 1]
    assert told.said("no log yet")


def test_half_a_row_is_not_told(make_cell: Cells, monkeypatch: pytest.MonkeyPatch) -> None:
    cell = make_cell(LOG)
    cell.write("live.csv", HEADER + "2031-02-03T08:00:01,101,51\n")
    cell.read()
    path = cell.write("live.csv", HEADER + "2031-02-03T08:00:02,102,5")
    once = LiveFile._bytes

    def written_meanwhile(self: LiveFile) -> tuple[bytes, bytes]:
        found = once(self)
        path.write_text(HEADER + "2031-02-03T08:00:02,102,52.5\n", encoding="utf-8")
        return found

    with monkeypatch.context() as patch:
        patch.setattr(LiveFile, "_bytes", written_meanwhile)
        assert len(cell.read().live) == 1
    assert cell.read().live[1].values["pore_pressure"] == 52.5


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (None, "is not there"),
        ("", "is empty"),
        (HEADER + "rubbish\n", "no row under a header"),
        (HEADER + "2031-02-03T08:00:02,1,2\nrubbish,1,2\n", "no usable last row"),
    ],
)
def test_what_is_wrong_with_it_is_told(make_cell: Cells, content: str | None, part: str) -> None:
    cell = make_cell(LOG)
    if content is not None:
        cell.write("live.csv", content)
    problem = cell.read().said(part)
    assert (problem.severity, problem.file) == ("warning", "C1/live.csv")
    cell.write("live.csv", HEADER + "2031-02-03T08:00:03,3,4\n")
    told = cell.read()
    assert told.live[-1].time == EIGHT + 3
    assert not [one for one in told.problems if one.file == "C1/live.csv"]


def test_a_large_live_file_is_read_at_its_ends(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    many = "".join(f"2031-02-03T08:{k // 60 % 60:02d}:{k % 60:02d},{k},1\n" for k in range(9000))
    path: Path = cell.write("live.csv", (HEADER + many).encode("utf-16"))
    assert path.stat().st_size > 400_000
    assert cell.read().live[-1].values["cell_pressure"] == 8999.0
