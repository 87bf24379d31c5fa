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

FOLLOWED = 0.25, 2.0
"""A ram followed the specimen if it travelled between these shares of what isotropic strain
implies: less is a ram that stood, more one that was driven; common practice, no source. [-]"""
DRIVEN_MM = 0.5
"""Less travel than this is no drive worth a word. [mm]"""


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
    driven: bool
    """Whether the ram moved by more than the specimen can have shortened."""

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
    saturation_shortening: float = 0.0,
    shear_change: float = 0.0,
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
        saturation_shortening: that a ram showed while saturating; 0 where none followed. [mm]
        shear_change: drained in shear, for method B: the water is weighed after it. [ml]
        final_water_content: after the test, for method B. [-]
        particle_density_Mg_m3: for method B.

    Raises:
        ReductionError: nothing is left of the specimen.

    Source:
        ASTM D4767 methods A and B (from memory); BS 1377-8:1990, form 8C.
    """
    strain = (volume_change + saturation_change) / start.volume_ml
    implied = start.height_mm * volume_change / start.volume_ml / 3.0
    least, most = (share * implied for share in FOLLOWED)
    followed = travel is not None and implied > 0.0 and least < travel <= most
    driven = travel is not None and travel > max(most, DRIVEN_MM)
    height = height_isotropic(start.height_mm, strain)
    if followed and travel is not None:
        height = start.height_mm - saturation_shortening - travel
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
        after_shear = consolidated_method_b(
            start.dry_mass_g, final_water_content, particle_density_Mg_m3, height
        )
        volume = after_shear.volume_ml + shear_change
        found["method_b"] = Consolidated(height, volume * 1000.0 / height, volume, "B")
    astm_or_ram = standard.startswith("ASTM") or followed
    headline = "method_a" if astm_or_ram else "isotropic"
    return AfterConsolidation(found, headline, followed, driven)
