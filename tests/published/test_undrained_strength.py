"""Undrained strength against printed tests: Liu and Evett, ch. 22, pages 355 and 368 (found in
public text), and the principle of NPTEL course 105103097, ch. 9, example 1.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from reduce import convert, cylinder_area, cylinder_volume, parse
from reduce.shearing.failure import failure_states
from reduce.shearing.table import ShearSetting, ShearTable, shear_table
from reduce.shearing.unconsolidated import undrained_strength

ROWS = list(
    csv.DictReader(Path(__file__).with_name("liu_evett_uu.csv").read_text("utf-8").splitlines())
)


def liu_and_evett(until: int | None = None) -> ShearTable:
    sheet = {name: np.array([float(row[name]) for row in ROWS]) for name in ROWS[0]}
    diameter, height = parse("2.50 in", "mm"), parse("5.82 in", "mm")
    setting = ShearSetting(
        "UU",
        "ASTM D2850",
        cylinder_area(diameter),
        height,
        cylinder_volume(diameter, height) / 1000.0,
    )
    channels = {
        "axial_displacement": convert(sheet["shortening_in"], "in", "mm"),
        "axial_load": convert(sheet["ring_in"] * 6000.0, "lbf", "N"),
        "cell_pressure": np.full(len(ROWS), parse("10.0 psi", "kPa")),
    }
    return shear_table(setting, {name: column[:until] for name, column in channels.items()})


def test_liu_and_evett() -> None:
    found = undrained_strength(failure_states(liu_and_evett(), 0.15))
    assert found is not None
    assert found.sigma1_kPa is not None
    assert found.sigma3_kPa is not None
    # Printed: q 40.0 from an area of 5.06 in², σ3 10.0, σ1 50.0 psi; ours go on with 5.0610 in²
    assert convert(found.deviator_kPa, "kPa", "psi") == pytest.approx(40.0, abs=0.05)
    assert convert(found.strength_kPa, "kPa", "psi") == pytest.approx(20.0, abs=0.025)
    assert convert(found.sigma1_kPa, "kPa", "psi") == pytest.approx(50.0, abs=0.05)
    assert convert(found.sigma3_kPa, "kPa", "psi") == pytest.approx(10.0, abs=1e-6)
    assert found.axial_strain == pytest.approx(0.0301, abs=0.5e-4)
    assert not found.still_rising
    assert not found.at_strain_limit


def test_liu_and_evett_stopped_before_its_peak() -> None:
    found = undrained_strength(failure_states(liu_and_evett(until=9), 0.15))
    assert found is not None
    assert found.still_rising
    assert convert(found.deviator_kPa, "kPa", "psi") == pytest.approx(35.1, abs=0.1)


def test_strain_limit_between_two_readings_of_a_rising_test() -> None:
    # Printed: 0.0172: 30.7 psi, 0.0215: 35.1 psi; the line between them at 0.02 is 33.57
    found = undrained_strength(failure_states(liu_and_evett(), 0.02))
    assert found is not None
    assert found.at_strain_limit
    assert found.axial_strain == pytest.approx(0.02)
    assert convert(found.deviator_kPa, "kPa", "psi") == pytest.approx(33.57, abs=0.12)


@pytest.mark.parametrize(("cell", "major"), [(3.0, 4.0), (4.0, 5.0)])
def test_cell_pressure_changes_nothing_of_a_saturated_clay(cell: float, major: float) -> None:
    """NPTEL: σ3 3 kg/cm², q 1: cu 0.5 (printed); at σ3 4, σ1 is 5 (derived there)."""
    q = convert(1.0, "kgf/cm2", "kPa")
    load = np.array([0.0, q, 0.9 * q])  # N on 1000 mm², without strain
    channels = {
        "axial_displacement": np.zeros(3),
        "axial_load": load,
        "cell_pressure": np.full(3, convert(cell, "kgf/cm2", "kPa")),
    }
    setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
    found = undrained_strength(failure_states(shear_table(setting, channels), 0.15))
    assert found is not None
    assert found.sigma1_kPa is not None
    assert convert(found.strength_kPa, "kPa", "kgf/cm2") == pytest.approx(0.5)
    assert convert(found.sigma1_kPa, "kPa", "kgf/cm2") == pytest.approx(major)


def test_no_failure_is_none() -> None:
    setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
    empty = shear_table(setting, {"axial_displacement": np.empty(0), "axial_load": np.empty(0)})
    assert undrained_strength(failure_states(empty, 0.15)) is None
    unread = {"axial_displacement": np.arange(3.0), "axial_load": np.full(3, np.nan)}
    assert undrained_strength(failure_states(shear_table(setting, unread), 0.15)) is None
    no_cell = {"axial_displacement": np.arange(3.0), "axial_load": np.array([0.0, 50.0, 40.0])}
    found = undrained_strength(failure_states(shear_table(setting, no_cell), 0.15))
    assert found is not None
    assert found.sigma1_kPa is None
    assert found.sigma3_kPa is None
