"""A measured test goes through the feed unchanged in value, however its logger might write it.

Data: Aarhus University, multi-rate undrained triaxial tests on clay, test G1 (Speswhite), CC BY
4.0; read where it lies beside the project, never copied. Time, q, p′, u and strain were measured;
from them cell pressure = p′ + u − q/3, load = q × area and displacement = strain × height are
written out as a logger has them, and computed back from the readings.
"""

import csv
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

FILE = Path(__file__).parents[2].parent / "shared/data/au_clay_rate_triaxial/G1_SW400_subset.csv"
AREA_MM2, HEIGHT_MM = 1963.0, 100.0
PSI_KPA = 0.45359237 * 9.80665 / 0.0254**2 / 1000
POUND_FORCE_N = 0.45359237 * 9.80665
START = datetime(2031, 2, 3, 8, tzinfo=UTC)
Row = tuple[float, float, float, float, float]

pytestmark = pytest.mark.skipif(
    not FILE.exists(), reason="the measured data are not beside the project (../shared/data)"
)


def measured() -> list[Row]:
    """(seconds from the first row, cell pressure, u, displacement, load) of rows with a time."""
    with FILE.open(encoding="utf-8", newline="") as opened:
        found = [row for row in csv.DictReader(opened) if row["TimeSinceStartOfTest_s"]]
    begin = float(found[0]["TimeSinceStartOfTest_s"])
    rows: list[Row] = []
    for row in found:
        q, p, u = (float(row[name]) for name in ("q_kPa", "p_eff_kPa", "PorePressure_kPa"))
        travel = float(row["ShearStrain_pct"]) / 100 * HEIGHT_MM
        seconds = float(row["TimeSinceStartOfTest_s"]) - begin
        rows.append((seconds, p + u - q / 3, u, travel, q * AREA_MM2 / 1000))
    return rows


def plain_si(rows: list[Row]) -> tuple[str, bytes]:
    lines = ["time,cell_pressure_kPa,pore_pressure_kPa,axial_displacement_mm,axial_load_N"]
    for seconds, cell, pore, travel, load in rows:
        at = (START + timedelta(seconds=seconds)).isoformat()
        lines.append(f"{at},{cell!r},{pore!r},{travel!r},{load!r}")
    return "", ("\n".join(lines) + "\n").encode()


def american_continental(rows: list[Row]) -> tuple[str, bytes]:
    """psi, inches and pounds with decimal comma, semicolons, cp1252, elapsed seconds, zeros."""
    log = """[log]
time = { column = "Zeit", kind = "elapsed s", start = "banner" }
[log.channels]
cell_pressure = { column = "Zelldruck", unit = "psi", zero = "0.5 psi" }
pore_pressure = { column = "Porendruck", unit = "psi", sign = -1 }
axial_displacement = { column = "Weg", unit = "in", gain = 0.5 }
axial_load = { column = "Kraft", unit = "lbf" }
"""
    lines = ["Prüfgerät; Nr. 7", f"Beginn: {START:%d.%m.%Y %H:%M:%S}", ""]
    lines += ["Zeit;Zelldruck;Porendruck;Weg;Kraft", "s;psi;psi;in;lbf"]
    for index, (seconds, cell, pore, travel, load) in enumerate(rows):
        pressures = (cell / PSI_KPA + 0.5, -pore / PSI_KPA)
        numbers = (seconds, *pressures, travel / 25.4 / 0.5, load / POUND_FORCE_N)
        lines.append(";".join(repr(number).replace(".", ",") for number in numbers))
        if index == 40:
            lines += ["Zeit;Zelldruck;Porendruck;Weg;Kraft", "300;OVER;---;1;2;3;4;5"]
    return log, ("\r\n".join(lines) + "\r\n").encode("cp1252")


def tabs_in_utf16(rows: list[Row]) -> tuple[str, bytes]:
    """bar, centimetres and kilonewtons between tabs, a 12-hour clock in another zone."""
    log = """[log]
time = { zone = "America/Chicago", format = "%m/%d/%Y %I:%M:%S %p" }
[log.channels]
cell_pressure = { column = "Cell", unit = "bar" }
pore_pressure = { column = "Pore", unit = "MPa" }
axial_displacement = { column = "Ram", unit = "cm" }
axial_load = { column = "Load", unit = "kN" }
"""
    lines = ["Time\tCell\tPore\tRam\tLoad"]
    for seconds, cell, pore, travel, load in rows:
        # Six hours behind UTC in February.
        at = START - timedelta(hours=6) + timedelta(seconds=seconds)
        numbers = (cell / 100, pore / 1000, travel / 10, load / 1000)
        lines.append("\t".join([f"{at:%m/%d/%Y %I:%M:%S %p}", *map(repr, numbers)]))
    return log, ("\r\n".join(lines) + "\r\n").encode("utf-16")


@pytest.mark.parametrize("logger", [plain_si, american_continental, tabs_in_utf16])
def test_a_measured_test_comes_back_unchanged(
    make_cell: Callable[..., Any], logger: Callable[[list[Row]], tuple[str, bytes]]
) -> None:
    rows = measured()
    assert len(rows) > 80
    log, content = logger(rows)
    cell = make_cell(log)
    cell.write("G1.csv", content)
    told = cell.read()
    given = np.array(rows)
    # Writing in another unit and reading it back rounds twice: some units in the last place.
    within = {"rtol": 0 if logger is plain_si else 1e-14, "atol": 0}
    assert np.array_equal(np.array(told.times) - START.timestamp(), given[:, 0])
    names = ("cell_pressure", "pore_pressure", "axial_displacement", "axial_load")
    for column, name in enumerate(names, start=1):
        np.testing.assert_allclose(told.values[name], given[:, column], **within)
    assert len(told.unused) == (1 if logger is american_continental else 0)
    assert told.problems == ()


def test_q_and_effective_p_come_back(make_cell: Callable[..., Any]) -> None:
    log, content = american_continental(measured())
    cell = make_cell(log)
    cell.write("G1.csv", content)
    values = {name: np.array(column) for name, column in cell.read().values.items()}
    with FILE.open(encoding="utf-8", newline="") as opened:
        found = [row for row in csv.DictReader(opened) if row["TimeSinceStartOfTest_s"]]
    q = values["axial_load"] / AREA_MM2 * 1000
    p = values["cell_pressure"] - values["pore_pressure"] + q / 3
    # The file prints five decimals.
    np.testing.assert_allclose(q, [float(row["q_kPa"]) for row in found], atol=1e-9)
    np.testing.assert_allclose(p, [float(row["p_eff_kPa"]) for row in found], atol=1e-9)
