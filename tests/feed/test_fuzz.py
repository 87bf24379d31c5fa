"""No bytes make the feed stumble, and however they arrive they tell the same."""

from math import isnan
from pathlib import Path

import pytest
from fuzzed_logs import PORTIONS, SETTINGS, logs, parts_of, read_in, same
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from one_cell_bench import one_cell

from tui.settings.problems import has_hidden_letters


@seed(20310203)
@settings(max_examples=500, deadline=None, database=None)
@given(
    content=st.one_of(logs(), st.binary(max_size=200)),
    layout=st.sampled_from(SETTINGS),
    cuts=PORTIONS,
)
def test_no_bytes_make_it_stumble(
    content: bytes, layout: str, cuts: list[float], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("fuzz")
    at_once = read_in(folder / "once", layout, [content])
    same(read_in(folder / "parts", layout, parts_of(content, cuts)), at_once)


@pytest.mark.parametrize("field", ["²:30", "1:²", "9e307", "9" * 400 + ":00", "-1e308"])
def test_an_elapsed_time_that_is_none_is_listed(tmp_path: Path, field: str) -> None:
    log = '[log]\ntime = { kind = "elapsed h", start = "2031-02-03T08:00" }\n'
    cell = one_cell(tmp_path, log)
    cell.write("a.csv", f"Time,cell_pressure_kPa\n0,1\n{field},2\n1,3\n")
    told = cell.read()
    assert told.values["cell_pressure"] == [1.0, 3.0]
    assert [one.line for one in told.unused] == [3]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_half_a_character_costs_only_its_line(tmp_path: Path, encoding: str) -> None:
    texts = ["Time,cell_pressure_kPa\n"]
    texts += [f"2031-02-03T08:00:0{second},{second}\n" for second in range(4)]
    raw = [text.encode(encoding) for text in texts]
    for torn in range(1, 50):
        parts = [*raw[:2], raw[2][:torn], "\n".encode(encoding), *raw[3:]]
        told = read_in(tmp_path / str(torn), "", [b"".join(parts)])
        whole = [value for value in told.values["cell_pressure"] if not isnan(value)]
        assert whole == [0.0, 2.0, 3.0] or (torn >= 42 and whole == [0.0, 1.0, 2.0, 3.0])


def test_a_mac_file_of_two_byte_letters_is_known_by_its_first_line(tmp_path: Path) -> None:
    text = "Time,cell_pressure_kPa\r2031-02-03T08:00:00,1\r2031-02-03T08:00:01,2\r"
    content = text.encode("utf-16-le") + b"x" * 5000
    at_once = read_in(tmp_path / "once", "", [content])
    same(read_in(tmp_path / "parts", "", parts_of(content, [0.01, 0.02])), at_once)
    assert at_once.values["cell_pressure"] == [1.0, 2.0]


@pytest.mark.parametrize(
    ("start", "line"),
    [
        ("banner", "0001-01-01 00:00"),
        ("banner", "99991231 235959"),
        ("0001-01-01T00:00:00", "-"),
        ("9999-12-31T23:59:59-12:00", "-"),
        ("0001-01-01T00:00:00+14:00", "-"),
    ],
)
def test_a_start_that_is_no_moment_of_a_test_is_said(tmp_path: Path, start: str, line: str) -> None:
    cell = one_cell(tmp_path, f'[log]\ntime = {{ kind = "elapsed h", start = "{start}" }}\n')
    cell.write("a.csv", f"{line}\nTime,cell_pressure_kPa\n0,1\n")
    assert cell.read().said("the times of C1/a.csv cannot be told").severity == "error"


def test_a_doubtful_date_steers_no_terminal(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    cell.write("a.csv", "Time,cell_pressure_kPa\n02/03/2031\r8:00:00,1\n02/03/2031 8:00:05,2\n")
    problem = cell.read().said("may be day or month first")
    assert not has_hidden_letters(problem.what)
