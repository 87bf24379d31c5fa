"""The specimen after consolidation or the test, and whether its masses agree with its volumes.

Volumes in ml, masses in g; what drained is positive, what flowed in is positive.
"""

from dataclasses import dataclass

from reduce.columns import between
from reduce.errors import ReductionError, require_positive
from reduce.phase_relations import (
    WATER_DENSITY_20_C,
    degree_of_saturation,
    density,
    not_below_zero,
    saturated_water_content,
    void_ratio,
    void_ratio_after,
)
from reduce.specimen import SpecimenAtSetUp


@dataclass(frozen=True, slots=True)
class SpecimenAfter:
    """The specimen at a volume it came to; None is what could not be told."""

    volume_ml: float
    void_ratio: float | None
    dry_density_Mg_m3: float | None
    saturation: float | None
    """From the water content; above 1 is a measure of what was misread or misweighed. [-]"""
    water_content_full: float | None
    """w that would fill all voids. [-]"""


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Water that the readings say is in the specimen, against that weighed after the test."""

    read_ml: float
    weighed_ml: float
    difference_ml: float
    """Read less weighed."""
    share_of_volume: float
    """The difference over the volume at set-up, with its sign. [-]"""


def specimen_after(
    start: SpecimenAtSetUp,
    volume_ml: float,
    *,
    water_content: float | None = None,
    particle_density_Mg_m3: float | None = None,
    void_ratio_at_set_up: float | None = None,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> SpecimenAfter:
    """What solids and water come to at another volume.

    e = V/Vs − 1 where the volume of solids is known, else e0 − εv (1 + e0) with εv = 1 − V/V0;
    ρd = Ms/V; S = w ρs/(e ρw); w at S = 1 is e ρw/ρs.

    Args:
        start: the specimen at set-up; its solids stay.
        volume_ml: V after consolidation, or after the test.
        water_content: w at that moment, weighed. [-]
        particle_density_Mg_m3: ρs.
        void_ratio_at_set_up: e0, for a specimen whose solids are not known. [-]
        water_density_Mg_m3: at the temperature of the laboratory, default at 20 °C.

    Returns:
        The specimen; what needs a value that was not given is None.

    Raises:
        ReductionError: the volume leaves no voids, or a value is out of bounds.

    Source:
        ASTM D4767, D7263; definitions.

    Example:
        >>> from reduce.phase_relations import particle_density
        >>> from reduce.specimen import specimen_at_set_up
        >>> clay = specimen_at_set_up(
        ...     diameter_mm=38.0, height_mm=76.0, mass_g=162.0, dry_mass_g=127.0,
        ...     particle_density_Mg_m3=particle_density(2.70))
        >>> after = specimen_after(clay, 81.172, water_content=0.26,
        ...     particle_density_Mg_m3=particle_density(2.70))
        >>> round(after.void_ratio, 4), round(after.dry_density_Mg_m3, 4)
        (0.7226, 1.5646)
        >>> round(after.saturation, 3), round(after.water_content_full, 4)
        (0.971, 0.2676)
    """
    require_positive("volume", volume_ml, "ml")
    voids = None
    if start.solids_volume_ml is not None:
        voids = void_ratio(volume_ml, start.solids_volume_ml)
    elif void_ratio_at_set_up is not None:
        voids = void_ratio_after(void_ratio_at_set_up, 1.0 - volume_ml / start.volume_ml)
        if voids <= 0.0:
            raise ReductionError(
                f"volume is {volume_ml:g} ml; void ratio {void_ratio_at_set_up:g} at "
                f"{start.volume_ml:g} ml leaves no voids in it"
            )
    filled = full = None
    if voids is not None and particle_density_Mg_m3 is not None:
        full = saturated_water_content(voids, particle_density_Mg_m3, water_density_Mg_m3)
        if water_content is not None:
            filled = degree_of_saturation(
                water_content, particle_density_Mg_m3, voids, water_density_Mg_m3
            )
    return SpecimenAfter(
        volume_ml=volume_ml,
        void_ratio=voids,
        dry_density_Mg_m3=(
            None if start.dry_mass_g is None else density(start.dry_mass_g, volume_ml)
        ),
        saturation=filled,
        water_content_full=full,
    )


def water_balance(
    start: SpecimenAtSetUp,
    final_water_content: float,
    *,
    drained_ml: float,
    inflow_ml: float = 0.0,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> WaterBalance | None:
    """Whether the water that was read agrees with the water that was weighed.

    Read: w0 Ms/ρw + inflow − drained. Weighed: wf Ms/ρw. A difference is a leak, a membrane that
    lets water pass, gas that dissolved, water that filled lines and discs, or that was lost or
    taken up while the specimen was taken out.

    Args:
        start: the specimen at set-up.
        final_water_content: wf. [-]
        drained_ml: out of the specimen, in consolidation and shear.
        inflow_ml: into it, while saturating.
        water_density_Mg_m3: at the temperature of the laboratory, default at 20 °C.

    Returns:
        The balance; None where dry mass or water content at set-up are not known.

    Raises:
        ReductionError: a value is no finite number, or a water content below zero.

    Source:
        Conservation of mass.

    Example:
        >>> from reduce.specimen import specimen_at_set_up
        >>> clay = specimen_at_set_up(
        ...     diameter_mm=38.0, height_mm=76.0, mass_g=162.0, dry_mass_g=127.0)
        >>> found = water_balance(
        ...     clay, 0.26, drained_ml=4.0, inflow_ml=2.0, water_density_Mg_m3=1.0)
        >>> round(found.difference_ml, 2), round(found.share_of_volume, 4)
        (-0.02, -0.0002)
    """
    not_below_zero("final water content", final_water_content)
    require_positive("density of water", water_density_Mg_m3, "Mg/m³")
    for name, volume in (("drained water", drained_ml), ("inflow", inflow_ml)):
        between(name, volume, float("-inf"), float("inf"), "ml")
    if start.dry_mass_g is None or start.water_content is None:
        return None
    ml_per_content = start.dry_mass_g / water_density_Mg_m3
    read = start.water_content * ml_per_content + inflow_ml - drained_ml
    weighed = final_water_content * ml_per_content
    return WaterBalance(
        read_ml=read,
        weighed_ml=weighed,
        difference_ml=read - weighed,
        share_of_volume=(read - weighed) / start.volume_ml,
    )
