"""The specimen after consolidation, by each method that its readings allow.

Heights in mm, areas in mm², volumes in ml; changes are positive when the specimen shrinks.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sqrt

from reduce.consolidation import (
    Consolidated,
    consolidated_isotropic,
    consolidated_method_a,
    consolidated_method_b,
    height_isotropic,
)
from reduce.specimen import SpecimenAtSetUp

FOLLOWED = 0.25
"""A ram followed the specimen if it travelled this share of what isotropic strain implies;
common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """The specimen at some moment."""

    height_mm: float
    area_mm2: float
    volume_ml: float

    @property
    def diameter_mm(self) -> float:
        """Of the circle of this area. [mm]"""
        return 2.0 * sqrt(self.area_mm2 / pi)


@dataclass(frozen=True, slots=True)
class AfterConsolidation:
    """Every method's dimensions, and which of them the standard goes on with."""

    by_method: Mapping[str, Consolidated]
    """method_a, method_b (ASTM), isotropic (ISO, BS)."""
    headline: str
    """One of them."""
    followed: bool
    """Whether the height is the ram's; else it is that of isotropic strain."""

    @property
    def chosen(self) -> Consolidated:
        """The dimensions that shear starts from."""
        return self.by_method[self.headline]


def after_consolidation(
    start: SpecimenAtSetUp,
    standard: str,
    *,
    volume_change: float,
    travel: float | None,
    saturation_change: float = 0.0,
    final_water_content: float | None = None,
    particle_density_Mg_m3: float | None = None,
) -> AfterConsolidation:
    """Dimensions after consolidation.

    Height from the ram where it followed the specimen, else H0 (1 − εv/3). ASTM goes on with
    method A; ISO and BS with the isotropic formulas, or, where a ram gave the height, with volume
    over height.

    Args:
        start: the specimen at set-up.
        standard: as in the settings.
        volume_change: drained in all stages. [ml]
        travel: of the ram since drainage was first opened; None where it was not read. [mm]
        saturation_change: of the specimen while saturating. [ml]
        final_water_content: after the test, for method B. [-]
        particle_density_Mg_m3: for method B.

    Raises:
        ReductionError: nothing is left of the specimen.

    Source:
        ASTM D4767 methods A and B (from memory); BS 1377-8:1990, form 8C.
    """
    strain = (volume_change + saturation_change) / start.volume_ml
    implied = start.height_mm * strain / 3.0
    followed = travel is not None and implied > 0.0 and travel > FOLLOWED * implied
    height = height_isotropic(start.height_mm, strain)
    if followed and travel is not None:
        height = start.height_mm - travel
    found = {
        "method_a": consolidated_method_a(
            start.volume_ml, saturation_change, volume_change, height
        ),
        "isotropic": consolidated_isotropic(
            start.height_mm, start.area_mm2, start.volume_ml, volume_change + saturation_change
        ),
    }
    if None not in (final_water_content, particle_density_Mg_m3, start.dry_mass_g):
        assert final_water_content is not None
        assert particle_density_Mg_m3 is not None
        assert start.dry_mass_g is not None
        found["method_b"] = consolidated_method_b(
            start.dry_mass_g, final_water_content, particle_density_Mg_m3, height
        )
    astm_or_ram = standard.startswith("ASTM") or followed
    return AfterConsolidation(found, "method_a" if astm_or_ram else "isotropic", followed)
