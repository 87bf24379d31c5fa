"""Fewer readings with the same story: evenly spread over the logarithm of time."""

import numpy as np
from numpy.typing import ArrayLike

from reduce.forecast.outcome import Array, columns


def thin_log(times: ArrayLike, values: ArrayLike, limit: int) -> tuple[Array, Array]:
    """At most `limit` of the readings, the first and the last among them.

    Args:
        times: (n,) since the zero of the phase, in order. Those not above zero are left out. [s]
        values: (n,) any quantity.
        limit: how many to keep, at least 2.

    Returns:
        Times and values of the readings that stay; none is made up or averaged.

    Example:
        >>> thin_log([1, 2, 3, 4, 5, 6, 7, 8], [0.0] * 8, 4)[0].tolist()
        [1.0, 2.0, 4.0, 8.0]
    """
    time, value = columns(times, values)
    keep = time > 0.0
    time, value = time[keep], value[keep]
    if len(time) <= limit:
        return time, value
    wanted = np.linspace(np.log(time[0]), np.log(time[-1]), limit)
    middles = (np.log(time[1:]) + np.log(time[:-1])) / 2
    # Neighbours in the last digit may be one in their logarithms: the ends are said outright.
    inner = np.searchsorted(middles, wanted[1:-1])
    chosen = np.unique(np.concatenate([[0], inner, [len(time) - 1]]))
    return time[chosen], value[chosen]


def average_log(times: Array, values: Array, count: int) -> tuple[Array, Array, Array]:
    """Means of the readings in `count` intervals of log time, so that none is heard twice.

    Args:
        times: (n,) above zero, in order. [s]
        values: (n,) finite.
        count: number of intervals; empty ones are left out.

    Returns:
        (m,) mean time, mean value, number of readings of each interval.
    """
    if len(times) == 0:
        return times, values, times
    logs = np.log(times / times[0])
    group = np.floor(logs / max(float(logs[-1]), 1e-12) * count * (1 - 1e-12))
    _, where, numbers = np.unique(group, return_inverse=True, return_counts=True)
    number = numbers.astype(np.float64)
    return np.bincount(where, times) / number, np.bincount(where, values) / number, number
