"""The specimen after consolidation: a ram, an earlier shortening, a drained shear."""

from dataclasses import replace

import pytest

from reduce.phase_relations import particle_density
from reduce.reduction.dimensions import after_consolidation
from reduce.specimen import SpecimenAtSetUp, specimen_at_set_up

GRAINS = particle_density(2.70)


@pytest.fixture
def clay() -> SpecimenAtSetUp:
    return specimen_at_set_up(
        diameter_mm=38.0,
        height_mm=76.0,
        mass_g=162.0,
        dry_mass_g=127.0,
        particle_density_Mg_m3=GRAINS,
    )


def test_method_a_counts_what_the_ram_showed_while_saturating(clay: SpecimenAtSetUp) -> None:
    """Recomputed, no published answer: 0.3 and 1.3 mm of 76 mm, 4.00 ml: Hc 74.4, Ac 1091.02."""
    found = after_consolidation(
        clay, "ASTM D4767", volume_change=4.0, travel=1.3,
        saturation_change=3.0 * clay.volume_ml * 0.3 / 76.0, saturation_shortening=0.3,
    )  # fmt: skip
    assert found.headline == "method_a"
    assert found.chosen.height_mm == pytest.approx(74.4)
    assert found.chosen.area_mm2 == pytest.approx(1091.02, abs=0.01)


@pytest.mark.parametrize(
    ("travel", "followed", "driven"),
    [(None, False, False), (0.0, False, False), (0.2, False, False), (1.2, True, False),
     (2.3, True, False), (2.6, False, True), (8.0, False, True), (-3.0, False, False)],
)  # fmt: skip
def test_a_ram_follows_or_stands_or_is_driven(
    clay: SpecimenAtSetUp, travel: float | None, followed: bool, driven: bool
) -> None:
    """4 ml are 1.18 mm of equal strain: the ram's height counts from a quarter to twice of it."""
    found = after_consolidation(clay, "BS 1377-8", volume_change=4.0, travel=travel)
    assert (found.followed, found.driven) == (followed, driven)
    isotropic = 76.0 * (1.0 - 4.0 / clay.volume_ml / 3.0)
    height = 76.0 - (travel or 0.0) if followed else isotropic
    assert found.chosen.height_mm == pytest.approx(height)
    assert found.headline == ("method_a" if followed else "isotropic")


def test_a_swelling_specimen_has_no_ram_that_followed(clay: SpecimenAtSetUp) -> None:
    found = after_consolidation(clay, "ASTM D4767", volume_change=-2.0, travel=-0.5)
    assert not found.followed
    assert found.chosen.volume_ml == pytest.approx(clay.volume_ml + 2.0)


def test_methods_a_and_b_agree_where_the_water_was_weighed_after_drained_shear(
    clay: SpecimenAtSetUp,
) -> None:
    """All voids full after shear: the water that left in shear belongs to the volume before it."""
    consolidated, left_in_shear = clay.volume_ml - 4.0, 1.5
    solids = clay.solids_volume_ml
    assert solids is not None
    water = consolidated - left_in_shear - solids
    found = after_consolidation(
        clay, "ASTM D7181", volume_change=4.0, travel=None, shear_change=left_in_shear,
        final_water_content=water * 0.99821 / 127.0, particle_density_Mg_m3=GRAINS,
    )  # fmt: skip
    a, b = found.by_method["method_a"], found.by_method["method_b"]
    assert b.volume_ml == pytest.approx(a.volume_ml, rel=1e-4)
    assert b.area_mm2 == pytest.approx(a.area_mm2, rel=1e-4)


def test_without_masses_there_is_no_method_b(clay: SpecimenAtSetUp) -> None:
    bare = replace(clay, dry_mass_g=None)
    found = after_consolidation(
        bare, "ASTM D4767", volume_change=4.0, travel=None, final_water_content=0.25,
        particle_density_Mg_m3=GRAINS,
    )  # fmt: skip
    assert set(found.by_method) == {"method_a", "isotropic"}
