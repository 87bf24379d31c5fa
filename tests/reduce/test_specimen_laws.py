"""Laws of specimen, phase relations, consolidation, stresses and shear."""

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as some

import reduce
from reduce import (
    ReductionError,
    a_parameter,
    consolidated_isotropic,
    consolidated_method_a,
    consolidated_method_b,
    corrected_area_drained,
    corrected_area_undrained,
    cylinder_area,
    cylinder_volume,
    degree_of_saturation,
    density,
    deviator,
    dissipation,
    dry_density,
    effective_stress,
    mean_effective_stress,
    mean_stress,
    parabolic_area_drained,
    parabolic_area_undrained,
    porosity,
    principal_stress_ratio,
    principal_stresses,
    solids_volume,
    specimen_at_set_up,
    stress_ratio,
    void_ratio,
    void_ratio_after,
    volumetric_strain,
    water_content,
)

DIAMETER = some.floats(30.0, 150.0)
STRAIN = some.floats(-0.02, 0.25)
VOLUME_STRAIN = some.floats(-0.05, 0.10)
STRESS = some.floats(0.0, 1500.0)
NUMBERS = some.lists(some.floats(0.02, 0.3), min_size=1, max_size=6)

COLUMNS: dict[str, Callable[..., object]] = {
    "axial_strain": lambda x: reduce.axial_strain(x, 100.0),
    "corrected_area_undrained": lambda x: corrected_area_undrained(1100.0, x),
    "corrected_area_drained": lambda x: corrected_area_drained(1100.0, x, x / 3.0),
    "parabolic_area_undrained": lambda x: parabolic_area_undrained(1100.0, x),
    "parabolic_area_drained": lambda x: parabolic_area_drained(1100.0, x, x / 3.0),
    "deviator": lambda x: deviator(x, x + 1000.0),
    "volumetric_strain": lambda x: volumetric_strain(x, 86.0),
    "void_ratio_after": lambda x: void_ratio_after(0.8, x),
    "dissipation": lambda x: dissipation(450.0, x, 300.0),
    "b_value": lambda x: reduce.b_value(x, x + 1.0),
    "effective_stress": lambda x: effective_stress(x, x / 2.0),
    "principal_stresses": lambda x: principal_stresses(x, x / 2.0, x).major_effective,
    "mean_stress": lambda x: mean_stress(x, x),
    "mean_effective_stress": lambda x: mean_effective_stress(x, x / 2.0, x),
    "shear_stress": reduce.shear_stress,
    "centre_stress": lambda x: reduce.centre_stress(x, x),
    "centre_effective_stress": lambda x: reduce.centre_effective_stress(x, x / 2.0, x),
    "stress_ratio": lambda x: stress_ratio(x, x + 1.0),
    "principal_stress_ratio": lambda x: principal_stress_ratio(x, x + 1.0),
    "a_parameter": lambda x: a_parameter(x, x + 1.0),
    "water_density": reduce.water_density,
    "viscosity_ratio": reduce.viscosity_ratio,
}


@pytest.mark.parametrize("name", COLUMNS)
@given(NUMBERS)
def test_a_number_is_an_element_of_a_column(name: str, numbers: list[float]) -> None:
    of = COLUMNS[name]
    column = of(np.array([*numbers, np.nan]))
    assert isinstance(column, np.ndarray)
    assert np.isnan(column[-1])  # NaN stays in its place and costs no other reading
    for element, number in zip(column, numbers, strict=False):
        alone = of(number)
        assert type(alone) is float
        assert element == pytest.approx(alone, rel=1e-14)


@given(DIAMETER, some.floats(1.5, 2.5), some.floats(1.2, 2.4), some.floats(0.02, 1.5))
def test_the_phases_fill_the_specimen(
    diameter: float, slenderness: float, dense: float, content: float
) -> None:
    height = diameter * slenderness
    mass = dense * cylinder_volume(diameter, height) / 1000.0
    assume(mass / (1.0 + content) / 2.7 < 0.98 * mass / dense)
    clay = specimen_at_set_up(
        diameter_mm=diameter,
        height_mm=height,
        mass_g=mass,
        water_content_given=content,
        particle_density_Mg_m3=2.7,
        water_density_Mg_m3=1.0,
    )
    assert clay.dry_mass_g is not None
    assert clay.solids_volume_ml is not None
    assert clay.saturation is not None
    assert clay.void_ratio is not None
    assert clay.porosity is not None
    water = mass - clay.dry_mass_g
    voids = clay.volume_ml - clay.solids_volume_ml
    assert clay.saturation * voids == pytest.approx(water, rel=1e-9)
    assert clay.porosity * clay.volume_ml == pytest.approx(voids, rel=1e-9)
    assert clay.void_ratio == pytest.approx(2.7 / clay.dry_density_Mg_m3 - 1.0, rel=1e-9)
    assert clay.dry_density_Mg_m3 == pytest.approx(dry_density(dense, content), rel=1e-9)
    assert water_content(mass, clay.dry_mass_g) == pytest.approx(content, rel=1e-6, abs=1e-9)


