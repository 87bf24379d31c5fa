"""When the strain limit is reached: the recent rate of strain, carried on."""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reduce.forecast.outcome import CONFIDENCE, DEVIATIONS, Array, Forecast, columns, lasting

_RECENT = 0.3  # part of the shearing time that the rate is taken from
_FEWEST = 5  # readings behind a rate
_MOST = 60  # readings behind a rate: 1,770 pairs
_TOUCHED = 0.3  # of the travel between two readings: the ram touched sooner with 80 %, fitted
_RATE_FLOOR = 0.0025  # a motor keeps its speed no closer: common practice, no source


@lru_cache(maxsize=_MOST)
def _pairs(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Indices of all pairs of so many; not to be written."""
    return np.triu_indices(count, 1)


def _slope(times: Array, strains: Array) -> tuple[float, float, float]:
    """Theil–Sen line: rate, strain at the last reading, scatter about the line."""
    pick = np.unique(np.linspace(0, len(times) - 1, min(len(times), _MOST)).astype(int))
    t, e = times[pick] - times[-1], strains[pick]
    first, second = _pairs(len(t))
    rate = float(np.median((e[second] - e[first]) / (t[second] - t[first])))
    rest = e - rate * t
    level = float(np.median(rest))
    return rate, level, float(1.4826 * np.median(np.abs(rest - level)))


def _recent(times: Array, strains: Array) -> int:
    """Index from which on the rate has been what it is now."""
    since = times[-1] - _RECENT * (times[-1] - times[0])
    start = min(int(np.searchsorted(times, since)), max(len(times) - 8, 0))
    # The speed may have been changed within the part: shorten it while its end is another line.
    while len(times) - start >= 3 * _FEWEST:
        rate, _, scatter = _slope(times[start:], strains[start:])
        cut = len(times) - (len(times) - start) // 3
        late, _, noise = _slope(times[cut:], strains[cut:])
        span = times[-1] - times[cut]
        if abs(late - rate) * span <= max(0.1 * abs(rate) * span, 3 * noise, scatter / 3):
            break
        start = cut
    return start


def _wander(times: Array, strains: Array, rate: float, scatter: float) -> tuple[float, float]:
    """Relative change of rate from one eighth of the time to the next, and that time in seconds."""
    edges = np.linspace(times[0], times[-1], 9)
    at_edges = np.interp(edges, times, strains)
    steps = np.diff(np.diff(at_edges) / np.diff(edges)) / rate
    block = float(edges[1] - edges[0])
    seen = float(1.4826 * np.median(np.abs(steps)))
    # A second difference of three readings carries six times the variance of one.
    noise = 6 * (scatter / (block * rate)) ** 2
    return float(np.sqrt(max(seen**2 - noise, 0.0))), block


def _standing(times: Array, strains: Array, rate: float, scatter: float) -> float | None:
    """For how long the ram has stood still; None while it moves. [s]

    The tail looked at is the shortest in which a moving ram would show: six times the scatter.
    """
    expected = rate * (times[-1] - times)
    shows = np.flatnonzero(expected >= max(6 * scatter, 1e-7))
    if len(shows) == 0 or len(times) < 4:
        return None
    start = min(int(shows[-1]), len(times) - 4)
    if strains[-1] - strains[start] >= 0.3 * rate * (times[-1] - times[start]):
        return None
    moved = np.flatnonzero(strains[-1] - strains > max(3 * scatter, 1e-9))
    return float(times[-1] - times[min(int(moved[-1]) + 1, start) if len(moved) else 0])


def shear(
    times: ArrayLike,
    strains: ArrayLike,
    *,
    now: float,
    limit: float,
    zero_strain_time: float,
    zero_doubt: float = 0.0,
) -> Forecast:
    """When the axial strain reaches its limit.

    The rate is the median of the slopes between all pairs of recent readings (Theil–Sen). The
    interval adds its own scatter, how much the rate wandered so far, and what no frame betters.

    Args:
        times: (n,) of the readings. [s]
        strains: (n,) axial strain of each; NaN rows are left out. [-]
        now: readings after it are not looked at. [s]
        limit: strain at which shearing ends. [-]
        zero_strain_time: when strain was zero: the end of docking. [s]
        zero_doubt: travel from that reading to the next one, over the height: the ram touched the
            specimen somewhere between them. [-]

    Returns:
        The forecast; `progress` is strain over limit.

    Source:
        Theil (1950) and Sen (1968), J. Am. Stat. Assoc. 63, for the line; the interval is common
        practice, no source, and its coverage is measured in tests/reduce/test_forecast_shear.py.

    Example:
        >>> shear([0, 60, 120, 180, 240], [0, 0.001, 0.002, 0.003, 0.004],
        ...       now=240, limit=0.15, zero_strain_time=0).basis
        '0.1 %/min over the last 4 min, carried on to 15 %'
    """
    time, strain = columns(times, strains)
    use = np.isfinite(time) & np.isfinite(strain) & (time >= zero_strain_time) & (time <= now)
    time, first = np.unique(time[use], return_index=True)
    strain = strain[use][first]
    if len(time) < _FEWEST:
        return Forecast(
            None, None, None, None, None,
            f"cannot say yet: needs {_FEWEST} readings of strain since its zero, has {len(time)}",
        )  # fmt: skip
    progress = float(np.clip(strain[-1] / limit, 0.0, 1.0))
    beyond = np.flatnonzero(strain >= limit)
    if len(beyond) and np.median(strain[-3:]) >= limit:
        crossed = max(int(beyond[0]), 1)
        two = slice(crossed - 1, crossed + 1)
        met = float(np.interp(limit, strain[two], time[two]))
        return Forecast(met, met, met, CONFIDENCE, 1.0, f"strain {100.0 * limit:g} % was reached")
    start = _recent(time, strain)
    rate, level, scatter = _slope(time[start:], strain[start:])
    # Before a stop the ram did move: the rate to expect is that of the whole shear.
    usual = float(np.quantile(np.diff(strain) / np.diff(time), 0.75))
    standing = _standing(time, strain, max(rate, usual), scatter)
    if standing is not None:
        why = f"cannot say: the ram has stood still for {lasting(standing)} at {strain[-1]:.2%}"
        return Forecast(None, None, None, None, progress, why)
    span = time[-1] - time[start]
    error = 2.5 * scatter / (span * np.sqrt(len(time) - start))
    if rate <= 3 * error or rate <= 0.0:
        why = f"cannot say yet, because strain does not grow: {rate * 6000:.2g} %/min"
        return Forecast(None, None, None, None, progress, why)
    left = max(limit - level, 0.0) / rate
    wander, block = _wander(time, strain, rate, scatter)
    # Variance of the mean of a random walk ahead less that of the recent past, in steps.
    ahead = max((left + span) / block, 1.0) / 3
    spread = float(np.sqrt((error / rate) ** 2 + wander**2 * ahead + _RATE_FLOOR**2))
    at = float(time[-1] + left)
    doubt, touched = scatter / rate, _TOUCHED * max(zero_doubt, 0.0) / rate
    return Forecast(
        at=at,
        earliest=float(time[-1] + max(left / (1 + DEVIATIONS * spread) - doubt, 0.0)),
        latest=float(time[-1] + left * (1 + DEVIATIONS * spread) + doubt + touched),
        confidence=CONFIDENCE,
        progress=progress,
        basis=f"{rate * 6000:.3g} %/min over the last {lasting(span)}, "
        f"carried on to {100.0 * limit:g} %",
    )
