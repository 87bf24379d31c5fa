"""`porewatch export` as a user calls it: what it refuses, and what it leaves out and says."""

import shutil
from pathlib import Path

import pytest
from calling import call
from exported import SAMPLES, exported, groups
from openpyxl import load_workbook


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "out"


def test_nothing_at_all_is_exit_1_and_no_file(out: Path) -> None:
    ended = exported("csv", out, "C6")
    assert ended.exit_code == 1
    assert "nothing can be reduced of C6" in ended.stderr
    assert not out.exists()


def test_what_cannot_be_reduced_is_said_and_the_rest_is_written(out: Path) -> None:
    ended = exported("ags4", out, "C6", "C1")
    assert ended.exit_code == 0
    assert "nothing can be reduced of C6" in ended.stderr
    assert len(groups(out.read_bytes())["TREG"]) == 1
    assert ended.stdout == ""


@pytest.mark.parametrize(
    "words",
    [
        ("C4", "--out", "x"),
        ("C4", "--to", "ags4"),
        ("C4", "--to", "parquet", "--out", "x"),
        ("--to", "csv", "--out", "x"),
        ("C9", "--to", "csv", "--out", "x"),
        ("C4", "--to", "csv", "--out", "x", "--criterion", "luck"),
        ("C4", "--to", "csv", "--out", "x", "--readings"),
        ("C4", "--to", "csv", "--out", "x.xlsx"),
        ("C4", "--to", "csv", "--out", " "),
    ],
)
def test_wrong_usage_is_64_in_one_line(words: tuple[str, ...], tmp_path: Path) -> None:
    placed = tuple(str(tmp_path / word) if word.startswith("x") else word for word in words)
    ended = call("export", *placed, "--bench", str(SAMPLES))
    assert ended.exit_code == 64
    assert len(ended.stderr.strip().splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_never_into_the_folder_of_a_cell(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    before = sorted(bench.rglob("*"))
    ended = exported("csv", bench / "C1" / "results.csv", "C1", bench=bench)
    assert ended.exit_code == 64
    assert "where its logger writes" in ended.stderr
    assert sorted(bench.rglob("*")) == before


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert exported("csv", tmp_path, "C1").exit_code == 64


def test_a_file_where_a_folder_should_be_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    ended = exported("csv", tmp_path / "taken" / "out.csv", "C1")
    assert ended.exit_code == 1
    assert "cannot write" in ended.stderr
    assert (tmp_path / "taken").read_text() == "mine"


def test_a_test_counts_once_and_folders_are_made(tmp_path: Path) -> None:
    out = tmp_path / "new" / "out.xlsx"
    assert exported("xlsx", out, "C1", "C1").exit_code == 0
    rows = list(load_workbook(out)["Specimen"].iter_rows(values_only=True))
    assert [row[0] for row in rows if row[0] == "C1"] == ["C1"]
    assert [path.name for path in out.parent.iterdir()] == ["out.xlsx"]


def test_as_of_an_earlier_time(out: Path) -> None:
    early = exported("ags4", out, "C4", "--at", "2031-02-04T09:00")
    assert early.exit_code == 0, early.stderr
    rows = groups(out.read_bytes())
    assert "ESCT" not in rows
    assert rows["TRET"][0]["TRET_DEVF"] == ""


def test_an_earlier_test_by_its_name(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    assert call("close", "C1", "--bench", str(bench)).exit_code == 0
    out = tmp_path / "out.ags"
    assert exported("ags4", out, "C1/T011", bench=bench).exit_code == 0
    assert groups(out.read_bytes())["TREG"][0]["TREG_REM"].startswith("Test C1-T011")
