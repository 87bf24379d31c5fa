"""The long table: every number of `reduce --json` by its name, and text that can be had back."""

import csv
import io
import re
from pathlib import Path

import pytest
from exported import HOSTILE, exported, numbers_of, reduced, subject, with_identity
from hypothesis import given
from hypothesis import strategies as some

from tui.papers.exchange.csv_table import csv_table
from tui.papers.exchange.guarded import guarded, unguarded


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))


@pytest.mark.parametrize("cell", ["C1", "C4", "C5"])
def test_every_number_is_that_of_the_json(cell: str) -> None:
    rows = {row["quantity"]: row for row in rows_of(csv_table([subject(cell)], {}))}
    results = reduced(cell)
    parts = {key: results[key] for key in ("specimen", "saturation", "consolidation", "shear")}
    numbers = numbers_of(parts)
    assert len(numbers) > 40
    for name, value in numbers.items():
        assert float(rows[name]["value"]) == value, name
    for name, value in results["uncertainty"].items():
        assert float(rows[name]["standard_uncertainty"]) == value, name
    units = {row["unit"] for row in rows.values()}
    assert {"kPa", "mm", "ml", "Mg/m3", ""} <= units
    assert {row["test"] for row in rows.values()} == {results["test"]["id"]}


def test_units_belong_to_their_names() -> None:
    rows = {row["quantity"]: row for row in rows_of(csv_table([subject("C4")], {}))}
    for name, unit in (
        ("consolidation.cv_m2_per_year", "m2/year"),
        ("consolidation.mv_m2_per_MN", "m2/MN"),
        ("consolidation.permeability_m_per_s", "m/s"),
        ("shear.rate_percent_per_min", "%/min"),
        ("shear.minutes_to_peak", "min"),
        ("shear.peak_deviator.axial_strain", ""),
        ("saturation.checks.1.back_pressure_kPa", "kPa"),
    ):
        assert rows[name]["unit"] == unit, name
    assert rows["consolidation.headline_from.t50_min"]["unit"] == ""  # names a method


def test_unknown_is_empty() -> None:
    rows = {row["quantity"]: row for row in rows_of(csv_table([subject("C4")], {}))}
    assert reduced("C4")["saturation"]["volume_change_ml"] is None
    assert rows["saturation.volume_change_ml"]["value"] == ""
    assert "nan" not in {row["value"].lower() for row in rows.values()}


def test_text_never_runs_and_can_be_had_back(tmp_path: Path) -> None:
    bench = with_identity(tmp_path / "bench", "C4", HOSTILE, '=a"b,c" |d')
    out = tmp_path / "hostile.csv"
    assert exported("csv", out, "C4", bench=bench).exit_code == 0
    rows = rows_of(out.read_bytes())
    number = re.compile(r"-?\d+(\.\d+)?(e[+-]?\d+)?")
    for row in rows:
        for field in row.values():
            assert field[:1] not in ("=", "+", "-", "@", "\t", "\r") or number.fullmatch(field)
    told = {row["quantity"]: row["value"] for row in rows}
    assert told["identity.project"] == "'" + HOSTILE["project"]
    assert unguarded(told["identity.project"]) == HOSTILE["project"]
    assert unguarded(told["identity.checker"]) == HOSTILE["checker"]


@given(some.text(alphabet="=+-@\t'aü1＝ \"", max_size=8))
def test_a_guard_can_be_taken_off(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text)[:1] not in ("=", "+", "-", "@", "\t", "＝")
