"""The specimen at another volume, and the balance of its water."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce import ReductionError, consolidated_method_b, specimen_at_set_up, void_ratio_after
from reduce.phase_relations import saturated_water_content
from reduce.specimen import SpecimenAtSetUp
from reduce.specimen_after import specimen_after, water_balance

GRAINS = 2.70


def clay(saturation: float = 0.9, voids: float = 0.8) -> SpecimenAtSetUp:
    """38 mm by 76 mm, water of 1 Mg/m³."""
    volume = math.pi / 4.0 * 38.0**2 * 76.0 / 1000.0
    dry = volume / (1.0 + voids) * GRAINS
    return specimen_at_set_up(
        diameter_mm=38.0,
        height_mm=76.0,
        mass_g=dry * (1.0 + saturation * voids / GRAINS),
        dry_mass_g=dry,
        particle_density_Mg_m3=GRAINS,
        water_density_Mg_m3=1.0,
    )


CLAY = clay()
BARE = specimen_at_set_up(diameter_mm=38.0, height_mm=80.0)


@given(some.floats(0.4, 2.5), some.floats(-0.05, 0.2), some.floats(0.05, 1.0))
def test_both_ways_to_the_void_ratio_agree(voids: float, strain: float, filled: float) -> None:
    start = clay(voids=voids)
    volume = start.volume_ml * (1.0 - strain)
    content = filled * (voids - strain * (1.0 + voids)) / GRAINS
    after = specimen_after(
        start,
        volume,
        water_content=content,
        particle_density_Mg_m3=GRAINS,
        water_density_Mg_m3=1.0,
    )
    assert after.void_ratio is not None
    assert after.dry_density_Mg_m3 is not None
    assert after.saturation == pytest.approx(filled, rel=1e-9)
    assert after.void_ratio == pytest.approx(void_ratio_after(voids, strain), rel=1e-9)
    assert GRAINS / after.dry_density_Mg_m3 - 1.0 == pytest.approx(after.void_ratio, rel=1e-9)
    # S is the share of the water content that would fill the voids
    assert after.water_content_full is not None
    assert content / after.water_content_full == pytest.approx(after.saturation, rel=1e-12)
    solids_unknown = specimen_after(BARE, BARE.volume_ml * (1 - strain), void_ratio_at_set_up=voids)
    assert solids_unknown.void_ratio == pytest.approx(after.void_ratio, rel=1e-9)


@given(some.floats(0.2, 0.4))
def test_the_volume_of_method_b_is_full(content: float) -> None:
    assert CLAY.dry_mass_g is not None
    by_b = consolidated_method_b(CLAY.dry_mass_g, content, GRAINS, 74.0, 1.0)
    after = specimen_after(
        CLAY,
        by_b.volume_ml,
        water_content=content,
        particle_density_Mg_m3=GRAINS,
        water_density_Mg_m3=1.0,
    )
    assert after.saturation == pytest.approx(1.0)
    assert after.water_content_full == pytest.approx(content)


def test_printed_isotropic_compression() -> None:
    """Powrie, solutions, p. 74 (printed): 38 by 80 mm, e 1.493, −618 mm³: Δv −0.017."""
    after = specimen_after(BARE, BARE.volume_ml - 0.618, void_ratio_at_set_up=1.493)
    assert after.void_ratio is not None
    assert after.void_ratio - 1.493 == pytest.approx(-0.017, abs=0.0005)
    # w 0.572 is printed with e 1.493 and Gs 2.61
    assert saturated_water_content(1.493, 2.61, 1.0) == pytest.approx(0.572, abs=0.0005)


@given(some.floats(-5.0, 10.0), some.floats(0.0, 10.0), some.floats(-3.0, 3.0))
def test_water_that_went_astray_is_the_difference(
    drained: float, inflow: float, astray: float
) -> None:
    assert CLAY.dry_mass_g is not None
    assert CLAY.water_content is not None
    left = CLAY.water_content * CLAY.dry_mass_g + inflow - drained - astray
    found = water_balance(
        CLAY,
        left / CLAY.dry_mass_g,
        drained_ml=drained,
        inflow_ml=inflow,
        water_density_Mg_m3=1.0,
    )
    assert found is not None
    assert found.difference_ml == pytest.approx(astray, abs=1e-9)
    assert found.share_of_volume * CLAY.volume_ml == pytest.approx(astray, abs=1e-9)
    assert found.weighed_ml == pytest.approx(left)
    assert found.read_ml - found.weighed_ml == pytest.approx(astray, abs=1e-9)


def test_what_cannot_be_told_is_none() -> None:
    after = specimen_after(BARE, 85.0, water_content=0.3, particle_density_Mg_m3=GRAINS)
    told = (after.void_ratio, after.dry_density_Mg_m3, after.saturation, after.water_content_full)
    assert told == (None, None, None, None)
    assert water_balance(BARE, 0.3, drained_ml=1.0) is None
    unweighed = specimen_after(CLAY, 80.0, particle_density_Mg_m3=GRAINS)
    assert unweighed.saturation is None
    assert unweighed.water_content_full is not None


@pytest.mark.parametrize(
    "refused",
    [
        lambda: specimen_after(CLAY, 0.0),
        lambda: specimen_after(CLAY, math.nan),
        lambda: specimen_after(CLAY, 40.0),
        lambda: specimen_after(BARE, 40.0, void_ratio_at_set_up=0.8),
        lambda: specimen_after(CLAY, 80.0, water_content=-0.1, particle_density_Mg_m3=GRAINS),
        lambda: specimen_after(CLAY, 80.0, particle_density_Mg_m3=0.0),
        lambda: water_balance(CLAY, -0.1, drained_ml=1.0),
        lambda: water_balance(CLAY, 0.3, drained_ml=math.nan),
        lambda: water_balance(CLAY, 0.3, drained_ml=1.0, inflow_ml=math.inf),
        lambda: water_balance(CLAY, 0.3, drained_ml=1.0, water_density_Mg_m3=0.0),
        lambda: saturated_water_content(0.0, GRAINS),
    ],
)
def test_out_of_bounds_is_refused_with_its_name(refused: Callable[[], object]) -> None:
    with pytest.raises(ReductionError, match=r"\w+ (is|are|of|at) "):
        refused()
