"""How far readings may lie off a curve: covariances of volume and of dissipation over log time.

Noise is the least of it. A line gives back what it held, the room warms the gauge, fittings weep,
and no soil follows a formula: the specimen runs ahead of any curve or behind it, smoothly over log
time. So sixty readings on a smooth curve are not sixty independent witnesses.

Sizes are common practice, no source; the widths that come of them were measured on rehearsed tests
(tests/campaign) whose physics are others.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.outcome import Array

_GIVEN_BACK_ML, _GIVEN_BACK_S = (0.06, 0.10), 20.0  # expected, and its deviation; within that time
_BEDDING = 0.01  # of the flow so far, at once
_WEEP_ML_S = 0.005 / 3600.0
_WARMTH_ML, _WARMTH_S = 0.02, 4 * 3600.0
_GAUGE_ML, _GAUGE_PART = 0.006, 1e-5  # and in parts of the specimen's volume
_OFF_FLOW, _OFF_FLOW_LENGTH = 0.004, 1.5  # of the flow so far; length in ln t
_AHEAD, _AHEAD_LENGTH = 0.035, 2.2  # of ln t, by volume
PORE_AHEAD, PORE_LENGTH = 0.065, 2.3
"""The same by pore pressure, which no creep and no line disturbs. [ln t]"""
_PORE_NOISE, _PORE_LAG_S = 0.0015, 8.0
HEAD_ERROR_KPA = 0.4
"""Of the pore pressure that dissipates: two gauges differ by their zeros. [kPa]"""
_SHARED = 0.1  # of the variance of one reading that a mean of many does not lose


@dataclass(frozen=True, slots=True, eq=False)
class Means:
    """Readings in equal parts of log time, so that a night of them is not heard as many."""

    times: Array
    """(m,) since the zero reading. [s]"""
    values: Array
    """(m,) volume out [ml] or dissipation [-]."""
    numbers: Array
    """(m,) of readings."""

    @property
    def flow(self) -> float:
        """What moved since the zero reading, which is 0."""
        return float(np.ptp(np.append(self.values, 0.0)))


def akin(times: Array, others: Array, length: float) -> Array:
    """(m, k) correlation of what is smooth over ln t (Matérn's, of order 3/2)."""
    apart = np.abs(np.log(times[:, None]) - np.log(others)) * (math.sqrt(3) / length)
    found: Array = (1 + apart) * np.exp(-apart)
    return found


def _single(noise: float, means: Means) -> Array:
    return np.diag(noise**2 * (1 / np.maximum(means.numbers, 1.0) + _SHARED))


def _at_once(flow: float) -> float:
    """Variance of what comes at once. [ml²]"""
    return _GIVEN_BACK_ML[1] ** 2 + (_BEDDING * flow) ** 2


def given_back(times: Array) -> Array:
    """(m,) what a line is expected to give back of what it held when the valve opens. [ml]"""
    found: Array = _GIVEN_BACK_ML[0] * (1 - np.exp(-times / _GIVEN_BACK_S))
    return found


def volume_doubt(means: Means, slopes: Array, volume_ml: float, late_s: float) -> Array:
    """(m, m) covariance of volumes about a curve. [ml²]

    Args:
        means: the volumes.
        slopes: (m,) dV/d ln t of a curve near them. [ml]
        volume_ml: of the specimen.
        late_s: deviation of the moment at which drainage was opened. [s]
    """
    times, flow = means.times, means.flow
    fading = np.exp(-times / _GIVEN_BACK_S)
    found = _at_once(flow) * (1 + np.outer(fading, fading)) + _WEEP_ML_S**2 * np.outer(times, times)
    warmth = [np.exp(-0.5 * (gap / _WARMTH_S) ** 2) for gap in (times[:, None] - times, times)]
    found += _WARMTH_ML**2 * (warmth[0] - warmth[1] - warmth[1][:, None] + 1)
    apart = (np.log(times[:, None]) - np.log(times)) / _OFF_FLOW_LENGTH
    found += (_OFF_FLOW * flow) ** 2 * np.exp(-0.5 * apart**2)
    found += _AHEAD**2 * np.outer(slopes, slopes) * akin(times, times, _AHEAD_LENGTH)
    found += np.outer(slopes / times, slopes / times) * late_s**2
    noise = math.hypot(_GAUGE_ML, _GAUGE_PART * volume_ml)
    return np.asarray(found + _single(noise, means) + np.eye(len(times)) * (1e-4 * flow) ** 2)


def offset_of(rest: Array, doubt: Array, flow: float) -> float:
    """The offset at once that most likely is in volumes. [ml]

    Args:
        rest: (m,) what a curve and `given_back` leave of them. [ml]
        doubt: (m, m) as `volume_doubt`. [ml²]
        flow: so far. [ml]
    """
    return _GIVEN_BACK_ML[0] + _at_once(flow) * float(np.linalg.solve(doubt, rest).sum())


def pore_doubt(means: Means, slopes: Array, head_kPa: float, late_s: float) -> Array:
    """(m, m) covariance of measured dissipation about a curve. [-]

    Args:
        means: the dissipation.
        slopes: (m,) dD/d ln t of a curve near it. [-]
        head_kPa: the pore pressure that dissipates.
        late_s: deviation of the moment at which drainage was opened. [s]
    """
    times = means.times
    found = PORE_AHEAD**2 * np.outer(slopes, slopes) * akin(times, times, PORE_LENGTH)
    found += np.outer(slopes / times, slopes / times) * (late_s**2 + _PORE_LAG_S**2)
    found += (HEAD_ERROR_KPA / head_kPa) ** 2 * np.outer(means.values, means.values)
    return np.asarray(found + _single(_PORE_NOISE, means))
