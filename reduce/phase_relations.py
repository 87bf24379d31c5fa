"""Phase relations: how much of a soil is solids, water and air.

Densities in Mg/m³, masses in g and volumes in ml go together without factors. Water content,
degree of saturation, void ratio and porosity are ratios.
"""

import math

from reduce.columns import Values
from reduce.errors import ReductionError, require_positive
from reduce.water import water_density

WATER_DENSITY_20_C = water_density(20.0)
"""Density of water at 20 °C. [Mg/m³]"""


def water_content(moist_mass: float, dry_mass: float) -> float:
    """Mass of water over mass of solids: w = (M − Ms)/Ms.

    Args:
        moist_mass: of soil and water. [g]
        dry_mass: after drying in the oven. [g]

    Returns:
        w. [-]

    Raises:
        ReductionError: the dry mass is not above zero, or more than the moist mass.

    Source:
        ASTM D2216; ISO 17892-1.

    Example:
        >>> round(water_content(176.0, 140.0), 4)
        0.2571
    """
    require_positive("dry mass", dry_mass, "g")
    if not dry_mass <= moist_mass < math.inf:
        raise ReductionError(
            f"moist mass is {moist_mass:g} g; it must be at least the dry mass, {dry_mass:g} g"
        )
    return (moist_mass - dry_mass) / dry_mass


def density(mass: float, volume: float) -> float:
    """Mass over volume: moist density from the moist mass, dry density from the dry mass.

    Args:
        mass: [g]
        volume: [ml]

    Returns:
        ρ = M/V. [Mg/m³]

    Raises:
        ReductionError: mass or volume is not above zero.

    Source:
        ASTM D7263; ISO 17892-2.

    Example:
        >>> round(density(140.0, 85.0), 3)
        1.647
    """
    return require_positive("mass", mass, "g") / require_positive("volume", volume, "ml")


def dry_density(moist_density: float, water_content: float) -> float:
    """Dry density from moist density: ρd = ρ/(1 + w).

    Args:
        moist_density: [Mg/m³]
        water_content: w. [-]

    Returns:
        ρd. [Mg/m³]

    Raises:
        ReductionError: the density is not above zero or the water content is below zero.

    Source:
        ASTM D7263; ISO 17892-2.

    Example:
        >>> round(dry_density(2.0706, 0.25714), 3)
        1.647
    """
    require_positive("moist density", moist_density, "Mg/m³")
    return moist_density / (1.0 + not_below_zero("water content", water_content))


def particle_density(
    specific_gravity: float, water_density_Mg_m3: float = WATER_DENSITY_20_C
) -> float:
    """Density of the grains from their specific gravity: ρs = Gs ρw.

    Args:
        specific_gravity: Gs, defined at 20 °C. [-]
        water_density_Mg_m3: of the water that Gs refers to, default at 20 °C. [Mg/m³]

    Returns:
        ρs. [Mg/m³]

    Raises:
        ReductionError: a value is not above zero.

    Source:
        ASTM D854.

    Example:
        >>> round(particle_density(2.70), 3)
        2.695
    """
    require_positive("specific gravity", specific_gravity, "")
    return specific_gravity * require_positive("density of water", water_density_Mg_m3, "Mg/m³")


def solids_volume(dry_mass: float, particle_density: float) -> float:
    """Volume of the grains: Vs = Ms/ρs.

    Args:
        dry_mass: [g]
        particle_density: ρs. [Mg/m³]

    Returns:
        Vs. [ml]

    Raises:
        ReductionError: a value is not above zero.

    Source:
        ASTM D4767 (from memory); definition.

    Example:
        >>> round(solids_volume(127.0, 2.70 * 0.9982), 3)
        47.122
    """
    require_positive("dry mass", dry_mass, "g")
    return dry_mass / require_positive("particle density", particle_density, "Mg/m³")


def void_ratio(volume: float, solids_volume: float) -> float:
    """Volume of voids over volume of solids: e = V/Vs − 1.

    Args:
        volume: of the specimen. [ml]
        solids_volume: Vs. [ml]

    Returns:
        e. [-]

    Raises:
        ReductionError: the solids leave no room for voids in the volume.

    Source:
        ASTM D7263; definition.

    Example:
        >>> void_ratio(90.0, 50.0)
        0.8
    """
    require_positive("volume", volume, "ml")
    require_positive("volume of solids", solids_volume, "ml")
    if not solids_volume < volume:
        raise ReductionError(
            f"volume of solids is {solids_volume:g} ml in a specimen of {volume:g} ml; "
            "check mass, water content, particle density and dimensions"
        )
    return volume / solids_volume - 1.0


