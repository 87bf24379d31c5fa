"""Loads, corrections, areas and rates of shear against published and independent values.

Rows of shear_examples.csv as in test_worked_examples.py, but that a quantity names its module and
that inputs may be words. Tolerance: half the last printed digit.
"""

import csv
import importlib
import math
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import i0e, i1e

from reduce.columns import Column
from reduce.drainage import DRAINAGES, lambda_factor, t100
from reduce.record import Membrane, SideDrains
from reduce.shearing.area import plane_area
from reduce.shearing.corrections import (
    Carried,
    carried_beside,
    membrane_correction,
    membrane_correction_horizontal,
    membrane_correction_vertical,
    side_drain_correction,
    side_drain_correction_by_table,
)
from reduce.shearing.failure import failure_states
from reduce.shearing.pore_pressure_times import drainage_eta, drained_time, equalised_time
from reduce.shearing.rates import BS_FACTORS, advised_rate, bs_factor
from reduce.shearing.table import ShearSetting, shear_table
from reduce.specimen import cylinder_area
from reduce.units import convert, parse

FOLDER = Path(__file__).parent
ROWS = list(csv.DictReader((FOLDER / "shear_examples.csv").read_text("utf-8").splitlines()))
STANDINGS = {"printed", "from memory", "recomputed: no published answer"}
SPECIMEN = {"cv_m2_year": 2.0, "diameter_mm": 38.0, "height_mm": 76.0}


def value(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def test_every_row_says_where_it_comes_from() -> None:
    assert len(ROWS) > 50
    for row in ROWS:
        assert row["source"]
        assert row["place"]
        assert row["standing"] in STANDINGS, row


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['quantity']} {row['inputs'][:50]}")
def test_answer_as_printed(row: dict[str, str]) -> None:
    module, function, *part = row["quantity"].split(".")
    pairs = (pair.split("=") for pair in row["inputs"].split(";"))
    inputs = {name.strip(): value(given) for name, given in pairs}
    package = "reduce" if module == "drainage" else "reduce.shearing"
    answer = getattr(importlib.import_module(f"{package}.{module}"), function)(**inputs)
    if part:
        answer = getattr(answer, part[0])
    printed = Decimal(row["expected"])
    half_digit = 0.5 * 10.0 ** int(printed.as_tuple().exponent)
    assert answer == pytest.approx(float(printed), rel=0.0, abs=half_digit * (1 + 1e-9))


@pytest.mark.parametrize("diameter", [38.0, 50.0, 70.0, 100.0, 150.0])
def test_the_table_and_the_formula_of_side_drains_agree(diameter: float) -> None:
    """BS 1377-8 table 2 against ASTM D4767 with half the perimeter covered: both from memory.

    The table is rounded to half a kilopascal and lies up to 9 % below the formula.
    """
    by_formula = side_drain_correction(
        0.05,
        load_per_perimeter=0.19,
        perimeter=math.pi * diameter / 2.0,
        area=cylinder_area(diameter),
    )
    assert by_formula == pytest.approx(
        side_drain_correction_by_table(0.05, diameter=diameter), rel=0.09
    )


def test_between_and_beyond_the_diameters_of_the_table() -> None:
    full = [side_drain_correction_by_table(0.05, diameter=d) for d in (60.0, 44.0, 19.0, 300.0)]
    assert full == pytest.approx([6.0, 8.5, 20.0, 1.25])  # half the diameter: twice the correction
    assert side_drain_correction_by_table(0.01, diameter=38.0) == pytest.approx(5.0)


def test_the_membrane_of_iso_is_a_thin_elastic_tube() -> None:
    """Plane stress, Poisson's ratio ½, hoop strain (εv − ε1)/2: force and hoop tension by hand."""
    modulus, thickness, diameter, axial, volumetric = 1400.0, 0.3, 50.0, 0.12, -0.03
    hoop = (volumetric - axial) / 2.0
    stiff = modulus / (1.0 - 0.25)
    along, around = stiff * (axial + hoop / 2.0), stiff * (hoop + axial / 2.0)
    rubber = {"modulus": modulus, "thickness": thickness, "diameter": diameter}
    by_force = along * math.pi * diameter * thickness / cylinder_area(diameter)
    assert membrane_correction_vertical(axial, volumetric, **rubber) == pytest.approx(by_force)
    by_hoop = around * thickness / (diameter / 2.0)
    assert membrane_correction_horizontal(volumetric, **rubber) == pytest.approx(by_hoop)
    # what q loses is the formula of ASTM again
    assert by_force - by_hoop == pytest.approx(membrane_correction(axial, **rubber))


