"""How well the specimens tell the cohesion and the angle of their failure envelope."""

import math
from dataclasses import dataclass

from reduce.errors import ReductionError
from reduce.strength.envelope import Envelope

CONFIDENCE = 0.9
"""Of an interval, unless another is asked for. [-]"""


@dataclass(frozen=True, slots=True)
class Interval:
    """Within which c and φ lie, each by itself, with the confidence stated."""

    c_kPa: tuple[float, float]
    """(0, 0) where c was said to be 0."""
    phi_deg: tuple[float, float]
    """Cut off at 0 and 90. [°]"""
    confidence: float


def confidence_interval(envelope: Envelope, confidence: float = CONFIDENCE) -> Interval | None:
    """Within which c and φ lie, by Student's t from the scatter of the specimens about the line.

    φ hangs on the slope alone and rises with it: the bounds of the slope, converted, are its
    bounds, exactly. c = 3 k/√(36 + 12 M − 8 M²) hangs on both coefficients; the factor of k stays
    between 0.47 and 0.53 for every M up to 1.8 (φ = 44°), so that c is all but linear in k and
    the first-order law with the covariance of k and M does (likewise c = a/√(1 − tan² α)).

    Args:
        envelope: of more specimens than the line has coefficients.
        confidence: between 0 and 1. [-]

    Returns:
        The interval; None with two specimens (one where c was fixed): nothing tells the scatter.

    Raises:
        ReductionError: the confidence is not between 0 and 1.

    Source:
        Any textbook of statistics; n − 2 degrees of freedom, n − 1 where c was fixed.

    Example:
        >>> from reduce.strength.envelope import tangent_to_circles
        >>> found = tangent_to_circles([275.0, 550.0, 805.0], [100.0, 200.0, 300.0])
        >>> low, high = confidence_interval(found).phi_deg
        >>> low < found.phi_deg < high
        True
    """
    from scipy.special import stdtrit  # noqa: PLC0415 (scipy loads slowly)

    if not 0.0 < confidence < 1.0:
        raise ReductionError(f"confidence is {confidence:g}; it must lie between 0 and 1")
    line = envelope.line
    if line.degrees_of_freedom < 1:
        return None
    reach = float(stdtrit(line.degrees_of_freedom, (1.0 + confidence) / 2.0))
    steps = reach * math.sqrt(line.variance_slope)
    phi = (
        _angle(envelope.plane, line.slope - steps),
        _angle(envelope.plane, line.slope + steps),
    )
    half = 0.0 if envelope.c_fixed else reach * math.sqrt(_variance_of_c(envelope))
    return Interval((envelope.c_kPa - half, envelope.c_kPa + half), phi, confidence)


def _angle(plane: str, slope: float) -> float:
    sine = slope if plane == "s-t" else 3.0 * max(slope, 0.0) / (6.0 + max(slope, 0.0))
    return math.degrees(math.asin(min(max(sine, 0.0), 1.0)))


def _variance_of_c(envelope: Envelope) -> float:
    """First-order variance of c; its derivatives by intercept and slope in closed form."""
    line = envelope.line
    if envelope.plane == "s-t":
        square, half_rise = 1.0 - line.slope**2, -line.slope
        by_intercept = 1.0 / math.sqrt(square)
    else:
        square, half_rise = 36.0 + 12.0 * line.slope - 8.0 * line.slope**2, 6.0 - 8.0 * line.slope
        by_intercept = 3.0 / math.sqrt(square)
    by_slope = -envelope.c_kPa * half_rise / square
    return max(
        0.0,
        by_intercept**2 * line.variance_intercept
        + by_slope**2 * line.variance_slope
        + 2.0 * by_intercept * by_slope * line.covariance,
    )
