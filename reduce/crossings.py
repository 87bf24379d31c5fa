"""Where quantities fall through 0, each along the same readings: a bundle of them at a time."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from reduce.columns import Column

_FEWEST_IN_PARABOLA = 6


def crossings(x: Column, above: Column, width: float) -> Column:
    """Where each of several quantities falls through 0 for good.

    The sign change that the fewest readings contradict counts. Where at least six readings lie
    within a relative `width` around it a parabola through all of them decides, else a cubic
    through two on each side: a straight line between far readings would cut the corner.

    Args:
        x: (n,) rising, above 0.
        above: (m, n) what falls through 0, a row for each quantity. NaN where a reading does not
            count for it: there, at the begin or the end, nothing is crossed.
        width: of the neighbourhood, relative to x. [-]

    Returns:
        (m,) as x; NaN of a quantity that never falls through 0.

    Example:
        >>> x = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
        >>> crossings(x, 6.25 - np.array([x**2, x + 9.0]), 0.1).round(4).tolist()
        [2.5, nan]
    """
    positive, other = above > 0.0, above <= 0.0
    against = np.cumsum(other, axis=1)[:, :-1] + np.cumsum(positive[:, ::-1], axis=1)[:, -2::-1]
    known = positive | other
    against = np.where(known[:, :-1] & known[:, 1:], against, len(x))
    rows, cut = np.arange(len(above)), against.argmin(axis=1) + 1
    found = np.full(len(above), np.nan)
    falls = np.flatnonzero(positive[rows, cut - 1] & other[rows, cut])
    if not falls.size:
        return found
    above, cut, rows = above[falls], cut[falls], rows[: len(falls)]
    high, low = above[rows, cut - 1], above[rows, cut]
    rough = x[cut - 1] + (x[cut] - x[cut - 1]) * high / (high - low)
    near = known[falls] & (np.abs(x - rough[:, None]) <= width * rough[:, None])
    many = near.sum(axis=1) >= _FEWEST_IN_PARABOLA
    few = ~many
    crossed = rough.copy()
    if many.any():
        reach = width * rough[many]
        crossed[many] += reach * _roots_of_parabolas(
            (x - rough[many, None]) / reach[:, None], above[many], near[many]
        )
    if few.any():
        crossed[few] = _roots_of_points(x, above[few], cut[few])
    found[falls] = crossed
    return found


def _roots_of_points(x: Column, above: Column, cut: NDArray[np.intp]) -> Column:
    """Where cubics through two readings before and two from `cut` on change their sign between.

    A reading that there is not, or that does not count, lowers the order.
    """
    # As if there were a reading more at each end that does not count.
    x = np.concatenate(([np.nan], x, [np.nan]))
    above = np.pad(above, ((0, 0), (1, 1)), constant_values=np.nan)
    points = cut + np.array([[0], [1], [2], [-1]])
    weights = above[np.arange(len(cut)), points]
    # Newton's form: a missing reading comes last, and its coefficient is 0.
    missing = np.isnan(weights[2])
    points[2:, missing], weights[2:, missing] = points[:1:-1, missing], weights[:1:-1, missing]
    at = x[points]
    for order in (1, 2, 3):
        steps = at[order:] - at[:-order]
        weights[order:] = (weights[order:] - weights[order - 1 : -1]) / steps
    weights = np.where(np.isnan(weights), 0.0, weights)

    first, second, third, _ = np.where(np.isnan(at), 0.0, at)
    w0, w1, w2, w3 = weights

    def value(where: Column) -> Column:
        found: Column = ((w3 * (where - third) + w2) * (where - second) + w1) * (where - first) + w0
        return found

    return _false_positions(value, first, second)


def _false_positions(value: Callable[[Column], Column], low: Column, high: Column) -> Column:
    """Where a function that falls from `low` to `high` is 0, each between its own two places.

    The false position; an end that stays weighs half the next time (Illinois).
    """
    at_low, at_high = value(low), value(high)
    smallest, at = 1e-13 * np.abs(at_low - at_high), high
    rose = fell = np.zeros(len(low), dtype=np.bool_)
    moving = ~rose
    while moving.any():
        between = (low * at_high - high * at_low) / np.where(moving, at_high - at_low, 1.0)
        at = np.where(moving, between, at)
        found = value(at)
        rises = found > 0.0
        low, high = np.where(rises, at, low), np.where(rises, high, at)
        at_low = np.where(rises, found, np.where(fell, at_low / 2.0, at_low))
        at_high = np.where(rises, np.where(rose, at_high / 2.0, at_high), found)
        rose, fell = rises, ~rises
        moving = moving & (np.abs(found) > smallest) & (high - low > 1e-13 * high)
    return at


def _roots_of_parabolas(x: Column, above: Column, near: NDArray[np.bool_]) -> Column:
    """Where parabolas of least squares through the readings `near` fall through 0.

    0 where one does not within −1 … 1.
    """
    powers = np.where(near, x, 0.0)[..., None] ** np.array([2.0, 1.0, 0.0]) * near[..., None]
    turned = powers.transpose(0, 2, 1)
    moments = turned @ np.where(near, above, 0.0)[..., None]
    c2, c1, c0 = np.linalg.solve(turned @ powers, moments)[..., 0].T
    with np.errstate(divide="ignore", invalid="ignore"):
        # Of both roots the one where the parabola falls; a straight line has it too.
        root = 2.0 * c0 / (np.sqrt(c1 * c1 - 4.0 * c2 * c0) - c1)
    return np.where(np.abs(root) <= 1.0, root, 0.0)
