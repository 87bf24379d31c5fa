"""What membrane and filter-paper side drains carry, to be taken from the deviator."""

import numpy as np

from reduce.columns import Values
from reduce.errors import require_positive

FULL_STRAIN = 0.02
"""From this axial strain on side drains carry all that they can. [-]"""


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
    require_positive("modulus of the membrane", modulus, "kPa")
    require_positive("thickness of the membrane", thickness, "mm")
    require_positive("diameter", diameter, "mm")
    return 4.0 * modulus * thickness * strain / diameter


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
        ReductionError: perimeter or area is not above zero.

    Source:
        ASTM D4767 (from memory).

    Example:
        >>> round(side_drain_correction(0.05, load_per_perimeter=0.19,
        ...     perimeter=59.69, area=1134.11), 1)
        10.0
    """
    require_positive("perimeter", perimeter, "mm")
    require_positive("area", area, "mm²")
    full = load_per_perimeter * perimeter / area * 1000.0
    if isinstance(strain, np.ndarray):
        return full * np.clip(strain / FULL_STRAIN, 0.0, 1.0)
    return full * min(max(strain / FULL_STRAIN, 0.0), 1.0)
