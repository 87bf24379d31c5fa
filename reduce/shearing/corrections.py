"""What membrane and filter-paper side drains carry beside the soil.

Corrections are always applied, also where a standard would leave one below 5 % of the deviator
out; they vanish at zero strain. Strains are those since the begin of shear, positive when the
specimen shrinks; D and A are those after consolidation.
"""

import math
from typing import Generic, NamedTuple

import numpy as np

from reduce.columns import Values
from reduce.errors import require_positive
from reduce.phase_relations import not_below_zero
from reduce.record import Membrane, SideDrains

FULL_STRAIN = 0.02
"""From this axial strain on side drains carry all that they can. [-]"""
LOAD_PER_PERIMETER = 0.19
"""What filter paper carries where nothing is stated, after ASTM D4767 (from memory). [kN/m]"""
SIDE_DRAINS_BY_DIAMETER = ((38.0, 10.0), (50.0, 7.0), (70.0, 5.0), (100.0, 3.5), (150.0, 2.5))
"""D [mm] and what full side drains carry [kPa], after BS 1377-8 table 2 (from memory)."""
BS_MEMBRANE_STANDS_IN = (
    "the membrane correction after BS 1377-8 is read from its figure 4, which could not be "
    "confirmed: the formula 4 Em t ε1/D after ASTM D4767 stands in"
)
"""To be said wherever a membrane is corrected after BS 1377-8."""


class Carried(NamedTuple, Generic[Values]):
    """What is carried beside the soil."""

    membrane: Values
    """To be taken from σ1. [kPa]"""
    membrane_horizontal: Values
    """To be taken from σ3; zero except after ISO 17892-9. [kPa]"""
    side_drains: Values
    """To be taken from σ1. [kPa]"""


def carried_beside(
    standard: str,
    strain: Values,
    volumetric_strain: Values,
    *,
    area: float,
    membrane: Membrane | None,
    side_drains: SideDrains | None,
) -> Carried[Values]:
    """Both corrections as a standard has them.

    ASTM and BS 1377-8 (see `BS_MEMBRANE_STANDS_IN`) take the membrane from the axial stress alone.
    ISO 17892-9 corrects σ1 and σ3; the deviator then falls by the difference of the two, which is
    4 Em t ε1/D again. Side drains that do not state what they carry: table 2 after BS 1377-8, else
    `LOAD_PER_PERIMETER`.

    Args:
        standard: such as "ASTM D4767".
        strain: ε1, one number or (n,); NaN stays NaN. [-]
        volumetric_strain: εv; used after ISO only. [-]
        area: after consolidation. [mm²]
        membrane: None: there is none.
        side_drains: None: there are none.

    Returns:
        Three of a kind with the strain; zeros for what is not there.

    Raises:
        ReductionError: a size or a modulus is not above zero.

    Source:
        As the formulas below.

    Example:
        >>> carried = carried_beside("ASTM D4767", 0.15, 0.0, area=1134.1,
        ...     membrane=Membrane(0.2), side_drains=SideDrains(59.69))
        >>> [round(part, 2) for part in carried]
        [4.42, 0.0, 10.0]
    """
    diameter = 2.0 * math.sqrt(require_positive("area", area, "mm²") / math.pi)
    none = np.zeros_like(strain) if isinstance(strain, np.ndarray) else 0.0
    vertical, horizontal, drains = none, none, none
    if membrane is not None:
        modulus, thickness = membrane.modulus_kPa, membrane.thickness_mm
        if standard.startswith("ISO"):
            vertical = membrane_correction_vertical(
                strain, volumetric_strain, modulus=modulus, thickness=thickness, diameter=diameter
            )
            horizontal = membrane_correction_horizontal(
                volumetric_strain, modulus=modulus, thickness=thickness, diameter=diameter
            )
        else:
            vertical = membrane_correction(
                strain, modulus=modulus, thickness=thickness, diameter=diameter
            )
    if side_drains is not None:
        stated = side_drains.load_per_perimeter_kN_m
        if stated is None and standard.startswith("BS"):
            drains = side_drain_correction_by_table(strain, diameter=diameter)
        else:
            drains = side_drain_correction(
                strain,
                load_per_perimeter=LOAD_PER_PERIMETER if stated is None else stated,
                perimeter=side_drains.perimeter_mm,
                area=area,
            )
    return Carried(vertical, horizontal, drains)


def membrane_correction(
    strain: Values, *, modulus: float, thickness: float, diameter: float
) -> Values:
    """Deviator carried by the membrane: Δq = 4 Em t ε1 / D.

    Args:
        strain: ε1 since the begin of shear, one number or (n,). [-]
        modulus: Em of the rubber. [kPa]
        thickness: t of all membranes together. [mm]
        diameter: D of the specimen after consolidation. [mm]

    Returns:
        Δq, to be subtracted; negative in extension, zero at zero strain. [kPa]

    Raises:
        ReductionError: modulus, thickness or diameter is not above zero.

    Source:
        ASTM D4767 (from memory).

    Example:
        >>> round(membrane_correction(0.15, modulus=1400, thickness=0.2, diameter=38), 2)
        4.42
    """
    return _shell(modulus, thickness, diameter) * strain


