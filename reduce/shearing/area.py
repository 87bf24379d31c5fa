"""Shear: axial strain, the area that carries the load, and the deviator.

Compression is positive. Strains refer to the specimen after consolidation. In a column an element
that cannot be computed is NaN; a single number raises.
"""

import math

import numpy as np

from reduce.columns import Values, between
from reduce.errors import require_positive


def axial_strain(displacement: Values, height: float) -> Values:
    """Shortening over height: ε1 = ΔH/Hc.

    Args:
        displacement: shortening since zero strain, one number or (n,); NaN stays NaN. [mm]
        height: of the specimen after consolidation. [mm]

    Returns:
        ε1. [-]

    Raises:
        ReductionError: the height is not above zero.

    Source:
        ASTM D2850, D4767, D7181; BS 1377-8.

    Example:
        >>> round(axial_strain(0.175, 5.82), 4)
        0.0301
    """
    return displacement / require_positive("height", height, "mm")


def corrected_area_undrained(area: float, strain: Values) -> Values:
    """Area of a specimen that shortens as a cylinder of constant volume: A = Ac/(1 − ε1).

    Args:
        area: Ac at zero strain. [mm²]
        strain: ε1, one number or (n,), between −1 and 1. [-]

    Returns:
        A. [mm²]

    Raises:
        ReductionError: the area is not above zero, or a single strain out of bounds.

    Source:
        ASTM D2850, D4767; Liu and Evett, Soil Properties, ch. 22.

    Example:
        >>> round(corrected_area_undrained(4.9087, 0.0301), 2)
        5.06
    """
    return require_positive("area", area, "mm²") / (1.0 - _strain("axial strain", strain))


def corrected_area_drained(area: float, strain: Values, volumetric_strain: Values) -> Values:
    """Area of a specimen that shortens as a cylinder and drains: A = Ac (1 − εv)/(1 − ε1).

    Args:
        area: Ac at zero strain. [mm²]
        strain: ε1, one number or (n,), between −1 and 1. [-]
        volumetric_strain: εv since zero strain, positive when it shrinks. [-]

    Returns:
        A. [mm²]

    Raises:
        ReductionError: the area is not above zero, or a single strain out of bounds.

    Source:
        ASTM D7181; BS 1377-8 (from memory); it is (Vc − ΔV)/(Hc − ΔH).

    Example:
        >>> round(corrected_area_drained(1.0, 0.10, 0.03), 5)
        1.07778
    """
    require_positive("area", area, "mm²")
    kept = 1.0 - _strain("volumetric strain", volumetric_strain)
    return area * kept / (1.0 - _strain("axial strain", strain))


def parabolic_area_undrained(area: float, strain: Values) -> Values:
    """Area at mid-height of a specimen that bulges as a parabola at constant volume.

    A = Ac [−1/4 + √(25 − 20 ε1 − 5 ε1²)/(4 (1 − ε1))]²

    The ends keep their diameter. Wrong for a specimen that fails along a plane.

    Args:
        area: Ac at zero strain. [mm²]
        strain: ε1, one number or (n,), between −1 and 1. [-]

    Returns:
        A at mid-height. [mm²]

    Raises:
        ReductionError: the area is not above zero, or a single strain out of bounds.

    Source:
        ASTM D4767 (from memory); follows from the volume of a parabolic barrel,
        V = π H (8 D² + 4 D d + 3 d²)/60.

    Example:
        >>> round(parabolic_area_undrained(1.0, 0.15), 5)
        1.26788
    """
    require_positive("area", area, "mm²")
    return _parabolic(area, 1.0 / (1.0 - _strain("axial strain", strain)))


def parabolic_area_drained(area: float, strain: Values, volumetric_strain: Values) -> Values:
    """Area at mid-height of a specimen that bulges as a parabola and drains.

    A = Ac {[−4 + √(16 − 32 (3 − 15 r))]/16}² with r = (1 − εv)/(1 − ε1)

    The ends keep their diameter. Wrong for a specimen that fails along a plane.

    Args:
        area: Ac at zero strain. [mm²]
        strain: ε1, one number or (n,), between −1 and 1. [-]
        volumetric_strain: εv since zero strain, positive when it shrinks. [-]

    Returns:
        A at mid-height. [mm²]

    Raises:
        ReductionError: the area is not above zero, a single strain out of bounds, or a volume too
            small for a barrel with these ends.

    Source:
        Follows from the volume of a parabolic barrel, V = π H (8 D² + 4 D d + 3 d²)/60.

    Example:
        >>> round(parabolic_area_drained(1.0, 0.10, 0.03), 5)
        1.11732
    """
    require_positive("area", area, "mm²")
    kept = 1.0 - _strain("volumetric strain", volumetric_strain)
    return _parabolic(area, kept / (1.0 - _strain("axial strain", strain)))


