"""Consolidation: volumetric strain, the specimen afterwards, dissipation, compressibility.

Volume changes and shortenings are positive when the specimen shrinks; heights in mm, areas in
mm², volumes in ml.
"""

import math
from dataclasses import dataclass
from typing import Literal

from reduce.columns import Values, between
from reduce.errors import ReductionError, require_positive
from reduce.phase_relations import WATER_DENSITY_20_C, not_below_zero, solids_volume

Method = Literal["A", "B", "isotropic"]


@dataclass(frozen=True, slots=True)
class Consolidated:
    """The specimen after consolidation, a cylinder."""

    height_mm: float
    area_mm2: float
    volume_ml: float
    method: Method
    """How it was found: "A", "B" after ASTM D4767, "isotropic" after BS 1377-8."""

    @property
    def diameter_mm(self) -> float:
        """Of the circle of this area. [mm]"""
        return 2.0 * math.sqrt(self.area_mm2 / math.pi)


def volumetric_strain(volume_change: Values, volume: float) -> Values:
    """Volume change over volume: εv = ΔV/V0.

    Args:
        volume_change: one number or (n,), positive when the specimen shrinks; NaN stays NaN. [ml]
        volume: V0 that the strain refers to: at set-up in consolidation, after consolidation in
            shear. [ml]

    Returns:
        εv. [-]

    Raises:
        ReductionError: the volume is not above zero.

    Source:
        ASTM D4767; BS 1377-8.

    Example:
        >>> round(volumetric_strain(4.00, 86.193), 4)
        0.0464
    """
    return volume_change / require_positive("volume", volume, "ml")


def height_isotropic(height: float, volumetric_strain: float) -> float:
    """Height after a small, equal strain in all directions: H = H0 (1 − εv/3).

    Args:
        height: H0. [mm]
        volumetric_strain: εv. [-]

    Returns:
        H; 0.02 mm above the exact cube root for 76 mm and 4.6 %. [mm]

    Raises:
        ReductionError: the height is not above zero, or the strain not between −1 and 1.

    Source:
        BS 1377-8:1990, form 8C.

    Example:
        >>> round(height_isotropic(76.0, 0.0464), 3)
        74.825
    """
    strain = between("volumetric strain", volumetric_strain, -1.0, 1.0, "")
    return require_positive("height", height, "mm") * (1.0 - strain / 3.0)


def consolidated_isotropic(
    height: float, area: float, volume: float, volume_change: float
) -> Consolidated:
    """Dimensions after equal strain in all directions, as straight lines for small strains.

    Hc = H0 (1 − εv/3), Ac = A0 (1 − 2 εv/3), Vc = V0 − ΔV

    Args:
        height: H0. [mm]
        area: A0. [mm²]
        volume: V0. [ml]
        volume_change: ΔV, positive when the specimen shrinks. [ml]

    Returns:
        The specimen; Ac Hc differs from Vc by terms of εv².

    Raises:
        ReductionError: a dimension is not above zero, or the strain not between −1 and 1.

    Source:
        BS 1377-8:1990, form 8C.

    Example:
        >>> round(consolidated_isotropic(76.0, 1134.115, 86.193, 4.0).area_mm2, 2)
        1099.03
    """
    strain = volumetric_strain(volume_change, volume)
    between("volumetric strain", strain, -1.0, 1.0, "")
    require_positive("area", area, "mm²")
    return Consolidated(
        height_mm=height_isotropic(height, strain),
        area_mm2=area * (1.0 - 2.0 * strain / 3.0),
        volume_ml=volume - volume_change,
        method="isotropic",
    )


def saturation_volume_change(volume: float, height: float, shortening: float) -> float:
    """Volume change while saturating, from the height alone: ΔV = 3 V0 ΔHs/H0.

    Args:
        volume: V0. [ml]
        height: H0. [mm]
        shortening: ΔHs while saturating. [mm]

    Returns:
        ΔV, positive when the specimen shrank. [ml]

    Raises:
        ReductionError: volume or height is not above zero.

    Source:
        ASTM D4767 (from memory); equal strain in all directions.

    Example:
        >>> round(saturation_volume_change(86.193, 76.0, 0.3), 4)
        1.0207
    """
    strain = 3.0 * shortening / require_positive("height", height, "mm")
    return require_positive("volume", volume, "ml") * strain


