"""The specimen at set-up: a cylinder, and what its masses tell."""

import math
from dataclasses import dataclass

from reduce.errors import require_positive
from reduce.phase_relations import (
    WATER_DENSITY_20_C,
    degree_of_saturation,
    density,
    not_below_zero,
    porosity,
    solids_volume,
    void_ratio,
    water_content,
)


def cylinder_area(diameter: float) -> float:
    """Area of a circle.

    Args:
        diameter: [mm]

    Returns:
        π D²/4. [mm²]

    Raises:
        ReductionError: the diameter is not above zero.

    Source:
        Geometry.

    Example:
        >>> round(cylinder_area(38.0), 2)
        1134.11
    """
    return math.pi / 4.0 * require_positive("diameter", diameter, "mm") ** 2


def cylinder_volume(diameter: float, height: float) -> float:
    """Volume of a cylinder.

    Args:
        diameter: [mm]
        height: [mm]

    Returns:
        π D²/4 · H. [mm³]

    Raises:
        ReductionError: diameter or height is not above zero.

    Source:
        Geometry.

    Example:
        >>> round(cylinder_volume(38.0, 76.0) / 1000.0, 2)  # ml
        86.19
    """
    return cylinder_area(diameter) * require_positive("height", height, "mm")


@dataclass(frozen=True, slots=True)
class SpecimenAtSetUp:
    """The specimen before the test; None is what could not be told from what was given."""

    diameter_mm: float
    height_mm: float
    area_mm2: float
    volume_ml: float
    moist_density_Mg_m3: float | None
    dry_density_Mg_m3: float | None
    dry_mass_g: float | None
    """As weighed, or from moist mass and water content."""
    water_content: float | None
    """From the dry mass where it was weighed. [-]"""
    solids_volume_ml: float | None
    void_ratio: float | None
    porosity: float | None
    saturation: float | None
    """As measured; may come out above 1. [-]"""


def specimen_at_set_up(
    *,
    diameter_mm: float,
    height_mm: float,
    mass_g: float | None = None,
    water_content_given: float | None = None,
    dry_mass_g: float | None = None,
    particle_density_Mg_m3: float | None = None,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> SpecimenAtSetUp:
    """All that dimensions and masses tell about the specimen at set-up.

    A dry mass weighed after the test wins over the water content given for the set-up: it is the
    specimen's own, the water content that of trimmings.

    Args:
        diameter_mm: mean of the readings.
        height_mm: mean of the readings.
        mass_g: moist mass at set-up.
        water_content_given: w of the trimmings. [-]
        dry_mass_g: of the whole specimen.
        particle_density_Mg_m3: ρs of the grains.
        water_density_Mg_m3: at the temperature of the laboratory, default at 20 °C.

    Returns:
        The specimen; what needs a value that was not given is None.

    Raises:
        ReductionError: values that contradict each other or are out of bounds.

    Source:
        ASTM D7263, D4767 and ISO 17892-9; the formulas are those of this module.

    Example:
        >>> from reduce.phase_relations import particle_density
        >>> clay = specimen_at_set_up(
        ...     diameter_mm=38.0, height_mm=76.0, mass_g=162.0, dry_mass_g=127.0,
        ...     particle_density_Mg_m3=particle_density(2.70))
        >>> round(clay.water_content, 4), round(clay.void_ratio, 3), round(clay.saturation, 3)
        (0.2756, 0.829, 0.897)
    """
    area = cylinder_area(diameter_mm)
    volume = cylinder_volume(diameter_mm, height_mm) / 1000.0
    dry, content = dry_mass_g, water_content_given
    if dry is None and mass_g is not None and content is not None:
        dry = mass_g / (1.0 + not_below_zero("water content", content))
    elif dry is not None and mass_g is not None:
        content = water_content(mass_g, dry)
    solids = voids = holes = filled = None
    if dry is not None and particle_density_Mg_m3 is not None:
        solids = solids_volume(dry, particle_density_Mg_m3)
        voids = void_ratio(volume, solids)
        holes = porosity(voids)
        if content is not None:
            filled = degree_of_saturation(
                content, particle_density_Mg_m3, voids, water_density_Mg_m3
            )
    return SpecimenAtSetUp(
        diameter_mm=diameter_mm,
        height_mm=height_mm,
        area_mm2=area,
        volume_ml=volume,
        moist_density_Mg_m3=None if mass_g is None else density(mass_g, volume),
        dry_density_Mg_m3=None if dry is None else density(dry, volume),
        dry_mass_g=dry,
        water_content=content,
        solids_volume_ml=solids,
        void_ratio=voids,
        porosity=holes,
        saturation=filled,
    )
