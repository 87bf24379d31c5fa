"""Consolidation of a cylinder that drains at its ends, its curved surface, or both.

The average degree of consolidation U under an excess pore pressure that is uniform at first.
Ends: Terzaghi's series; curved surface: the series of heat conduction in a long cylinder; both
together: Carrillo's product, which is exact for these boundaries. Below a small time factor the
series want many terms, so the solution for short times takes over. U is right to 1e-12 at every
time (measured in the tests against thousands of terms with scipy's zeros).

Sign: U grows from 0 to 1. Everything scales with the factor cv t / D², D the diameter.

Source:
    Terzaghi (1943), Theoretical soil mechanics; Carslaw & Jaeger (1959), Conduction of heat in
    solids, 3.3, 7.6, 13.3; Carrillo (1942), J. Math. Phys. 21; the λ factors after BS 1377-8:1990,
    table 1, from memory and derived anew: see `lambda_factor`.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import GREATEST, LEAST, between
from reduce.cylinder_series import (
    ROOTS_ENDS,
    ROOTS_RADIAL,
    Array,
    excess_ends,
    excess_radial,
    far_ends,
    far_radial,
)
from reduce.errors import ReductionError, require_positive

Drainage = Literal["one end", "both ends", "radial", "radial + one end", "radial + both ends"]
DRAINAGES: tuple[str, ...] = get_args(Drainage)
"""The surfaces through which a specimen can drain."""

SECONDS_PER_YEAR = 365.0 * 86400.0
"""The year of the usual factor 0.5256 between mm²/min and m²/year. [s]"""


def _path_ratios(drainage: str, slenderness: float) -> tuple[float, float]:
    """D/Hd and D/a, whose squares turn cv t / D² into the two time factors; 0 for no drainage."""
    if drainage not in DRAINAGES:
        raise ReductionError(f"drainage is {drainage!r}; it must be one of: {', '.join(DRAINAGES)}")
    require_positive("H/D", slenderness, "")
    ends = 2.0 if "both ends" in drainage else 1.0 if "one end" in drainage else 0.0
    return ends / slenderness, 2.0 if "radial" in drainage else 0.0


def _excess(
    drainage: str,
    factor: ArrayLike,
    slenderness: float,
    along: Callable[[Array], Array],
    across: Callable[[Array], Array],
) -> Array:
    """What is left of the excess pore pressure: a factor for each kind of surface that drains."""
    ends, radial = _path_ratios(drainage, slenderness)
    time = np.maximum(np.asarray(factor, dtype=np.float64), 0.0)
    left = np.ones_like(time)
    if ends:
        left = left * along(time * ends**2)
    if radial:
        left = left * across(time * radial**2)
    return left


def degree_of_factor(drainage: str, factor: ArrayLike, slenderness: float) -> Array:
    """Average degree of consolidation for the dimensionless time cv t / D².

    U = 1 − Σ 2/M² exp(−M² cv t/Hd²) · Σ 4/β² exp(−β² cv t/a²), a factor for each surface that
    drains; M = π/2, 3π/2 …, β the zeros of J0, a = D/2, Hd = H or H/2.

    Args:
        drainage: one of `DRAINAGES`.
        factor: (n,) cv t / D²; below zero counts as zero, NaN stays NaN. [-]
        slenderness: H/D. [-]

    Returns:
        (n,) U. [-]

    Raises:
        ReductionError: an unknown drainage or a slenderness that is not above zero.

    Example:
        >>> float(degree_of_factor("one end", 4 * 0.848, 2.0).round(3))
        0.9
    """
    return 1.0 - _excess(drainage, factor, slenderness, excess_ends, excess_radial)


def degree_at_far_point_of_factor(drainage: str, factor: ArrayLike, slenderness: float) -> Array:
    """Dissipation where it is slowest, for the dimensionless time cv t / D².

    The farthest point is the undrained end (one end), mid-height (both ends or none) and the axis
    (radial). A gauge at an undrained end reads between this and the average: its stone evens out.

    Args, raises: as `degree_of_factor`.

    Returns:
        (n,) 1 − u/u0 at that point, within 1e-9. [-]

    Example:
        >>> float(degree_at_far_point_of_factor("one end", 4 * 0.848, 2.0).round(3))
        0.843
    """
    return 1.0 - _excess(drainage, factor, slenderness, far_ends, far_radial)


def degree_at_far_section_of_factor(drainage: str, factor: ArrayLike, slenderness: float) -> Array:
    """Dissipation as the mean over the cross-section that lies farthest from the drained ends.

    That is what a gauge reads behind a stone that covers an undrained end: the slowest place along
    the height, the mean across.

    Args, raises: as `degree_of_factor`.

    Returns:
        (n,) 1 − u/u0 of that section, within 1e-9. [-]

    Example:
        >>> at = degree_at_far_section_of_factor("radial", 0.33441 / 4, 2.0)
        >>> float(at.round(4))  # no drained end: the same in every section
        0.9
    """
    return 1.0 - _excess(drainage, factor, slenderness, far_ends, excess_radial)


def slenderness_of(drainage: str, height_mm: float, diameter_mm: float) -> float:
    """H/D of a specimen whose drainage is one of those known.

    Raises:
        ReductionError: an unknown drainage, or a dimension that no specimen has.

    Example:
        >>> slenderness_of("both ends", 76.0, 38.0)
        2.0
    """
    height = between("height", height_mm, LEAST, GREATEST, "mm")
    slenderness = height / between("diameter", diameter_mm, LEAST, GREATEST, "mm")
    _path_ratios(drainage, slenderness)
    return slenderness


def _factor_per_second(cv_m2_year: float, height_mm: float, diameter_mm: float) -> float:
    require_positive("cv", cv_m2_year, "m²/year")
    require_positive("height", height_mm, "mm")
    require_positive("diameter", diameter_mm, "mm")
    return cv_m2_year * 1e6 / SECONDS_PER_YEAR / diameter_mm**2


def degree(
    drainage: str,
    times_s: ArrayLike,
    *,
    cv_m2_year: float,
    height_mm: float,
    diameter_mm: float,
) -> Array:
    """Average degree of consolidation of a cylinder after given times.

    Args:
        drainage: one of `DRAINAGES`.
        times_s: (n,) since drainage opened; before that U is 0, NaN stays NaN. [s]
        cv_m2_year: coefficient of consolidation, the same in both directions. [m²/year]
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]

    Returns:
        (n,) U. [-]

    Raises:
        ReductionError: an unknown drainage, or cv or a dimension that is not above zero.

    Source:
        see the module; checked in tests/published/test_drainage_series.py.

    Example:
        >>> degree("both ends", [0, 1704.48], cv_m2_year=5.256, height_mm=76, diameter_mm=38)[1:]
        array([0.5000...])
    """
    scale = _factor_per_second(cv_m2_year, height_mm, diameter_mm)
    times = np.asarray(times_s, dtype=np.float64)
    return degree_of_factor(drainage, times * scale, height_mm / diameter_mm)


@lru_cache(maxsize=512)
def factor_for(drainage: str, U: float, slenderness: float) -> float:
    """The dimensionless time cv t / D² at which the average degree of consolidation is U.

    Raises:
        ReductionError: U outside 0 … 1 (1 itself is never reached), or as `degree_of_factor`.

    Example:
        >>> round(factor_for("radial", 0.9, 2.0) * 4, 5)
        0.33441
    """
    ends, radial = _path_ratios(drainage, slenderness)
    if not 0.0 <= U < 1.0:
        raise ReductionError(f"U is {U:g}; it must be from 0 to below 1")
    if U == 0.0:
        return 0.0
    # The early line never lies below the curve and the slowest exponential never above it, so
    # these two enclose the answer; each round narrows the enclosure 63-fold.
    low = math.pi / 4 * (U / (ends + 2 * radial)) ** 2
    high = -math.log1p(-U) / float((ends * ROOTS_ENDS[0]) ** 2 + (radial * ROOTS_RADIAL[0]) ** 2)
    low = min(low, high)
    for _ in range(8):
        grid = np.linspace(low, high, 64)
        at = int(np.searchsorted(degree_of_factor(drainage, grid, slenderness), U))
        low, high = float(grid[max(at - 1, 0)]), float(grid[min(at, 63)])
    return (low + high) / 2


def time_for(
    drainage: str, U: float, *, cv_m2_year: float, height_mm: float, diameter_mm: float
) -> float:
    """The time after which the average degree of consolidation is U.

    Args, raises: as `degree`; U from 0 to below 1.

    Returns:
        Time since drainage opened. [s]

    Example:
        >>> t90 = time_for("both ends", 0.9, cv_m2_year=5.256, height_mm=76, diameter_mm=38)
        >>> round(t90 / 60, 2)
        122.46
    """
    scale = _factor_per_second(cv_m2_year, height_mm, diameter_mm)
    return factor_for(drainage, U, height_mm / diameter_mm) / scale


def cv_from_time(
    drainage: str, U: float, time_s: float, *, height_mm: float, diameter_mm: float
) -> float:
    """Coefficient of consolidation from the time at which U was reached (t50, t90 …).

    Returns:
        cv. [m²/year]

    Raises:
        ReductionError: as `time_for`; the time and U must be above zero.

    Example:
        >>> round(cv_from_time("both ends", 0.9, 7347.9, height_mm=76, diameter_mm=38), 3)
        5.256
    """
    require_positive("U", U, "")
    require_positive("time", time_s, "s")
    require_positive("height", height_mm, "mm")
    require_positive("diameter", diameter_mm, "mm")
    factor = factor_for(drainage, U, height_mm / diameter_mm)
    return factor * diameter_mm**2 / time_s * SECONDS_PER_YEAR / 1e6


def lambda_factor(drainage: str, slenderness: float) -> float:
    """λ of the relation between cv and t100, where the early root-time line meets the end.

    cv = π D² / (λ t100),  λ = (2 D/Hd + 8)², the terms of those surfaces that drain

    Derived from the initial slope dU/d√t = 2 √(cv/π) (1/Hd + 2/a). For H/D = 2 it gives 1, 4, 64,
    81 and 100. The table after BS 1377-8 (from memory) has 80 where this is 81.

    Args, raises: as `degree_of_factor`.

    Example:
        >>> lambda_factor("radial + both ends", 2.0)
        100.0
    """
    ends, radial = _path_ratios(drainage, slenderness)
    root: float = 2 * ends + 4 * radial
    return root * root


def t100(drainage: str, *, cv_m2_year: float, height_mm: float, diameter_mm: float) -> float:
    """The time at which the early root-time line meets the final volume: π D² / (λ cv).

    Returns:
        t100. [s]

    Raises:
        ReductionError: as `degree`.

    Example:
        >>> round(t100("both ends", cv_m2_year=5.256, height_mm=76, diameter_mm=38) / 60, 2)
        113.41
    """
    scale = _factor_per_second(cv_m2_year, height_mm, diameter_mm)
    return math.pi / (lambda_factor(drainage, height_mm / diameter_mm) * scale)


def cv_from_t100(drainage: str, t100_s: float, *, height_mm: float, diameter_mm: float) -> float:
    """Coefficient of consolidation from t100 of the root-time construction: π D² / (λ t100).

    Returns:
        cv. [m²/year]

    Raises:
        ReductionError: as `degree`; t100 must be above zero.

    Example:
        >>> cv = cv_from_t100("radial + both ends", 16 * 60, height_mm=76, diameter_mm=38)
        >>> round(cv, 2)
        1.49
    """
    require_positive("t100", t100_s, "s")
    require_positive("height", height_mm, "mm")
    require_positive("diameter", diameter_mm, "mm")
    factor = lambda_factor(drainage, height_mm / diameter_mm)
    return math.pi * diameter_mm**2 / (factor * t100_s) * SECONDS_PER_YEAR / 1e6
