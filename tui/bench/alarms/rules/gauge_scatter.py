"""How a volume gauge scatters, by readings of what flows ever slower."""

from collections.abc import Sequence

import numpy as np

from tui.bench.alarms.rules.steady_flow import HOUR_S, Array

WIDTH_S = 300.0
"""Readings are gathered to means for so long. [s]"""
SCATTER_ML = 0.0025
"""Least scatter of a mean of readings of a gauge that counts 0.01 ml; of one reading twice. [ml]"""
UNKNOWN_ML = 0.01
"""The same of single readings, before there are enough to tell. [ml]"""
BEND_AS_SD = 3.0
"""One bend tells so little that thrice as much may be one standard deviation. [-]"""
LEAST_SHARE, LEAST_AS_SD = 0.3, 2.6
"""Of what is spread like a bell, so much is within one standard deviation over that. [-]"""


def scatter(time: Array, value: Array) -> float:
    """Of a mean, by how it differs from the line through its neighbours."""
    return UNKNOWN_ML if len(value) < 6 else scatter_of([(time, value)])


def scatter_of(parts: Sequence[tuple[Array, Array]]) -> float:
    """The same by several stretches of one gauge: times and values of three means at least."""
    lately = [slice(-max(len(value) // 2, 8), None) for _, value in parts]
    bends = [_bends(t[late], v[late]) for late, (t, v) in zip(lately, parts, strict=True)]
    # By the least of them: the specimen's own course bends, and so does a leak that begins.
    usual = float(np.quantile(np.concatenate(bends), LEAST_SHARE))
    rare = any(single(time) for time, _ in parts)
    return max(2.0 * SCATTER_ML if rare else SCATTER_ML, LEAST_AS_SD * usual)


def single(time: Array) -> bool:
    """Whether readings are so rare that each is a mean of its own."""
    return len(time) < 2 or float(np.median(np.diff(time))) * HOUR_S > 1.5 * WIDTH_S


def _bends(time: Array, value: Array) -> Array:
    """(n - 2,) by how much each differs from the line through its neighbours, as its scatter."""
    part = (time[1:-1] - time[:-2]) / (time[2:] - time[:-2])
    away = np.abs(value[1:-1] - (1.0 - part) * value[:-2] - part * value[2:])
    bends: Array = away / np.sqrt(1.0 + (1.0 - part) ** 2 + part**2)
    return bends


def scatter_by(time: Array, value: Array, b: int, noise: float) -> float:
    """The same of rare readings, as it was when a flow began.

    Most of a few readings lie where a specimen's course bends. It bends ever less: what it did
    before is the most that it does since.
    """
    if b < 2 or not single(time[b - 2 : b + 1]):
        return noise
    bend = float(_bends(time[b - 2 : b + 1], value[b - 2 : b + 1])[0])
    return min(noise, max(UNKNOWN_ML, BEND_AS_SD * bend))