def test_a_weighed_dry_mass_wins_over_trimmings() -> None:
    given_both = specimen_at_set_up(
        diameter_mm=38.0, height_mm=76.0, mass_g=162.0, dry_mass_g=127.0, water_content_given=0.31
    )
    assert given_both.water_content == pytest.approx(35.0 / 127.0)
    assert given_both.void_ratio is None  # particle density is not known
    assert given_both.saturation is None


def test_what_cannot_be_told_is_none() -> None:
    bare = specimen_at_set_up(diameter_mm=38.0, height_mm=76.0)
    assert bare.area_mm2 == pytest.approx(1134.115, abs=1e-3)
    told = (bare.moist_density_Mg_m3, bare.dry_density_Mg_m3, bare.water_content, bare.void_ratio)
    assert told == (None, None, None, None)


@given(some.floats(0.3, 3.0), VOLUME_STRAIN)
def test_void_ratio_follows_the_volume(voids: float, strain: float) -> None:
    # e + 1 is V/Vs, and Vs stays
    after = void_ratio_after(voids, strain)
    assert (1.0 + after) / (1.0 + voids) == pytest.approx(1.0 - strain, rel=1e-12)
    assert porosity(voids) == pytest.approx(voids / (1.0 + voids))


@given(DIAMETER, some.floats(-0.01, 0.10))
def test_isotropic_lines_touch_the_exact_cube_root(diameter: float, strain: float) -> None:
    height, area = 2.0 * diameter, cylinder_area(diameter)
    volume = area * height / 1000.0
    after = consolidated_isotropic(height, area, volume, strain * volume)
    exact = (1.0 - strain) ** (1.0 / 3.0)
    assert after.height_mm == pytest.approx(height * exact, rel=strain**2 / 8.0 + 1e-12)
    assert after.area_mm2 == pytest.approx(area * exact**2, rel=strain**2 / 8.0 + 1e-12)
    assert after.volume_ml == pytest.approx(volume * (1.0 - strain), rel=1e-12)


@given(some.floats(0.3, 2.0), some.floats(60.0, 200.0))
def test_methods_a_and_b_agree_on_a_saturated_specimen(voids: float, height: float) -> None:
    dry, grains = 127.0, 2.695
    solids = solids_volume(dry, grains)
    by_b = consolidated_method_b(dry, voids * solids / dry, grains, height, 1.0)
    by_a = consolidated_method_a(solids * (1.0 + voids) + 5.0, 1.0, 4.0, height)
    assert by_a.area_mm2 == pytest.approx(by_b.area_mm2, rel=1e-12)
    assert math.pi / 4 * by_a.diameter_mm**2 == pytest.approx(by_a.area_mm2, rel=1e-12)


@given(STRESS, STRESS, some.floats(0.0, 2000.0))
def test_stress_measures_agree_with_each_other(cell: float, pore: float, q: float) -> None:
    of = principal_stresses(cell, pore, q)
    assert of.major - of.minor == pytest.approx(q, abs=1e-9)
    assert of.major_effective - of.minor_effective == pytest.approx(q, abs=1e-9)
    p = (of.major_effective + 2.0 * of.minor_effective) / 3.0
    assert mean_effective_stress(cell, pore, q) == pytest.approx(p, abs=1e-9)
    assert mean_stress(cell, q) - pore == pytest.approx(p, abs=1e-9)
    s = (of.major_effective + of.minor_effective) / 2.0
    assert reduce.centre_effective_stress(cell, pore, q) == pytest.approx(s, abs=1e-9)
    assert reduce.centre_stress(cell, q) - pore == pytest.approx(s, abs=1e-9)
    assert reduce.shear_stress(q) == pytest.approx((of.major - of.minor) / 2.0, abs=1e-9)


@given(some.floats(-0.5, 1.5), some.floats(1.0, 500.0), some.floats(0.5, 1.0), STRESS)
def test_a_is_recovered_from_skemptons_equation(a: float, q: float, b: float, cell: float) -> None:
    pore = b * (cell + a * q)
    assert a_parameter(pore, q, cell, b) == pytest.approx(a, abs=1e-6 + 1e-9 * cell)


