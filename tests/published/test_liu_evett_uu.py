"""A UU test, sheet by sheet: Liu and Evett, Soil Properties: Testing, Measurement and Evaluation,
ch. 22, pages 355 and 368 (found in public text). In inches and pounds: the units are checked too.

Specimen 2.50 in by 5.82 in, proving ring 6000 lb/in, cell pressure 10.0 psi. Peak at a strain of
0.0301: q 40.0 psi, σ1 50.0 psi. Tolerance: half the last printed digit; for q also what their
rounding of area and load to the printed digits moves it by.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from reduce import (
    axial_strain,
    convert,
    corrected_area_undrained,
    cylinder_area,
    deviator,
    parse,
    principal_stresses,
)

ROWS = list(
    csv.DictReader(Path(__file__).with_name("liu_evett_uu.csv").read_text("utf-8").splitlines())
)
SHEET = {name: np.array([float(row[name]) for row in ROWS]) for name in ROWS[0]}
AREA = cylinder_area(parse("2.50 in", "mm"))
STRAIN = axial_strain(convert(SHEET["shortening_in"], "in", "mm"), parse("5.82 in", "mm"))
CORRECTED = corrected_area_undrained(AREA, STRAIN)
LOAD = convert(SHEET["ring_in"] * 6000.0, "lbf", "N")


def test_strain_column() -> None:
    assert pytest.approx(SHEET["strain"], abs=0.5e-4) == STRAIN


def test_area_column() -> None:
    assert convert(AREA, "mm2", "in2") == pytest.approx(4.91, abs=0.005)
    # The sheet goes on with 4.91 in²: from 4.9087 the one at 0.100 in would be 4.995, not 5.00
    corrected = corrected_area_undrained(4.91, STRAIN)
    assert corrected == pytest.approx(SHEET["area_in2"], abs=0.005)


def test_deviator_column_from_the_printed_area() -> None:
    q = deviator(LOAD, convert(SHEET["area_in2"], "in2", "mm2"))
    # 7.2 / 4.91 = 1.466 and 31.8 / 4.93 = 6.450 are printed 1.5 and 6.5; a hair for 6.450
    assert convert(q, "kPa", "psi") == pytest.approx(SHEET["deviator_psi"], abs=0.05 + 1e-3)


def test_deviator_column_from_the_readings() -> None:
    q = convert(deviator(LOAD, CORRECTED), "kPa", "psi")
    rounding = SHEET["deviator_psi"] * 0.005 / SHEET["area_in2"]
    assert np.all(np.abs(q - SHEET["deviator_psi"]) <= 0.05 + rounding)


def test_peak() -> None:
    q = deviator(LOAD, CORRECTED)
    peak = int(np.argmax(q))
    assert STRAIN[peak] == pytest.approx(0.0301, abs=0.5e-4)
    stresses = principal_stresses(parse("10.0 psi", "kPa"), 0.0, float(q[peak]))
    assert convert(stresses.major, "kPa", "psi") == pytest.approx(50.0, abs=0.05)