def porosity(void_ratio: float) -> float:
    """Share of voids in the volume: n = e/(1 + e).

    Args:
        void_ratio: e. [-]

    Returns:
        n. [-]

    Raises:
        ReductionError: the void ratio is not above zero.

    Source:
        Definition.

    Example:
        >>> porosity(1.0)
        0.5
    """
    require_positive("void ratio", void_ratio, "")
    return void_ratio / (1.0 + void_ratio)


def degree_of_saturation(
    water_content: float,
    particle_density: float,
    void_ratio: float,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> float:
    """Share of the voids that water fills: S = w ρs/(e ρw).

    Args:
        water_content: w. [-]
        particle_density: ρs. [Mg/m³]
        void_ratio: e. [-]
        water_density_Mg_m3: at the temperature of the specimen. [Mg/m³]

    Returns:
        S as measured; errors of mass and dimensions can bring it above 1. [-]

    Raises:
        ReductionError: a value is not above zero (water content: below zero).

    Source:
        ASTM D7263; definition.

    Example:
        >>> round(degree_of_saturation(0.4514, 2.61, 1.190, 1.0), 3)
        0.99
    """
    not_below_zero("water content", water_content)
    require_positive("particle density", particle_density, "Mg/m³")
    require_positive("void ratio", void_ratio, "")
    require_positive("density of water", water_density_Mg_m3, "Mg/m³")
    return water_content * particle_density / (void_ratio * water_density_Mg_m3)


def saturated_water_content(
    void_ratio: float,
    particle_density: float,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> float:
    """Water content that fills all voids: w = e ρw/ρs.

    Args:
        void_ratio: e. [-]
        particle_density: ρs. [Mg/m³]
        water_density_Mg_m3: at the temperature of the specimen. [Mg/m³]

    Returns:
        w at S = 1. [-]

    Raises:
        ReductionError: a value is not above zero.

    Source:
        ASTM D7263; definition.

    Example:
        >>> round(saturated_water_content(1.190, 2.61, 1.0), 3)
        0.456
    """
    require_positive("void ratio", void_ratio, "")
    require_positive("particle density", particle_density, "Mg/m³")
    require_positive("density of water", water_density_Mg_m3, "Mg/m³")
    return void_ratio * water_density_Mg_m3 / particle_density


def void_ratio_if_full(
    water_content: float,
    particle_density: float,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> float:
    """Void ratio of soil whose voids are all full of this water: e = w ρs/ρw, or w Gs.

    Beside the void ratio by volumes it says how good both are: they agree for a specimen that was
    saturated when its water was weighed.

    Args:
        water_content: w, weighed. [-]
        particle_density: ρs. [Mg/m³]
        water_density_Mg_m3: at the temperature of the specimen. [Mg/m³]

    Returns:
        e at S = 1. [-]

    Raises:
        ReductionError: a water content below zero, or a density that is not above it.

    Source:
        Definition; for instance Powrie, Soil Mechanics: Concepts and Applications.

    Example:
        >>> round(void_ratio_if_full(0.572, 2.61, 1.0), 3)
        1.493
    """
    not_below_zero("water content", water_content)
    require_positive("particle density", particle_density, "Mg/m³")
    require_positive("density of water", water_density_Mg_m3, "Mg/m³")
    return water_content * particle_density / water_density_Mg_m3


def void_ratio_after(void_ratio: float, volumetric_strain: Values) -> Values:
    """Void ratio while volume changes and solids stay: e = e0 − εv (1 + e0).

    Args:
        void_ratio: e0 at the volume that the strain refers to. [-]
        volumetric_strain: εv = ΔV/V0, positive when the specimen shrinks; one number or (n,). [-]

    Returns:
        e; NaN stays NaN. [-]

    Raises:
        ReductionError: the void ratio at the beginning is not above zero.

    Source:
        Definition.

    Example:
        >>> round(void_ratio_after(0.8, 0.05), 6)
        0.71
    """
    require_positive("void ratio", void_ratio, "")
    return void_ratio - volumetric_strain * (1.0 + void_ratio)


def not_below_zero(name: str, value: float) -> float:
    """Give the value back if it is a finite number, zero or above."""
    if not 0.0 <= value < math.inf:
        raise ReductionError(f"{name} is {value:g}; it must be a finite number, not below 0")
    return value
