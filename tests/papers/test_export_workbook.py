"""Workbooks, read back by openpyxl: numbers to the last digit, text as text, charts on cells."""

import csv
import io
import math
import re
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import pint
import pytest
import xlsxwriter
from calling import call
from exported import HOSTILE, exported, numbers_of, reduced, subject, with_identity
from openpyxl import Workbook, load_workbook
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from reduce.reduction.history import history
from tui.commands.reduced_files import readings_csv
from tui.papers.exchange.workbook_readings import write_readings
from tui.papers.exchange.workbook_sheets import Sheets
from tui.papers.exchange.workbook_tables import Scale
from tui.words import Manner

SHEETS = [
    "Test", "Phases", "Specimen", "Saturation", "Consolidation", "Shear", "Readings",
    "Cautions", "Journal", "Curves",
]  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("workbook") / "samples.xlsx"
    ended = exported("xlsx", out, "C1", "C4", "C5")
    assert ended.exit_code == 0, ended.stderr
    return out


@pytest.fixture(scope="module")
def book(path: Path) -> Workbook:
    return load_workbook(path)


def found_in(book: Workbook, *sheets: str) -> set[Any]:
    """Every value of some sheets."""
    return {
        value for name in sheets for row in book[name].iter_rows(values_only=True) for value in row
    }


def table(sheet: Worksheet, first: int = 1) -> list[dict[str, Any]]:
    """A table from its row of headers on, down to a blank row."""
    rows = list(sheet.iter_rows(min_row=first, values_only=True))
    heads = [str(head) for head in rows[0] if head is not None]
    body = []
    for row in rows[1:]:
        if all(value is None for value in row):
            break
        body.append(dict(zip(heads, row, strict=False)))
    return body


def test_a_sheet_a_phase(book: Workbook) -> None:
    assert book.sheetnames == SHEETS
    for name in ("Specimen", "Shear", "Cautions"):
        assert book[name].freeze_panes == "B2"


@pytest.mark.parametrize("cell", ["C1", "C4", "C5"])
def test_every_number_of_the_reduction_is_there_to_its_last_digit(
    book: Workbook, cell: str
) -> None:
    results = reduced(cell)
    of_sheets = {
        "specimen": ("Specimen",),
        "after_test": ("Specimen",),
        "saturation": ("Saturation",),
        "consolidation": ("Consolidation",),
        "shear": ("Shear",),
    }
    counted = 0
    for part, sheets in of_sheets.items():
        shown = found_in(book, *sheets)
        for name, value in numbers_of(results[part] or {}, part).items():
            assert value in shown, name
            counted += 1
        for name, value in results["uncertainty"].items():
            if name.startswith(f"{part}."):
                assert value in shown, f"u of {name}"
    assert counted > (30 if cell == "C1" else 100)


def test_a_number_stands_under_its_name_and_unit(book: Workbook) -> None:
    results = reduced("C4")
    specimen = next(row for row in table(book["Specimen"]) if row["test"] == "C4")
    assert specimen["diameter [mm]"] == results["specimen"]["diameter_mm"]
    assert specimen["area [mm²]"] == results["specimen"]["area_mm2"]
    assert specimen["void ratio [-]"] == results["specimen"]["void_ratio"]
    assert specimen["u(void ratio) [-]"] == results["uncertainty"]["specimen.void_ratio"]
    consolidation = next(row for row in table(book["Consolidation"]) if row["test"] == "C4")
    assert consolidation["cv [m²/year]"] == results["consolidation"]["cv_m2_per_year"]
    assert consolidation["t90 [min]"] == results["consolidation"]["t90_min"]
    begin = next(row for row in range(1, 20) if book["Shear"].cell(row, 2).value == "criterion")
    states = table(book["Shear"], begin)
    peak = next(
        row for row in states if row["test"] == "C4" and row["criterion"] == "peak deviator"
    )
    assert peak["deviator [kPa]"] == results["shear"]["peak_deviator"]["deviator_kPa"]
    assert peak["axial strain [-]"] == results["shear"]["peak_deviator"]["axial_strain"]


