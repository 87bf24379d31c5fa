"""A number or a column of numbers: what most formulas of this package take and give back.

A formula treats both alike, with one difference where it cannot be computed: a single number
raises `ReductionError`, an element of a column becomes NaN, so that one impossible reading does
not cost the others. NaN in a column stays NaN in its place.
"""

from math import inf
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from reduce.errors import ReductionError

Column = NDArray[np.float64]
"""(n,) readings in time order; NaN where there was none."""

LEAST, GREATEST = 1e-12, 1e9
"""In any unit of a laboratory: a number below the first is no different from 0, and one beyond the
second is no reading but a fault of the logger. Squares of what lies between are still numbers."""

Values = TypeVar("Values", float, Column)
"""One number, or a column of them: what goes in comes out."""


def between(name: str, value: Values, low: float, high: float, unit: str) -> Values:
    """Give the value back where it lies strictly between two bounds.

    Args:
        name: the quantity, for the message.
        value: one number or (n,).
        low: bound below, itself not allowed.
        high: bound above, itself not allowed.
        unit: unit of value and bounds, for the message; "" for a ratio.

    Returns:
        The value; elements of a column outside the bounds are NaN.

    Raises:
        ReductionError: a single number outside the bounds, or NaN.

    Example:
        >>> between("axial strain", 0.1, -1.0, 1.0, "")
        0.1
    """
    if isinstance(value, np.ndarray):
        return np.where((value > low) & (value < high), value, np.nan)
    if not low < value < high:
        of = f" {unit}" if unit else ""
        bounds = (
            f"be finite and above {low:g}" if high == inf else f"lie between {low:g} and {high:g}"
        )
        raise ReductionError(f"{name} is {value:g}{of}; it must {bounds}{of}")
    return value