@pytest.mark.parametrize(
    ("standard", "membrane", "horizontal", "drains"),
    [  # 50 mm, t 0.3 mm, ε1 0.10, εv 0.03, 78 mm covered: 33.6 = 4·1400·0.3/50
        ("ASTM D4767", 3.36, 0.0, 7.5477),
        ("ASTM D7181", 3.36, 0.0, 7.5477),
        ("BS 1377-8", 3.36, 0.0, 7.0),
        ("ISO 17892-9", 3.696, 0.336, 7.5477),
    ],
)
def test_one_call_for_every_standard(
    standard: str, membrane: float, horizontal: float, drains: float
) -> None:
    area = cylinder_area(50.0)
    given = {"area": area, "membrane": Membrane(0.3), "side_drains": SideDrains(78.0)}
    found: Carried[float] = carried_beside(standard, 0.10, 0.03, **given)  # type: ignore[arg-type]
    assert found == pytest.approx((membrane, horizontal, drains), rel=1e-4)
    stated = carried_beside(
        standard, 0.10, 0.03, area=area, membrane=None, side_drains=SideDrains(78.0, 0.25)
    )
    # what the drains carry was stated: every standard multiplies
    assert stated == pytest.approx((0.0, 0.0, 0.25 * 78.0 / area * 1000.0))


@pytest.mark.parametrize("apart_mm", [0.0, 0.5, 5.0, 20.0, 37.0])
def test_sliding_halves_overlap_as_two_circles(apart_mm: float) -> None:
    """Against the integral over the lens of two circles, by scipy."""
    diameter, height, angle, slip = 38.0, 76.0, 55.0, 0.02
    strain = slip + apart_mm * math.tan(math.radians(angle)) / height
    formed = 2.0 * math.sqrt(cylinder_area(diameter) / (1.0 - slip) / math.pi)
    radius = formed / 2.0
    lens = 4.0 * quad(lambda x: math.sqrt(max(radius**2 - x**2, 0.0)), apart_mm / 2, radius)[0]
    found = plane_area(
        cylinder_area(diameter), strain, 0.0, height=height, slip_strain=slip, plane_angle=angle
    )
    assert found == pytest.approx(lens, rel=1e-7)


def test_ease_of_drainage_against_its_printed_values_and_another_series() -> None:
    """Gibson and Henkel (1954): 0.75, 3, 32, 36, 40.4 for H/D = 2 (from memory)."""
    for drainage, printed in zip(DRAINAGES, (0.75, 3.0, 32.0, 36.0, 40.4), strict=True):
        assert drainage_eta(drainage, 2.0) == pytest.approx(printed, rel=0.012)
    for slenderness in (1.8, 2.0, 2.5):
        for drainage in ("radial + one end", "radial + both ends"):
            # along the axis by sines, across by Bessel functions: the other way round than ours
            length = slenderness / (2.0 if "both" in drainage else 1.0)
            odd = (2 * np.arange(4000) + 1) * np.pi / 2
            wave = odd / length
            across = 1.0 - 2.0 * i1e(wave / 2) / (wave / 2 * i0e(wave / 2))
            mean = float(np.sum(2.0 / odd**2 / wave**2 * across))
            assert drainage_eta(drainage, slenderness) == pytest.approx(1.0 / mean, rel=1e-6)


@pytest.mark.parametrize("drainage", DRAINAGES)
def test_factors_of_the_table_follow_from_theory(drainage: str) -> None:
    """F t100 of BS 1377-8 (from memory) against Gibson and Henkel, and Blight (from memory).

    Within what two printed digits and the rounded λ, η and 0.07 leave: 3 %.
    """
    end = t100(drainage, **SPECIMEN) / 60.0
    by_flow = drained_time(drainage, **SPECIMEN) / end
    assert BS_FACTORS["CD", drainage] == pytest.approx(by_flow, rel=0.02)
    by_equal = equalised_time("radial" in drainage, **SPECIMEN) / end
    assert BS_FACTORS["CU", drainage] == pytest.approx(by_equal, rel=0.035)


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("height", [68.0, 76.0, 95.0])
def test_factors_keep_their_theory_at_other_heights(drainage: str, height: float) -> None:
    slim = {**SPECIMEN, "height_mm": height}
    end, end_2 = t100(drainage, **slim), t100(drainage, **SPECIMEN)
    slenderness = height / 38.0
    drained = drained_time(drainage, **slim) / drained_time(drainage, **SPECIMEN)
    assert bs_factor("CD", drainage, slenderness) * end == pytest.approx(
        BS_FACTORS["CD", drainage] * end_2 * drained
    )
    side = "radial" in drainage
    equal = equalised_time(side, **slim) / equalised_time(side, **SPECIMEN)
    assert bs_factor("CU", drainage, slenderness) * end == pytest.approx(
        BS_FACTORS["CU", drainage] * end_2 * equal
    )


