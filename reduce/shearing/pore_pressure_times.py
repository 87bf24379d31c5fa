"""How long shear must last for pore pressure to even out (CU) or to drain (CD), by theory.

Both take the soil as linear with one coefficient of consolidation, and the deviator as growing
evenly up to failure.
"""

import math

import numpy as np

from reduce.cylinder_series import zeros_of_j0
from reduce.drainage import SECONDS_PER_YEAR
from reduce.errors import ReductionError, require_positive

DISSIPATED = 0.95
"""Share of the pore pressure of shear that has drained at failure. [-]"""
EQUALISED_ALONG = 1.67
"""Of h²/cv without side drains, h half of the height: 95 % equal. [-]"""
EQUALISED_ACROSS = 0.07
"""Of D²/cv with side drains, which carry water along the height freely. [-]"""
_ZEROS = zeros_of_j0(200)


def drainage_eta(drainage: str, slenderness: float) -> float:
    """η of the time to failure tf = D²/(η cv (1 − Uf)): how easily a cylinder drains in shear.

    Pore pressure that is made evenly in time and space and drains steadily has a mean in the
    cylinder of (4/β²)(R/β)² (1 − tanh(β L/R)/(β L/R)) summed over the zeros β of J0, as a multiple
    of its rate over cv; R = D/2, L = H with one drained end, H/2 with both.

    Args:
        drainage: one of `reduce.drainage.DRAINAGES`.
        slenderness: H/D. [-]

    Returns:
        η; for H/D = 2 it is 0.75, 3, 32, 35.6 and 40.1. Gibson and Henkel print 0.75, 3, 32, 36
        and 40.4 (from memory). [-]

    Raises:
        ReductionError: an unknown drainage, or a slenderness that is not above zero.

    Source:
        Gibson and Henkel (1954), Influence of duration of tests at constant rate of strain on
        measured drained strength, Géotechnique 4(1), 6-15; steady flow solved anew.

    Example:
        >>> [round(drainage_eta(name, 2.0), 1) for name in ("both ends", "radial + both ends")]
        [3.0, 40.1]
    """
    require_positive("H/D", slenderness, "")
    length = slenderness / 2.0 if "both ends" in drainage else slenderness
    if drainage in ("one end", "both ends"):
        return 3.0 / length**2
    if drainage not in ("radial", "radial + one end", "radial + both ends"):
        raise ReductionError(f"drainage is {drainage!r}, which is not known")
    if drainage == "radial":
        return 32.0
    inward = 2.0 * _ZEROS * length
    mean = np.sum(1.0 / _ZEROS**4 * (1.0 - np.tanh(inward) / inward))
    return float(1.0 / mean)


def drained_time(
    drainage: str,
    *,
    cv_m2_year: float,
    height_mm: float,
    diameter_mm: float,
    dissipated: float = DISSIPATED,
) -> float:
    """Time to failure of a drained test: tf = D²/(η cv (1 − Uf)).

    Args:
        drainage: one of `reduce.drainage.DRAINAGES`.
        cv_m2_year: coefficient of consolidation. [m²/year]
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]
        dissipated: Uf, between 0 and 1. [-]

    Returns:
        The shortest time to failure. [min]

    Raises:
        ReductionError: an unknown drainage, or a value out of its bounds.

    Source:
        As `drainage_eta`.

    Example:
        >>> round(drained_time("both ends", cv_m2_year=5.256, height_mm=76, diameter_mm=38))
        963
    """
    if not 0.0 < dissipated < 1.0:
        raise ReductionError(f"degree of dissipation is {dissipated:g}; it must be within 0 and 1")
    scale = _minutes(diameter_mm, cv_m2_year)
    eta = drainage_eta(drainage, require_positive("height", height_mm, "mm") / diameter_mm)
    return scale / (eta * (1.0 - dissipated))


def equalised_time(
    side_drains: bool, *, cv_m2_year: float, height_mm: float, diameter_mm: float
) -> float:
    """Time to failure of an undrained test: until the gauge at an end reads what is inside.

    tf = 1.67 h²/cv without side drains, h = H/2; 0.07 D²/cv with them. 95 % equal.

    Args:
        side_drains: whether there are any.
        cv_m2_year: coefficient of consolidation. [m²/year]
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]

    Returns:
        The shortest time to failure. [min]

    Raises:
        ReductionError: a value is not above zero.

    Source:
        Blight (1963), The effect of nonuniform pore pressures on laboratory measurements of the
        shear strength of soils, ASTM STP 361 (from memory). His 0.07 h²/cv is for H/D = 2, where
        h is D; that it goes with D is ours, because the paper evens out the height.

    Example:
        >>> round(equalised_time(False, cv_m2_year=5.256, height_mm=76, diameter_mm=38), 1)
        241.1
    """
    scale = _minutes(diameter_mm, cv_m2_year)
    half = require_positive("height", height_mm, "mm") / 2.0
    if side_drains:
        return EQUALISED_ACROSS * scale
    return EQUALISED_ALONG * scale * math.pow(half / diameter_mm, 2)


def _minutes(diameter_mm: float, cv_m2_year: float) -> float:
    """D²/cv. [min]"""
    require_positive("diameter", diameter_mm, "mm")
    per_minute = require_positive("cv", cv_m2_year, "m²/year") * 1e6 / SECONDS_PER_YEAR * 60.0
    return diameter_mm**2 / per_minute