@given(STRAIN, VOLUME_STRAIN)
def test_drained_area_is_volume_over_height(strain: float, volumetric: float) -> None:
    area, height = 1134.1, 76.0
    volume = area * height * (1.0 - volumetric)
    expected = volume / (height * (1.0 - strain))
    assert corrected_area_drained(area, strain, volumetric) == pytest.approx(expected, rel=1e-12)
    without = corrected_area_drained(area, strain, 0.0)
    assert without == pytest.approx(corrected_area_undrained(area, strain), rel=1e-12)


@given(STRAIN, VOLUME_STRAIN)
def test_a_parabolic_barrel_keeps_its_volume(strain: float, volumetric: float) -> None:
    end, height = 38.0, 76.0
    middle = 2.0 * math.sqrt(
        parabolic_area_drained(cylinder_area(end), strain, volumetric) / math.pi
    )
    shortened = height * (1.0 - strain)
    barrel = math.pi * shortened * (8 * middle**2 + 4 * middle * end + 3 * end**2) / 60.0
    expected = cylinder_volume(end, height) * (1.0 - volumetric)
    assert barrel == pytest.approx(expected, rel=1e-9)


@given(STRAIN)
def test_the_printed_form_of_the_parabola(strain: float) -> None:
    printed = -0.25 + math.sqrt(25 - 20 * strain - 5 * strain**2) / (4 * (1 - strain))
    assert parabolic_area_undrained(1.0, strain) == pytest.approx(printed**2, rel=1e-12)


def test_a_parabola_bulges_more_than_a_cylinder_and_both_begin_alike() -> None:
    strains = np.linspace(0.0, 0.25, 26)
    parabola, cylinder = (
        parabolic_area_undrained(1.0, strains),
        corrected_area_undrained(1.0, strains),
    )
    assert parabola[0] == cylinder[0] == 1.0
    assert np.all(parabola[1:] > cylinder[1:])
    assert all(a < b for a, b in itertools.pairwise(parabola))


@given(some.floats(0.0, 1.0))
def test_dissipation_runs_from_nothing_to_all(share: float) -> None:
    assert dissipation(450.0, 450.0 - 150.0 * share, 300.0) == pytest.approx(share, abs=1e-12)


def test_near_zero_effective_stress_a_ratio_says_so() -> None:
    column = stress_ratio(np.array([50.0, 50.0, 50.0]), np.array([100.0, 0.05, -3.0]))
    assert column[0] == 0.5
    assert np.isnan(column[1:]).all()
    assert not np.isinf(principal_stress_ratio(np.array([1.0]), np.array([0.0]))).any()
    with pytest.raises(ReductionError, match=r"mean effective stress is 0.05 kPa"):
        stress_ratio(50.0, 0.05)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: cylinder_area(0.0),
        lambda: cylinder_volume(38.0, -1.0),
        lambda: water_content(126.0, 127.0),
        lambda: water_content(math.inf, 127.0),
        lambda: density(math.nan, 86.0),
        lambda: void_ratio(86.0, 86.0),
        lambda: dry_density(1.9, -0.1),
        lambda: degree_of_saturation(-0.1, 2.7, 0.8),
        lambda: specimen_at_set_up(diameter_mm=38.0, height_mm=76.0, mass_g=1.0, dry_mass_g=2.0),
        lambda: specimen_at_set_up(
            diameter_mm=38.0, height_mm=76.0, dry_mass_g=300.0, particle_density_Mg_m3=2.7
        ),
        lambda: consolidated_method_a(86.0, 80.0, 6.0, 74.0),
        lambda: consolidated_method_b(127.0, -0.1, 2.7, 74.0),
        lambda: dissipation(300.0, 300.0, 300.0),
        lambda: reduce.coefficient_of_compressibility(0.04, 300.0, 300.0),
        lambda: corrected_area_undrained(1134.0, 1.0),
        lambda: corrected_area_undrained(1134.0, math.nan),
        lambda: parabolic_area_drained(1134.0, -0.5, 0.9),
        lambda: deviator(100.0, 0.0),
        lambda: reduce.axial_strain(1.0, 0.0),
        lambda: a_parameter(10.0, 0.0),
        lambda: a_parameter(10.0, 20.0, b=0.0),
        lambda: reduce.water_density(80.0),
    ],
)
def test_out_of_bounds_is_refused_with_its_name(refused: Callable[[], object]) -> None:
    with pytest.raises(ReductionError, match=r"\w+ (is|are|of|at) "):
        refused()
