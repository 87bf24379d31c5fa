"""Laws that the soil models of the rehearsal must obey."""

import math
from dataclasses import replace

import numpy as np
import pytest

from reduce.rehearsal.cam_clay import shear_clay
from reduce.rehearsal.sand import critical_void_ratio, shear_sand
from reduce.rehearsal.soils import SOILS, varied

PLAIN = replace(SOILS["soft-clay"], structure=1.0, structure_decay=0.0)
"""Without structure, normally consolidated: the Cam clay of the textbooks."""


def test_undrained_cam_clay_follows_the_closed_form_of_its_path() -> None:
    """p′/p0 = (M² / (M² + η²))^Λ, Λ = (λ - κ)/λ; Roscoe & Burland (1968), as in textbooks."""
    curve = shear_clay(PLAIN, 150.0, 150.0, 1.1, 0.15, drained=False)
    exponent = 1.0 - PLAIN.kappa / PLAIN.lambda_
    m2 = PLAIN.critical_ratio**2
    for point in curve.points[::25]:
        ratio = point.deviator_kPa / point.mean_effective_kPa
        expected = 150.0 * (m2 / (m2 + ratio**2)) ** exponent
        assert point.mean_effective_kPa == pytest.approx(expected, rel=0.01)


def test_undrained_cam_clay_ends_at_critical_state() -> None:
    """q = M p′ and p′ = p0 · 2^-Λ; Schofield & Wroth (1968), modified by Roscoe & Burland."""
    end = shear_clay(PLAIN, 150.0, 150.0, 1.1, 0.30, drained=False).points[-1]
    exponent = 1.0 - PLAIN.kappa / PLAIN.lambda_
    assert end.deviator_kPa / end.mean_effective_kPa == pytest.approx(
        PLAIN.critical_ratio, rel=0.002
    )
    assert end.mean_effective_kPa == pytest.approx(150.0 * 2.0**-exponent, rel=0.01)


@pytest.mark.parametrize("name", ["soft-clay", "silty-clay", "stiff-clay", "silt"])
def test_every_clay_ends_at_its_friction_angle_undrained(name: str) -> None:
    soil = SOILS[name]
    yields = max(150.0, soil.preconsolidation_kPa)
    end = shear_clay(soil, 150.0, yields, 0.9, 0.5, drained=False).points[-1]
    sine = (end.sigma1_effective_kPa - end.sigma3_effective_kPa) / (
        end.sigma1_effective_kPa + end.sigma3_effective_kPa
    )
    assert math.degrees(math.asin(sine)) == pytest.approx(soil.friction_deg, abs=0.3)


@pytest.mark.parametrize("name", ["soft-clay", "stiff-clay"])
def test_an_undrained_path_keeps_volume_and_a_drained_one_total_stress(name: str) -> None:
    soil = SOILS[name]
    yields = max(150.0, soil.preconsolidation_kPa)
    undrained = shear_clay(soil, 150.0, yields, 0.9, 0.15, drained=False)
    assert all(point.volumetric_strain == 0.0 for point in undrained.points)
    drained = shear_clay(soil, 150.0, yields, 0.9, 0.15, drained=True)
    for point in drained.points:
        assert point.sigma3_effective_kPa == pytest.approx(150.0, abs=1e-6)
    assert drained.points[-1].volumetric_strain != 0.0


def test_pore_pressure_is_what_total_stress_leaves() -> None:
    curve = shear_clay(PLAIN, 150.0, 150.0, 1.1, 0.15, drained=False)
    _, deviator, excess, _ = curve.columns()
    for point, q, rise in zip(curve.points, deviator, excess, strict=True):
        assert 150.0 - rise == pytest.approx(point.sigma3_effective_kPa, abs=1e-9)
        assert q == point.deviator_kPa
    assert excess[-1] > 0.5 * deviator[-1]