def test_iso_and_bs_say_the_same_of_ends() -> None:
    """t100 is (π/4)/0.197 = 3.987 t50 with drained ends: F t50 against F t100."""
    for kind in ("CU", "CD"):
        for drainage in ("one end", "both ends"):
            iso = advised_rate("ISO 17892-9", kind, drainage=drainage, t50_min=100.0)
            bs = advised_rate("BS 1377-8", kind, drainage=drainage, t100_min=398.7)
            assert iso.time_to_failure_min == pytest.approx(bs.time_to_failure_min, rel=0.015)


def test_lambda_of_the_table() -> None:
    """80 is printed where theory has 81; the factor of the table goes with the print."""
    assert lambda_factor("radial + one end", 2.0) == pytest.approx(80.0, rel=0.013)


def craig(cell: float, q: float, pore: float, strain: float) -> dict[str, Column]:
    return {
        "axial_displacement": np.array([0.0, strain * 76.0]),
        "axial_load": np.array([0.0, q * 1134.1 / (1.0 - strain) / 1000.0]),
        "cell_pressure": np.array([cell, cell]),
        "pore_pressure": np.array([0.0, pore]),
    }


@pytest.mark.parametrize(
    ("cell", "q", "pore", "major", "minor"),
    [  # Craig, Soil Mechanics, CU example (from memory)
        (150.0, 192.0, 80.0, 262.0, 70.0),
        (300.0, 341.0, 154.0, 487.0, 146.0),
        (450.0, 504.0, 222.0, 732.0, 228.0),
    ],
)
def test_stresses_at_failure_through_the_table(
    cell: float, q: float, pore: float, major: float, minor: float
) -> None:
    setting = ShearSetting("CU", "ASTM D4767", 1134.1, 76.0, 86.2)
    table = shear_table(setting, craig(cell, q, pore, 0.07))
    state = failure_states(table, 0.15).peak_deviator
    assert state is not None
    assert state.deviator_kPa == pytest.approx(q)
    assert state.sigma1_effective_kPa == pytest.approx(major)
    assert state.sigma3_effective_kPa == pytest.approx(minor)
    assert pytest.approx(pore / q) == state.A


def test_a_printed_uu_sheet_from_readings_to_failure() -> None:
    """Liu and Evett, ch. 22, p. 355 and 368 (found in public text): peak 40.0 psi at 0.0301."""
    rows = list(csv.DictReader((FOLDER / "liu_evett_uu.csv").read_text("utf-8").splitlines()))
    sheet = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    area, height = cylinder_area(parse("2.50 in", "mm")), parse("5.82 in", "mm")
    setting = ShearSetting("UU", "ASTM D2850", area, height, area * height / 1000.0)
    table = shear_table(
        setting,
        {
            "axial_displacement": convert(sheet["shortening_in"], "in", "mm"),
            "axial_load": convert(sheet["ring_in"] * 6000.0, "lbf", "N"),
            "cell_pressure": np.full(len(rows), parse("10.0 psi", "kPa")),
        },
    )
    q = convert(table.deviator_kPa, "kPa", "psi")
    assert q == pytest.approx(sheet["deviator_psi"], abs=0.07)  # their rounding of area and load
    found = failure_states(table, 0.15)
    peak = found.peak_deviator
    assert peak is not None
    assert peak.axial_strain == pytest.approx(0.0301, abs=0.5e-4)
    assert peak.deviator_kPa == pytest.approx(parse("40.0 psi", "kPa"), abs=0.35)
    assert peak.sigma1_kPa == pytest.approx(parse("50.0 psi", "kPa"), abs=0.35)
    assert peak.pore_kPa is None
    assert peak.A is None
    assert not found.still_rising
    assert found.peak_ratio is None
    assert found.at_strain_limit is None
