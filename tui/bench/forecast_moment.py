"""As of which reading a forecast is made: not of every row, as most tell nothing new.

A phase is seen on the logarithm of its time. So there is one forecast for every hundredth that its
time has grown, made of the first reading behind that mark: of rows that come by a schedule each
one counts, of a row a second one in 36 after an hour. It depends on the readings alone, not on when
somebody looks.
"""

import math

import numpy as np

from tui.feed.rows import Column

GROWTH = 1.01
"""Time of the phase from one forecast to the next."""
BEGIN_S = 300.0
"""Added to the time of the phase, so that its first minutes are not cut into shreds. [s]"""


def forecast_moment(times: Column, since: float, growth: float = GROWTH) -> float:
    """Time of the reading that the present forecast is made of. [s]

    Args:
        times: (n,) of the readings that are kept, in order; not empty. [s]
        since: when the phase began. [s]
        growth: of the time of the phase from one forecast to the next.

    Example:
        >>> rows = np.arange(0.0, 3700.0)
        >>> [forecast_moment(rows[:n], 0.0) for n in (3600, 3601, 3630, 3660)]
        [3562.0, 3600.0, 3600.0, 3639.0]
    """
    last = float(times[-1])
    passed = max(last - since, 0.0) + BEGIN_S
    mark = math.floor(math.log(passed) / math.log(growth))
    from_s = since - BEGIN_S + growth**mark
    place = int(np.searchsorted(times, from_s - 1e-6))
    return float(times[min(place, len(times) - 1)])