def membrane_correction_vertical(
    strain: Values,
    volumetric_strain: Values,
    *,
    modulus: float,
    thickness: float,
    diameter: float,
) -> Values:
    """Axial stress carried by the membrane: Δσ1 = (4 Em t/D) (ε1 + εv/3).

    Args:
        strain: ε1, one number or (n,). [-]
        volumetric_strain: εv, likewise. [-]
        modulus, thickness, diameter: as in `membrane_correction`.

    Returns:
        Δσ1, to be subtracted from σ1. [kPa]

    Raises:
        ReductionError: modulus, thickness or diameter is not above zero.

    Source:
        ISO 17892-9 (from memory); it is the axial stress of a thin elastic tube that follows the
        specimen, Poisson's ratio ½.

    Example:
        >>> round(membrane_correction_vertical(
        ...     0.15, 0.03, modulus=1400, thickness=0.3, diameter=50), 3)
        5.376
    """
    return _shell(modulus, thickness, diameter) * (strain + volumetric_strain / 3.0)


def membrane_correction_horizontal(
    volumetric_strain: Values, *, modulus: float, thickness: float, diameter: float
) -> Values:
    """Radial stress carried by the membrane: Δσ3 = 4 Em t εv/(3 D).

    Args:
        volumetric_strain: εv, one number or (n,). [-]
        modulus, thickness, diameter: as in `membrane_correction`.

    Returns:
        Δσ3, to be subtracted from σ3; negative when the specimen dilates. [kPa]

    Raises:
        ReductionError: modulus, thickness or diameter is not above zero.

    Source:
        ISO 17892-9 (from memory); it is the hoop stress of the same tube.

    Example:
        >>> round(membrane_correction_horizontal(0.03, modulus=1400, thickness=0.3, diameter=50), 3)
        0.336
    """
    return _shell(modulus, thickness, diameter) / 3.0 * volumetric_strain


def side_drain_correction(
    strain: Values, *, load_per_perimeter: float, perimeter: float, area: float
) -> Values:
    """Deviator carried by side drains: Kfp Pfp / Ac from 2 % strain on, in proportion below.

    Args:
        strain: ε1 since the begin of shear, one number or (n,); below zero counts as zero. [-]
        load_per_perimeter: Kfp. [kN/m]
        perimeter: Pfp covered by the paper. [mm]
        area: Ac after consolidation. [mm²]

    Returns:
        Δq, to be subtracted. [kPa]

    Raises:
        ReductionError: perimeter or area is not above zero, or the load below it.

    Source:
        ASTM D4767 (from memory).

    Example:
        >>> round(side_drain_correction(0.05, load_per_perimeter=0.19,
        ...     perimeter=59.69, area=1134.11), 1)
        10.0
    """
    require_positive("perimeter", perimeter, "mm")
    require_positive("area", area, "mm²")
    not_below_zero("load per perimeter", load_per_perimeter)
    return _taken_up(load_per_perimeter * perimeter / area * 1000.0, strain)


def side_drain_correction_by_table(strain: Values, *, diameter: float) -> Values:
    """Deviator carried by side drains of the usual make, by the specimen's diameter.

    10, 7, 5, 3.5 and 2.5 kPa for 38, 50, 70, 100 and 150 mm from 2 % strain on, in proportion
    below. Straight lines between the diameters; beyond the ends as 1/D, as paper that covers a
    certain share of the perimeter does.

    Args:
        strain: ε1, one number or (n,); below zero counts as zero. [-]
        diameter: after consolidation. [mm]

    Returns:
        Δq, to be subtracted. [kPa]

    Raises:
        ReductionError: the diameter is not above zero.

    Source:
        BS 1377-8:1990, table 2 (from memory); between and beyond its diameters: ours.

    Example:
        >>> side_drain_correction_by_table(0.05, diameter=38.0)
        10.0
        >>> side_drain_correction_by_table(0.01, diameter=60.0)
        3.0
    """
    require_positive("diameter", diameter, "mm")
    diameters, full = zip(*SIDE_DRAINS_BY_DIAMETER, strict=True)
    inside = min(max(diameter, diameters[0]), diameters[-1])
    return _taken_up(float(np.interp(inside, diameters, full)) * inside / diameter, strain)


def _shell(modulus: float, thickness: float, diameter: float) -> float:
    """4 Em t/D. [kPa]"""
    require_positive("modulus of the membrane", modulus, "kPa")
    require_positive("thickness of the membrane", thickness, "mm")
    return 4.0 * modulus * thickness / require_positive("diameter", diameter, "mm")


def _taken_up(full: float, strain: Values) -> Values:
    if isinstance(strain, np.ndarray):
        return np.clip(strain * (full / FULL_STRAIN), 0.0, full)
    return min(max(strain * (full / FULL_STRAIN), 0.0), full)
