"""What a forecast says, and the arithmetic of intervals that all forecasts share."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reduce.errors import ReductionError

Array = NDArray[np.float64]

CONFIDENCE = 0.8
"""The probability meant by earliest … latest. [-]"""
TAIL = (1.0 - CONFIDENCE) / 2
"""What lies outside on each side. [-]"""
DEVIATIONS = 1.2816
"""Half of that interval in standard deviations of a normal distribution. [-]"""


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a phase meets its criterion; the times are None and `basis` says why it is not told."""

    at: float | None
    """The even bet. [s, on the axis of the readings]"""
    earliest: float | None
    """Before it with a chance of 10 %. [s]"""
    latest: float | None
    """After it with a chance of 10 %. [s]"""
    confidence: float | None
    """Probability meant by earliest … latest. [-]"""
    progress: float | None
    """How much of the phase is done, 0 … 1. [-]"""
    basis: str
    """In words: what it rests on, or why it cannot be told."""


def columns(*arrays: ArrayLike) -> tuple[Array, ...]:
    """Columns of equal length as numbers.

    Raises:
        ReductionError: they are not of one length.
    """
    found = tuple(np.atleast_1d(np.asarray(array, dtype=np.float64)) for array in arrays)
    if any(one.shape != other.shape or one.ndim != 1 for one, other in pairwise(found)):
        lengths = ", ".join(str(one.shape) for one in found)
        raise ReductionError(f"columns of readings must be of one length; these have {lengths}")
    return found


def weighted_quantiles(values: Array, weights: Array, at: tuple[float, ...]) -> tuple[float, ...]:
    """Quantiles of values that carry weights; between values linear in the summed weight.

    Example:
        >>> weighted_quantiles(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0]), (0.5,))
        (2.0,)
    """
    order = np.argsort(values)
    sums = np.cumsum(weights[order])
    middle = (sums - weights[order] / 2) / sums[-1]
    return tuple(float(q) for q in np.interp(at, middle, values[order]))


def lasting(seconds: float) -> str:
    """A length of time in the words of a basis.

    Example:
        >>> lasting(5400)
        '1.5 h'
    """
    for unit, size in (("d", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= (2 if unit == "d" else 1) * size:
            return (
                f"{seconds / size:.2g} {unit}"
                if seconds < 99 * size
                else f"{seconds / size:.0f} {unit}"
            )
    return f"{seconds:.0f} s"