def test_every_check_has_its_moment(book: Workbook) -> None:
    checks = reduced("C4")["saturation"]["checks"]
    begin = next(row for row in range(1, 20) if book["Saturation"].cell(row, 2).value == "check")
    rows = [row for row in table(book["Saturation"], begin) if row["test"] == "C4"]
    assert [row["B [-]"] for row in rows] == [check["B"] for check in checks]
    assert [row["check"] for row in rows] == [*range(1, len(checks) + 1)]  # numbers, that sort
    for row, check in zip(rows, checks, strict=True):
        wall = datetime.fromisoformat(check["at"]).replace(tzinfo=None)
        assert abs((row["time"] - wall).total_seconds()) < 0.01


def test_unknown_is_a_blank_cell_and_never_0(book: Workbook) -> None:
    results = reduced("C1")
    assert results["shear"] is None
    assert "C1" not in found_in(book, "Shear", "Consolidation")
    saturation = next(row for row in table(book["Saturation"]) if row["test"] == "C1")
    assert results["saturation"]["B_of_saturated_soil"] is None
    assert saturation["B of saturated soil [-]"] is None


def test_readings_are_those_of_the_table_that_reduce_writes(book: Workbook) -> None:
    found = subject("C4").found
    assert found is not None
    written = list(csv.DictReader(io.StringIO(readings_csv(found, subject("C4").layout.zone))))
    rows = [row for row in table(book["Readings"]) if row["test"] == "C4"]
    assert len(rows) == len(written) > 200
    for ours, theirs in (
        ("cell pressure [kPa]", "cell_pressure_kPa"),
        ("deviator [kPa]", "deviator_kPa"),
        ("phase", "phase"),
        ("volume change [ml]", "volume_change_ml"),
    ):
        column = ["" if row[ours] is None else str(row[ours]) for row in rows]
        assert column == [row[theirs] for row in written], ours


def test_a_full_sheet_of_readings_goes_on_in_the_next(tmp_path: Path) -> None:
    out = tmp_path / "small.xlsx"
    made = xlsxwriter.Workbook(out, {"constant_memory": True})
    one = subject("C4")
    write_readings(Sheets(made), [one], Scale(Manner()), one.layout.zone, last=100)
    made.close()
    book = load_workbook(out)
    assert one.found is not None
    count = len(one.found.record.times_s)
    assert book.sheetnames == ["Readings", "Readings 2", "Readings 3"]
    assert sum(len(table(sheet)) for sheet in book) == count
    assert [len(table(sheet)) for sheet in book][:2] == [100, 100]


def test_charts_are_drawn_from_cells_that_hold_numbers(path: Path, book: Workbook) -> None:
    counts = {name: len(book[name]._charts) for name in SHEETS if book[name]._charts}
    assert counts == {"Saturation": 1, "Consolidation": 2, "Shear": 4}
    with zipfile.ZipFile(path) as parts:
        charts = [parts.read(name).decode() for name in parts.namelist() if "/charts/" in name]
    references = [one for chart in charts for one in re.findall(r"<c:f>(.*?)</c:f>", chart)]
    assert len(references) >= 2 * 7
    for reference in references:
        name, _, cells = reference.partition("!")
        left, top, right, bottom = range_boundaries(cells.replace("$", ""))
        assert (left, top >= 2) == (right, True)
        values = [book[name].cell(row, left).value for row in range(top, bottom + 1)]
        assert all(isinstance(value, int | float) for value in values), reference
    assert any('logBase val="10"' in chart for chart in charts)


def test_the_curves_of_the_charts_are_the_readings(book: Workbook) -> None:
    rows = table(book["Curves"])
    found = subject("C4").found
    assert found is not None
    derived = history(found.record, found.stages)
    strains = [row["C4 · axial strain [-]"] for row in rows]
    known = [value for value in strains if value is not None]
    assert set(known) <= set(derived["axial_strain"].tolist())
    tops = [row["C4 · deviator [kPa]"] for row in rows if row["C4 · deviator [kPa]"] is not None]
    assert max(tops) == reduced("C4")["shear"]["peak_deviator"]["deviator_kPa"]