def plane_area(
    area: float,
    strain: Values,
    volumetric_strain: Values,
    *,
    height: float,
    slip_strain: float,
    plane_angle: float,
) -> Values:
    """Area on which two halves of a specimen still meet that slide along one plane.

    Up to the slip the area is that of a cylinder. All shortening since then moves the halves along
    the plane, so that two circles of diameter D lie s apart, and carry the load where they overlap:

    s = (ε1 − εs) Hc/tan θ,  A = (D²/2) [arccos(s/D) − (s/D) √(1 − (s/D)²)],
    D²π/4 = Ac (1 − εv)/(1 − min(ε1, εs))

    For a specimen that was seen to fail along one clean plane that misses both ends (Hc above
    D tan θ), with εs where q began to fall. Wrong for one that bulges; the sideways push on the
    piston and the folds of the membrane are not in it.

    Args:
        area: Ac at zero strain. [mm²]
        strain: ε1, one number or (n,), between −1 and 1. [-]
        volumetric_strain: εv since zero strain. [-]
        height: Hc at zero strain. [mm]
        slip_strain: εs at which the plane formed, between −1 and 1. [-]
        plane_angle: θ of the plane from the horizontal, between 0 and 90. [degrees]

    Returns:
        A; in a column NaN where the halves no longer meet. [mm²]

    Raises:
        ReductionError: an argument out of its bounds, or halves that no longer meet.

    Source:
        Geometry; the idea is common practice (no source).

    Example:
        >>> round(plane_area(1134.1, 0.10, 0.0, height=76.0, slip_strain=0.06, plane_angle=60), 1)
        1137.7
    """
    require_positive("area", area, "mm²")
    strain = _strain("axial strain", strain)
    kept = 1.0 - _strain("volumetric strain", volumetric_strain)
    since = strain - between("strain at slip", slip_strain, -1.0, 1.0, "")
    tangent = math.tan(math.radians(between("angle of the plane", plane_angle, 0.0, 90.0, "°")))
    travel = require_positive("height", height, "mm") / tangent * since
    if isinstance(strain, np.ndarray):
        cylinder = area * kept / (1.0 - np.minimum(strain, slip_strain))
        apart = np.maximum(travel, 0.0) / np.sqrt(4.0 / math.pi * cylinder)
    else:
        cylinder = area * kept / (1.0 - min(strain, slip_strain))
        apart = max(travel, 0.0) / math.sqrt(4.0 / math.pi * cylinder)
    apart = between("travel along the plane over diameter", apart, -1.0, 1.0, "")
    overlap = np.arccos(apart) - apart * np.sqrt(1.0 - apart * apart)
    met = 2.0 / math.pi * cylinder * overlap
    return met if isinstance(strain, np.ndarray) else float(met)


def deviator(load: Values, area: Values) -> Values:
    """Deviator stress from the load that the specimen carries: q = P/A.

    Args:
        load: axial load beyond that of the cell pressure, free of piston uplift and friction, one
            number or (n,). [N]
        area: corrected area. [mm²]

    Returns:
        q, before corrections for membrane and side drains. [kPa]

    Raises:
        ReductionError: a single area that is not above zero (a column's element becomes NaN).

    Source:
        ASTM D2850, D4767, D7181; BS 1377-8.

    Example:
        >>> deviator(200.0, 1250.0)
        160.0
    """
    return load / between("area", area, 0.0, float("inf"), "mm²") * 1000.0


def _strain(name: str, strain: Values) -> Values:
    return between(name, strain, -1.0, 1.0, "")


def _parabolic(area: float, swelling: Values) -> Values:
    """Area at mid-height of a barrel whose mean area grew `swelling`-fold.

    At a fifth of the first volume the middle of such a barrel has no diameter left.
    """
    swelling = between("mean area over area at zero strain", swelling, 0.2, float("inf"), "")
    root = np.sqrt(16.0 - 32.0 * (3.0 - 15.0 * swelling))
    diameter = (root - 4.0) / 16.0
    grown = area * diameter * diameter
    return grown if isinstance(swelling, np.ndarray) else float(grown)