def consolidated_method_a(
    volume: float, saturation_change: float, consolidation_change: float, height_after: float
) -> Consolidated:
    """Dimensions from measured volume changes: Vc = V0 − ΔVsat − ΔVc, Ac = Vc/Hc.

    Args:
        volume: V0. [ml]
        saturation_change: ΔVsat of the specimen, see `saturation_volume_change`. [ml]
        consolidation_change: ΔVc that drained. [ml]
        height_after: Hc = H0 less all shortening so far. [mm]

    Returns:
        The specimen.

    Raises:
        ReductionError: no volume or height is left.

    Source:
        ASTM D4767, method A (from memory).

    Example:
        >>> round(consolidated_method_a(86.193, 1.0207, 4.00, 74.4).area_mm2, 1)
        1091.0
    """
    left = require_positive("volume", volume, "ml") - saturation_change - consolidation_change
    return _of_volume(left, height_after, "A")


def consolidated_method_b(
    dry_mass: float,
    final_water_content: float,
    particle_density: float,
    height_after: float,
    water_density_Mg_m3: float = WATER_DENSITY_20_C,
) -> Consolidated:
    """Dimensions from the final water content, all voids full: Ac = (Vwf + Vs)/Hc.

    Args:
        dry_mass: Ms. [g]
        final_water_content: wf. [-]
        particle_density: ρs. [Mg/m³]
        height_after: Hc = H0 less all shortening so far. [mm]
        water_density_Mg_m3: at the temperature of the specimen. [Mg/m³]

    Returns:
        The specimen.

    Raises:
        ReductionError: a value is not above zero (water content: below zero).

    Source:
        ASTM D4767, method B (from memory).

    Example:
        >>> round(consolidated_method_b(127.0, 0.245, 2.70 * 0.9982, 74.4, 0.9982).area_mm2, 1)
        1052.3
    """
    not_below_zero("final water content", final_water_content)
    require_positive("density of water", water_density_Mg_m3, "Mg/m³")
    water = final_water_content * require_positive("dry mass", dry_mass, "g") / water_density_Mg_m3
    return _of_volume(water + solids_volume(dry_mass, particle_density), height_after, "B")


def _of_volume(volume: float, height: float, method: Method) -> Consolidated:
    require_positive("volume after consolidation", volume, "ml")
    require_positive("height after consolidation", height, "mm")
    return Consolidated(height, volume * 1000.0 / height, volume, method)


def dissipation(initial_pore: float, pore: Values, back: float) -> Values:
    """Share of the excess pore pressure that has gone: U = (ui − u)/(ui − ub).

    Args:
        initial_pore: ui when drainage was opened. [kPa]
        pore: u at the undrained end, one number or (n,); NaN stays NaN. [kPa]
        back: ub to which it drains. [kPa]

    Returns:
        U; 0 at the begin, 1 at the end. [-]

    Raises:
        ReductionError: there was no excess pore pressure.

    Source:
        BS 1377-8:1990, clause 6 (from memory).

    Example:
        >>> dissipation(450.0, 307.5, 300.0)
        0.95
    """
    excess = initial_pore - back
    if not 0.0 < excess < math.inf:
        raise ReductionError(
            f"pore pressure is {initial_pore:g} kPa at the begin of drainage to {back:g} kPa; "
            "it must lie above that for a degree of dissipation"
        )
    return (initial_pore - pore) / excess


def coefficient_of_compressibility(
    volumetric_strain: float, initial_pore: float, final_pore: float
) -> float:
    """Coefficient of volume compressibility: mv = (ΔV/V0)/(ui − uc) · 1000.

    Args:
        volumetric_strain: ΔV/V0 of consolidation. [-]
        initial_pore: ui when drainage was opened. [kPa]
        final_pore: uc at the end. [kPa]

    Returns:
        mv. [m²/MN]

    Raises:
        ReductionError: pore pressure did not fall.

    Source:
        BS 1377-8:1990, form 8C.

    Example:
        >>> round(coefficient_of_compressibility(4.00 / 86.193, 450.0, 300.0), 4)
        0.3094
    """
    fall = require_positive("fall of pore pressure", initial_pore - final_pore, "kPa")
    return volumetric_strain / fall * 1000.0
