"""The best straight line through points that may be uncertain in both directions."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import GREATEST, LEAST, Column
from reduce.errors import ReductionError

_ROUNDS = 500
_SETTLED = 1e-14  # change of the slope from one round to the next, of its size or max |y|/max |x|
_SPREAD = 1e-9  # of x, relative to its size, below which all points stand at one place


@dataclass(frozen=True, slots=True)
class StraightLine:
    """y = intercept + slope x, with what its points say of its accuracy."""

    intercept: float
    """In the unit of y; 0 where the line was led through the origin."""
    slope: float
    """In the unit of y per unit of x."""
    residuals: tuple[float, ...]
    """y less the line, point by point."""
    degrees_of_freedom: int
    """Points less fitted coefficients."""
    variance_intercept: float
    """From the residuals; 0 where none are left over, see `degrees_of_freedom`."""
    variance_slope: float
    covariance: float
    """Of intercept and slope."""
    r: float | None
    """Correlation coefficient of the points, weighted as the line is; None for fewer than three,
    where it says nothing, and where x or y does not vary. [-]"""


def best_line(
    x: ArrayLike,
    y: ArrayLike,
    *,
    u_x: ArrayLike | None = None,
    u_y: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
    through_origin: bool = False,
) -> StraightLine:
    """Fit y = a + b x by least squares, each point weighted by its effective variance.

    Minimises Σ W (y − a − b x)² with W = 1/(u_y² + b² u_x² − 2 b cov). As W holds b, it is found
    in rounds. Without uncertainties W = 1: plain least squares of y on x. How accurate the line is
    is told by the residuals, but where points are uncertain it is no better than they are: few
    points can lie on a line by luck.

    Args:
        x: (n,) finite.
        y: (n,) finite.
        u_x: (n,) standard uncertainty of x, not below 0; None: none.
        u_y: (n,) standard uncertainty of y, above 0; None: the same for all.
        covariance: (n,) of the errors of x and y; None: none.
        through_origin: whether a = 0.

    Returns:
        The line.

    Raises:
        ReductionError: not as many x as y; a number that is not finite; fewer than two points
            (one through the origin); all x the same; an uncertainty that is none; or
            uncertainties so large that no line can be told.

    Source:
        York, Evensen, López Martínez and De Basabe Delgado (2004), Unified equations for the
        slope, intercept, and standard errors of the best straight line, Am. J. Phys. 72(3),
        367-375 (from memory; checked against lmfit).

    Example:
        >>> line = best_line([1.0, 2.0, 3.0], [3.0, 5.0, 7.0])
        >>> line.intercept, line.slope, line.degrees_of_freedom
        (1.0, 2.0, 1)
    """
    xs, ys = _column("x", x), _column("y", y)
    count, fitted = len(xs), 1 if through_origin else 2
    if len(ys) != count:
        raise ReductionError(f"a line needs as many y as x; there are {len(ys)} y and {count} x")
    if count < fitted:
        raise ReductionError(f"a line of {fitted} coefficient(s) has {count} point(s)")
    variance_x = _variance("x", u_x, count, 0.0)
    variance_y = _variance("y", u_y, count, 1.0)
    if not np.all(variance_y > LEAST**2):
        raise ReductionError("a standard uncertainty of y is 0; it must be above 0")
    shared = np.zeros(count) if covariance is None else _column("covariance", covariance)
    if len(shared) != count or np.any(shared**2 > variance_x * variance_y * (1.0 + 1e-12)):
        raise ReductionError("a covariance is larger than the uncertainties of x and y allow")

    steepness = float(np.max(np.abs(ys)) / max(float(np.max(np.abs(xs))), 1e-300))
    slope, settled = 0.0, False
    for _ in range(_ROUNDS):
        weights = 1.0 / _effective(variance_x, variance_y, shared, slope)
        x0, y0 = (0.0, 0.0) if through_origin else (_mean(xs, weights), _mean(ys, weights))
        u, v = xs - x0, ys - y0
        if not np.sum(weights * u**2) > (_SPREAD * np.max(np.abs(xs))) ** 2 * np.sum(weights):
            raise ReductionError(f"all points stand at x = {xs[0]:g}: a line has no slope there")
        # What x is once its own error is taken off, as a line of this slope tells it
        found = weights * (u * variance_y + slope * v * variance_x - (slope * u + v) * shared)
        following = float(np.sum(weights * found * v) / np.sum(weights * found * u))
        settled = abs(following - slope) <= _SETTLED * max(abs(following), steepness)
        slope = following
        if settled or not math.isfinite(slope):
            break
    if not settled:
        raise ReductionError("the uncertainties are too large for the points to tell a line")

    intercept = y0 - slope * x0
    residuals = ys - intercept - slope * xs
    free = count - fitted
    scatter = float(np.sum(weights * residuals**2)) / free if free else 0.0
    if free and u_y is not None:
        scatter = max(scatter, 1.0)
    middle = _mean(found, weights)
    lever = found if through_origin else found - middle
    variance_slope = scatter / float(np.sum(weights * lever**2))
    at_middle = x0 + middle
    return StraightLine(
        intercept=intercept,
        slope=slope,
        residuals=tuple(float(residual) for residual in residuals),
        degrees_of_freedom=free,
        variance_intercept=0.0
        if through_origin
        else scatter / float(np.sum(weights)) + at_middle**2 * variance_slope,
        variance_slope=variance_slope,
        covariance=0.0 if through_origin else -at_middle * variance_slope,
        r=_correlation(xs, ys, weights),
    )


def _column(name: str, values: ArrayLike) -> Column:
    column = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if column.ndim != 1 or not np.all(np.abs(column) <= GREATEST):
        raise ReductionError(f"{name} of a line must be numbers in a row, none beyond {GREATEST:g}")
    return column


def _variance(name: str, u: ArrayLike | None, count: int, otherwise: float) -> Column:
    if u is None:
        return np.full(count, otherwise)
    column = _column(f"standard uncertainty of {name}", u)
    if len(column) != count or np.any(column < 0.0):
        raise ReductionError(f"a line needs {count} standard uncertainties of {name}, none below 0")
    return column**2


def _effective(variance_x: Column, variance_y: Column, shared: Column, slope: float) -> Column:
    """Variance of y − slope x."""
    variance = variance_y + slope**2 * variance_x - 2.0 * slope * shared
    # Fully correlated errors along the line itself would give a point weight without end
    return np.maximum(variance, 1e-9 * variance_y)


def _mean(values: Column, weights: Column) -> float:
    return float(np.sum(weights * values) / np.sum(weights))


def _correlation(xs: Column, ys: Column, weights: Column) -> float | None:
    u, v = xs - _mean(xs, weights), ys - _mean(ys, weights)
    across, along = float(np.sum(weights * u * u)), float(np.sum(weights * v * v))
    flat = (1e-12 * np.max(np.abs(ys))) ** 2 * np.sum(weights)
    if len(xs) < 3 or across <= 0.0 or along <= flat:
        return None
    return max(-1.0, min(1.0, float(np.sum(weights * u * v)) / math.sqrt(across * along)))
