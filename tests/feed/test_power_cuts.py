"""A count of elapsed time after a power cut: every file begins again, and must say when."""

from pathlib import Path

import pytest
from one_cell_bench import OneCell, one_cell

EIGHT = 1927872000.0
HEADER = "Elapsed,cell_pressure_kPa\n"


def counting(root: Path, start: str) -> OneCell:
    return one_cell(root, f'[log]\ntime = {{ kind = "elapsed min", start = "{start}" }}\n')


def rows(first: int, last: int, plus: int = 0) -> str:
    return "".join(f"{count},{count + plus}\n" for count in range(first, last))


def test_each_file_counts_from_its_own_name(tmp_path: Path) -> None:
    cell = counting(tmp_path, "file name")
    cell.write("run 2031-02-03 0800.csv", HEADER + rows(0, 30))
    assert len(cell.read().times) == 30
    cell.write("run 2031-02-03 0845.csv", HEADER + rows(0, 20, 45))
    told = cell.read()
    assert told.times == [EIGHT + 60.0 * k for k in (*range(30), *range(45, 65))]
    assert told.values["cell_pressure"] == [float(k) for k in (*range(30), *range(45, 65))]
    assert told.problems == ()
    assert told.restarts == 0


def test_each_file_counts_from_its_own_banner(tmp_path: Path) -> None:
    cell = counting(tmp_path, "banner")
    cell.write("1.csv", "Started 2031-02-03 08:00:00\n" + HEADER + rows(0, 30))
    cell.write("2.csv", "Started 2031-02-03 08:45:00\n" + HEADER + rows(0, 20))
    told = cell.read()
    assert told.times == [EIGHT + 60.0 * k for k in (*range(30), *range(45, 65))]
    assert told.problems == ()


def test_one_start_for_two_counts_is_told(tmp_path: Path) -> None:
    cell = counting(tmp_path, "2031-02-03T08:00")
    cell.write("1.csv", HEADER + rows(0, 30))
    assert cell.read().problems == ()
    cell.write("2.csv", HEADER + rows(0, 20, 45))
    told = cell.read()
    assert len(told.times) == 50, "no row is lost over it"
    problem = told.said("count their time from one start")
    assert (problem.severity, problem.key) == ("warning", "log.time.start")
    assert "C1/1.csv and C1/2.csv" in problem.what


@pytest.mark.parametrize(
    "second",
    [rows(30, 50), rows(0, 30) + rows(30, 50)],
    ids=["a count that goes on in the next file", "a copy that grew"],
)
def test_one_count_in_two_files_is_none_of_it(tmp_path: Path, second: str) -> None:
    cell = counting(tmp_path, "2031-02-03T08:00")
    cell.write("1.csv", HEADER + rows(0, 30))
    cell.write("2.csv", HEADER + second)
    told = cell.read()
    assert told.times == [EIGHT + 60.0 * k for k in range(50)]
    assert told.problems == ()
