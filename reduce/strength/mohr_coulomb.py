"""The criterion of Mohr and Coulomb: from a straight line's coefficients to c and φ.

Compression is positive; stresses are effective or total, whichever c and φ are wanted for.
"""

import math

import numpy as np

from reduce.columns import Values
from reduce.errors import ReductionError

_FLAT = 1e-12  # slopes from here to 0 are 0 that was rounded


def cohesion_and_angle_st(intercept: float, slope: float) -> tuple[float, float]:
    """Cohesion and angle from the line through the tops of the circles, t = a + s tan α.

    sin φ = tan α, c = a/cos φ

    Args:
        intercept: a. [kPa]
        slope: tan α, from 0 to below 1. [-]

    Returns:
        c [kPa] and φ [°].

    Raises:
        ReductionError: a slope that no angle below 90° has.

    Source:
        Lambe and Whitman (1969), Soil Mechanics (their Kf line).

    Example:
        >>> c, phi = cohesion_and_angle_st(10.0, 0.5)
        >>> round(c, 3), round(phi, 3)
        (11.547, 30.0)
    """
    sine = _possible("slope of t on s", slope, 1.0)
    return intercept / math.sqrt(1.0 - sine * sine), math.degrees(math.asin(sine))


def cohesion_and_angle_pq(intercept: float, slope: float) -> tuple[float, float]:
    """Cohesion and angle from the line q = k + M p of triaxial compression.

    sin φ = 3 M/(6 + M), c = k (3 − sin φ)/(6 cos φ)

    Args:
        intercept: k. [kPa]
        slope: M, from 0 to below 3. [-]

    Returns:
        c [kPa] and φ [°].

    Raises:
        ReductionError: a slope that no angle below 90° has.

    Source:
        Schofield and Wroth (1968), Critical State Soil Mechanics; c from Mohr and Coulomb.

    Example:
        >>> c, phi = cohesion_and_angle_pq(0.0, 1.2)
        >>> round(c, 3), round(phi, 3)
        (0.0, 30.0)
    """
    ratio = _possible("slope of q on p", slope, 3.0)
    sine = 3.0 * ratio / (6.0 + ratio)
    cohesion = intercept * (3.0 - sine) / (6.0 * math.sqrt(1.0 - sine * sine))
    return cohesion, math.degrees(math.asin(sine))


def phi_at_zero_cohesion(sigma1: Values, sigma3: Values) -> Values:
    """Angle of the line from the origin that touches one circle: sin φ = (σ1 − σ3)/(σ1 + σ3).

    Args:
        sigma1: major principal stress, one number or (n,). [kPa]
        sigma3: minor principal stress. [kPa]

    Returns:
        φ; in a column NaN where σ3 is not above 0 or σ1 below σ3. [°]

    Raises:
        ReductionError: a single σ3 that is not above 0, or σ1 below it.

    Source:
        Mohr and Coulomb; any textbook.

    Example:
        >>> round(phi_at_zero_cohesion(300.0, 100.0), 6)
        30.0
    """
    if isinstance(sigma1, np.ndarray) or isinstance(sigma3, np.ndarray):
        fit = (sigma3 > 0.0) & (sigma1 >= sigma3) & np.isfinite(sigma1)
        sine = np.where(fit, sigma1 - sigma3, np.nan) / np.where(fit, sigma1 + sigma3, 1.0)
        return np.degrees(np.arcsin(sine))
    if not 0.0 < sigma3 <= sigma1 < math.inf:
        raise ReductionError(
            f"principal stresses are {sigma1:g} and {sigma3:g} kPa; the minor one must be above "
            "0 kPa and the major one not below it"
        )
    return math.degrees(math.asin((sigma1 - sigma3) / (sigma1 + sigma3)))


def _possible(name: str, slope: float, steepest: float) -> float:
    if not -_FLAT <= slope < steepest:
        raise ReductionError(
            f"{name} is {slope:.3g}; from 0 to below {steepest:g} it stands for an angle of "
            "shearing resistance"
        )
    return max(slope, 0.0)