def test_structure_makes_a_peak_that_plain_clay_has_not() -> None:
    soft = SOILS["soft-clay"]
    with_peak = shear_clay(soft, 150.0, 150.0, 1.1, 0.15, drained=False)
    plain = shear_clay(PLAIN, 150.0, 150.0, 1.1, 0.15, drained=False)
    peak = with_peak.peak_deviator()
    assert 0.01 < peak.axial_strain < 0.06
    assert with_peak.points[-1].deviator_kPa < 0.93 * peak.deviator_kPa
    assert plain.points[-1].deviator_kPa > 0.999 * plain.peak_deviator().deviator_kPa


def test_halving_the_step_changes_nothing_that_matters() -> None:
    coarse = shear_clay(SOILS["soft-clay"], 120.0, 120.0, 1.1, 0.10, drained=False)
    fine = shear_clay(SOILS["soft-clay"], 120.0, 120.0, 1.1, 0.10, drained=False, step=1e-4)
    assert fine.points[-1].deviator_kPa == pytest.approx(coarse.points[-1].deviator_kPa, rel=2e-3)
    sand = SOILS["dense-sand"]
    a = shear_sand(sand, 200.0, 0.66, 0.10, drained=True)
    b = shear_sand(sand, 200.0, 0.66, 0.10, drained=True, step=1e-4)
    assert b.points[-1].deviator_kPa == pytest.approx(a.points[-1].deviator_kPa, rel=2e-3)


def test_dense_sand_peaks_dilates_and_comes_to_its_critical_void_ratio() -> None:
    sand = SOILS["dense-sand"]
    curve = shear_sand(sand, 200.0, sand.void_ratio, 0.8, drained=True)
    peak, end = curve.peak_deviator(), curve.points[-1]
    assert peak.deviator_kPa > 1.15 * end.deviator_kPa
    assert end.volumetric_strain < -0.03
    void_ratio = sand.void_ratio - (1.0 + sand.void_ratio) * end.volumetric_strain
    assert void_ratio == pytest.approx(critical_void_ratio(sand, end.mean_effective_kPa), abs=0.02)
    assert end.deviator_kPa / end.mean_effective_kPa == pytest.approx(sand.critical_ratio, rel=0.03)


def test_dense_sand_is_steepest_in_dilation_where_it_peaks() -> None:
    """Taylor (1948), Rowe (1962): strength peaks where dilation is fastest."""
    sand = SOILS["dense-sand"]
    strain, deviator, _, volume = shear_sand(sand, 200.0, 0.66, 0.2, drained=True).columns()
    dilation = -np.gradient(volume, strain)
    assert strain[np.argmax(dilation)] == pytest.approx(strain[np.argmax(deviator)], abs=0.01)


def test_loose_sand_contracts_and_raises_pore_pressure() -> None:
    sand = SOILS["loose-sand"]
    drained = shear_sand(sand, 200.0, sand.void_ratio, 0.15, drained=True)
    assert drained.points[-1].volumetric_strain > 0.0
    undrained = shear_sand(sand, 200.0, sand.void_ratio, 0.15, drained=False)
    assert all(point.volumetric_strain == 0.0 for point in undrained.points)
    assert max(undrained.columns()[2]) > 0.2 * 200.0


def test_dense_sand_undrained_stops_at_cavitation() -> None:
    sand = SOILS["dense-sand"]
    free = shear_sand(sand, 200.0, 0.66, 0.15, drained=False)
    held = shear_sand(sand, 200.0, 0.66, 0.15, drained=False, lowest_excess_kPa=-390.0)
    assert min(free.columns()[2]) < -800.0
    assert min(held.columns()[2]) > -400.0
    assert held.peak_deviator().deviator_kPa < free.peak_deviator().deviator_kPa


def test_another_sample_of_a_soil_is_near_but_not_the_same() -> None:
    soil = SOILS["silty-clay"]
    other = varied(soil, 3)
    assert varied(soil, 0) is soil
    assert other != varied(soil, 4)
    assert other.friction_deg == pytest.approx(soil.friction_deg, rel=0.031)
    assert 0.9 < other.saturation < 1.0