def test_us_units_are_converted_and_said(tmp_path: Path) -> None:
    out = tmp_path / "us.xlsx"
    assert exported("xlsx", out, "C4", "--units", "US").exit_code == 0
    book, results = load_workbook(out), reduced("C4")
    units = pint.UnitRegistry()
    shear = table(book["Shear"])[0]
    wanted = units.Quantity(results["shear"]["cell_pressure_kPa"], "kPa").to("psi").magnitude
    assert shear["cell pressure [psi]"] == pytest.approx(wanted, rel=1e-12)
    specimen = table(book["Specimen"])[0]
    area = units.Quantity(results["specimen"]["area_mm2"], "mm**2").to("inch**2").magnitude
    assert specimen["area [in²]"] == pytest.approx(area, rel=1e-12)
    assert not any("kPa" in str(head) for head in found_in(book, "Shear", "Readings", "Curves"))


def test_text_stays_text(tmp_path: Path) -> None:
    bench = with_identity(tmp_path / "bench", "C4", HOSTILE, '=a"b,c" |d')
    note = "=2+3 https://example.invalid/ \x1b[31m_x0041_"
    assert call("note", "C4", note, "--bench", str(bench)).exit_code == 0
    out = tmp_path / "hostile.xlsx"
    ended = exported("xlsx", out, "C4", bench=bench)
    assert ended.exit_code == 0, ended.stderr
    with zipfile.ZipFile(out) as parts:
        names = parts.namelist()
        whole = b"".join(parts.read(name) for name in names if "worksheets" in name)
    assert not [name for name in names if "external" in name.lower() or "vba" in name.lower()]
    assert b"<f>" not in whole
    assert b"hyperlink" not in whole.lower().replace(b"=hyperlink(", b"")
    book = load_workbook(out)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                assert cell.hyperlink is None
    first = table(book["Test"])[0]
    assert first["project"] == HOSTILE["project"]
    assert first["hole"] == '+BH "7" =1+1'
    assert first["top"] == "=5 m"
    assert first["description"].startswith("σ′ ≈ 20 kPa, Skarnsø “漢字”")
    (entry,) = table(book["Journal"])
    # What looks like an escape of the format is escaped itself; openpyxl leaves that as it stands.
    assert entry["text"] == "=2+3 https://example.invalid/ _x005F_x0041_"


def test_a_set_has_its_envelope(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    with_identity(bench, "C4", {"hole": "BH2"}, "a")
    for cell in ("C4", "C5"):
        settings = bench / cell / "cell.toml"
        text = settings.read_text("utf-8")
        settings.write_text(re.sub(r"\nset = .*", '\nset = "one"', text), "utf-8")
    out = tmp_path / "set.xlsx"
    ended = exported("xlsx", out, "C4", "C5", bench=bench)
    assert ended.exit_code == 0, ended.stderr
    book = load_workbook(out)
    (envelope,) = table(book["Envelope"])
    assert envelope["set"] == "one"
    # The line through two stress points: worked from the two peaks by hand.
    states = [reduced(cell)["shear"]["peak_deviator"] for cell in ("C4", "C5")]
    (s1, t1), (s2, t2) = (
        (
            (one["sigma1_effective_kPa"] + one["sigma3_effective_kPa"]) / 2,
            (one["sigma1_effective_kPa"] - one["sigma3_effective_kPa"]) / 2,
        )
        for one in states
    )
    angle = math.degrees(math.asin((t2 - t1) / (s2 - s1)))
    assert envelope["phi effective [°]"] == pytest.approx(angle)
    assert len(book["Envelope"]._charts) == 1
    (titled,) = (r for r in range(1, 40) if book["Envelope"].cell(r, 1).value == "Specimens")
    members = table(book["Envelope"], titled + 1)
    assert all("phi effective [°]" not in row for row in members)  # that is the envelope's
    for row in members:
        major, minor = row["sigma1 effective [kPa]"], row["sigma3 effective [kPa]"]
        through_the_origin = math.degrees(math.asin((major - minor) / (major + minor)))
        assert row["phi effective if c = 0 [°]"] == pytest.approx(through_the_origin)
