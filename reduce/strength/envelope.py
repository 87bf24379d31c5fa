"""Failure envelopes: the straight line that Mohr's circles at failure touch, τ = c + σ tan φ.

Three planes show the same line. Under Mohr's circles its slope is tan φ; through the tops of the
circles, on s and t, it is sin φ; on p and q it is M = 6 sin φ/(3 − sin φ). Compression is
positive; σ1 and σ3 are effective or total stresses, whichever the envelope is wanted for. Rows
are specimens, in any order.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import GREATEST, LEAST, Column
from reduce.errors import ReductionError
from reduce.strength.mohr_coulomb import cohesion_and_angle_pq, cohesion_and_angle_st
from reduce.strength.straight_line import StraightLine, best_line


@dataclass(frozen=True, slots=True)
class Envelope:
    """A fitted failure envelope."""

    c_kPa: float
    """Cohesion; may come out below 0 in a free fit."""
    phi_deg: float
    """Angle of shearing resistance. [°]"""
    plane: Literal["s-t", "p-q"]
    """What the line was fitted on."""
    line: StraightLine
    """t = a + s sin φ or q = k + M p; intercept and residuals in kPa."""
    c_fixed: bool
    """Whether c is 0 because it was said to be, not because it was found."""

    @property
    def r(self) -> float | None:
        """Correlation coefficient of the points; None for fewer than three. [-]"""
        return self.line.r


def line_through_tops_st(
    sigma1: ArrayLike,
    sigma3: ArrayLike,
    *,
    cohesionless: bool = False,
    c_not_negative: bool = False,
) -> Envelope:
    """Envelope from the tops of Mohr's circles: least squares of t on s, t = a + s sin φ.

    Args:
        sigma1: (n,) major principal stress at failure. [kPa]
        sigma3: (n,) minor principal stress at failure. [kPa]
        cohesionless: c = 0 exactly: the line goes through the origin.
        c_not_negative: c = 0 where a free line would have it below 0.

    Returns:
        The envelope.

    Raises:
        ReductionError: a stress that is no number, σ3 below 0, σ1 not above σ3; fewer than two
            specimens (one if cohesionless); all circles at one place; or a line that no φ
            from 0 to below 90° has.

    Source:
        Lambe and Whitman (1969), Soil Mechanics; BS 1377-8.

    Example:
        >>> found = line_through_tops_st([262.0, 487.0, 732.0], [70.0, 146.0, 228.0])
        >>> round(found.c_kPa, 2), round(found.phi_deg, 2)
        (15.48, 29.79)
    """
    major, minor = _circles(sigma1, sigma3)
    s, t = (major + minor) / 2.0, (major - minor) / 2.0
    return _fitted(
        "s-t", lambda origin: best_line(s, t, through_origin=origin), cohesionless, c_not_negative
    )


def tangent_to_circles(
    sigma1: ArrayLike,
    sigma3: ArrayLike,
    *,
    cohesionless: bool = False,
    c_not_negative: bool = False,
) -> Envelope:
    """The straight line that touches Mohr's circles best.

    Minimises the sum of squared distances from line to circles. The line passes the centre s of
    a circle of radius t at the distance s sin φ + c cos φ, so it misses the circle by
    s sin φ + c cos φ − t: linear in sin φ and c cos φ. This is the least squares line of t on s,
    `line_through_tops_st`, seen under the circles: the two are one line, not two opinions.

    Args, returns, raises: as `line_through_tops_st`; the residuals are the distances by which
    the circles stick out of the line.

    Source:
        Plane geometry; the construction by eye is that of ASTM D4767 and BS 1377-8.

    Example:
        >>> found = tangent_to_circles([300.0, 600.0], [100.0, 200.0])
        >>> abs(found.c_kPa) < 1e-9, round(found.phi_deg, 6)
        (True, 30.0)
    """
    return line_through_tops_st(
        sigma1, sigma3, cohesionless=cohesionless, c_not_negative=c_not_negative
    )


def weighted_line_pq(
    p: ArrayLike,
    q: ArrayLike,
    *,
    u_p: ArrayLike | None = None,
    u_q: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
    cohesionless: bool = False,
    c_not_negative: bool = False,
) -> Envelope:
    """Envelope from weighted least squares on p and q: q = k + M p.

    Each specimen weighs 1/(u_q² + M² u_p² − 2 M cov), found in rounds; plain least squares of q
    on p where no uncertainties are given. An error of q shifts p = σ3 + q/3 too: its part of the
    covariance is u_q²/3.

    Args:
        p: (n,) mean stress at failure. [kPa]
        q: (n,) deviator at failure. [kPa]
        u_p: (n,) standard uncertainty of p. [kPa]
        u_q: (n,) standard uncertainty of q, above 0. [kPa]
        covariance: (n,) of the errors of p and q. [kPa²]
        cohesionless: c = 0 exactly.
        c_not_negative: c = 0 where a free line would have it below 0.

    Returns:
        The envelope.

    Raises:
        ReductionError: as `line_through_tops_st` and `reduce.strength.straight_line.best_line`.

    Source:
        See `reduce.strength.straight_line.best_line`.

    Example:
        >>> found = weighted_line_pq([166.7, 333.3], [200.0, 400.0], u_p=[2, 3], u_q=[4, 6])
        >>> round(found.phi_deg, 1)
        30.0
    """
    mean, deviator = np.asarray(p, dtype=np.float64), np.asarray(q, dtype=np.float64)
    with np.errstate(over="ignore", invalid="ignore"):  # what overflows is refused
        major, minor = mean + 2.0 * deviator / 3.0, mean - deviator / 3.0
    _circles(major, minor)
    return _fitted(
        "p-q",
        lambda origin: best_line(
            mean, deviator, u_x=u_p, u_y=u_q, covariance=covariance, through_origin=origin
        ),
        cohesionless,
        c_not_negative,
    )


def line_through_tops_pq(
    sigma1: ArrayLike,
    sigma3: ArrayLike,
    *,
    cohesionless: bool = False,
    c_not_negative: bool = False,
) -> Envelope:
    """Envelope from plain least squares of q on p: `weighted_line_pq` without uncertainties.

    Args, raises: as `line_through_tops_st`.

    Returns:
        The envelope.

    Source:
        Schofield and Wroth (1968), Critical State Soil Mechanics.

    Example:
        >>> found = line_through_tops_pq([275.0, 550.0, 805.0], [100.0, 200.0, 300.0])
        >>> round(found.c_kPa, 1), round(found.phi_deg, 1)
        (4.1, 26.9)
    """
    major, minor = _circles(sigma1, sigma3)
    return weighted_line_pq(
        (major + 2.0 * minor) / 3.0,
        major - minor,
        cohesionless=cohesionless,
        c_not_negative=c_not_negative,
    )


def _circles(sigma1: ArrayLike, sigma3: ArrayLike) -> tuple[Column, Column]:
    major = np.atleast_1d(np.asarray(sigma1, dtype=np.float64))
    minor = np.atleast_1d(np.asarray(sigma3, dtype=np.float64))
    if major.shape != minor.shape or major.ndim != 1 or not len(major):
        raise ReductionError("an envelope needs one σ1 and one σ3 for each specimen")
    for one, other in zip(major, minor, strict=True):
        # σ3 of a circle that starts at the origin may come back from p and q a hair below 0
        if not (-1e-9 * one <= other < one and LEAST < one <= GREATEST):
            raise ReductionError(
                f"principal stresses at failure are {one:g} and {other:g} kPa; the minor one "
                f"must not be below 0 kPa and the major one must be above it, up to {GREATEST:g}"
            )
    return major, minor


def _fitted(
    plane: Literal["s-t", "p-q"],
    fit: Callable[[bool], StraightLine],
    cohesionless: bool,
    c_not_negative: bool,
) -> Envelope:
    line, fixed = fit(cohesionless), cohesionless
    if c_not_negative and not fixed and line.intercept < 0.0:
        line, fixed = fit(True), True
    convert = cohesion_and_angle_st if plane == "s-t" else cohesion_and_angle_pq
    cohesion, angle = convert(line.intercept, line.slope)
    return Envelope(0.0 if fixed else cohesion, angle, plane, line, fixed)
