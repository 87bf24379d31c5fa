"""The steady part of a flow: told from creep and from warmth by shape, with its uncertainty.

A leak is linear in time. What a specimen or a cell wall does by itself falls off: secondary flow
goes with the logarithm of time, gas dissolves exponentially. What goes with temperature is taken
out by temperature where it is read, else by a day's wave of unknown phase. All are fitted together,
so that what cannot be told apart yet comes out as uncertain.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isnan, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HOUR_S, DAY_S = 3600.0, 86400.0
LAG_S = 7200.0
"""By which cell water follows the room, about: common practice, no source. [s]"""
SWING_C = 1.0
"""Of a room whose temperature is not read, about half its daily swing: common practice. [°C]"""
LATELY = 8
"""So many means tell what flows lately."""
LEAST = 6
"""Fewer means tell no rate."""
AGES = (1.0, 0.5, 0.25, 0.125)
"""A leak may have begun so long before the newest reading, as a share of the window."""
YOUNGEST_S = HOUR_S
"""… but not later than this. [s]"""


class Mean(NamedTuple):
    """Mean of the readings of a short time; NaN where a channel was not read."""

    time: float
    value: tuple[float, ...]
    """By channel."""
    warm: float
    """Temperature. [°C]"""
    lagged: float
    """The same as it comes through to the water of the cell. [°C]"""


class Means:
    """Readings of one step, gathered into means whose width grows with the time of the step."""

    __slots__ = (
        "_before", "_count", "_lagged", "_most", "_narrowest_s", "_sums", "_until", "_warm_at",
        "_width", "kept", "since",
    )  # fmt: skip

    def __init__(
        self,
        since: float,
        *,
        width: float = 1.0 / 60.0,
        narrowest_s: float = 120.0,
        kept: int = 160,
    ) -> None:
        self.since = since
        self._width, self._narrowest_s, self._most = width, narrowest_s, kept
        self.kept: tuple[Mean, ...] = ()
        self._sums: tuple[float, ...] | None = None
        self._count = self._before = 0
        self._until = -np.inf
        self._lagged = self._warm_at = float("nan")

    def copy(self) -> "Means":
        """Independent means in the same state."""
        other = Means(self.since)
        for name in self.__slots__:
            setattr(other, name, getattr(self, name))
        return other

    def add(self, time: float, value: tuple[float, ...], warm: float) -> bool:
        """Follow one reading; True when another mean is complete."""
        self._follow_room(time, warm)
        done = self._sums is not None and time >= self._until
        if done:
            self._close()
        if self._sums is None:
            self._until = time + max(self._narrowest_s, self._width * (time - self.since))
            self._sums, self._count = (time, warm, self._lagged, *value), 1
        else:
            new = (time, warm, self._lagged, *value)
            self._sums = tuple(a + b for a, b in zip(self._sums, new, strict=True))
            self._count += 1
        return done

    def _follow_room(self, time: float, warm: float) -> None:
        if isnan(warm):
            return
        if isnan(self._lagged):
            self._lagged = warm
        else:
            passed = time - self._warm_at
            self._lagged += (warm - self._lagged) * passed / (passed + LAG_S)
        self._warm_at = time

    @property
    def newest(self) -> tuple[Mean, ...]:
        """All means; where readings are rare the newest reading is one of its own."""
        return (*self.kept, self._mean()) if self._sums and self._before == 1 else self.kept

    def _close(self) -> None:
        self.kept = (*self.kept[-self._most + 1 :], self._mean())
        self._sums, self._before = None, self._count

    def _mean(self) -> Mean:
        assert self._sums is not None
        time, warm, lagged, *value = (one / self._count for one in self._sums)
        return Mean(time, tuple(value), warm, lagged)


@dataclass(frozen=True, slots=True)
class Rate:
    """A steady flow."""

    per_hour: float
    sd: float
    """Its standard uncertainty."""
    recent: float
    """All that flows lately, warmth taken out. [per hour]"""
    least: float
    """The same if temperature did as much to it as it can. [per hour]"""

    def surely_above(self, limit: float) -> bool:
        """Whether it exceeds a limit by three times its uncertainty, and lately for all warmth.

        What temperature could make by itself is no flow, whatever the fit says of it; nor is what
        flows lately if twice the uncertainty of the fit is more.
        """
        known = min(self.per_hour, self.recent) > 2.0 * self.sd
        surely = self.per_hour - 3.0 * self.sd > limit
        return known and surely and min(self.recent, self.least) > limit


def steady(
    means: Sequence[Mean],
    value: Array,
    *,
    shapes: Sequence[Array],
    warmth: tuple[float, float],
    noise: float,
    either_way: bool = False,
) -> Rate | None:
    """The steady rate that is surest above nothing, of leaks begun at several moments.

    Args:
        means: (n,) of the window, in order.
        value: (n,) what flowed; not NaN.
        shapes: (n,) each, courses that fall off and are no leak; they only go upward, else they
            are left out.
        warmth: what is expected of 1 °C, and its standard uncertainty.
        noise: least standard deviation of a mean.
        either_way: whether the courses may go downward as well.

    Returns:
        None where there are too few means.
    """
    if len(means) < LEAST:
        return None
    time = np.array([one.time for one in means])
    window = float(time[-1] - time[0])
    if window < YOUNGEST_S:
        return None
    rooms, expected, sds, more = _rooms(means, time, warmth)
    found: list[Rate] = []
    for age in AGES:
        begun = time[-1] - age * window
        after = int(np.count_nonzero(time > begun))
        if after < 4 or (age < 1.0 and (len(time) - after < 4 or age * window < YOUNGEST_S)):
            continue
        leak = np.maximum(time - begun, 0.0) / HOUR_S
        kept = list(shapes)
        while True:
            rate, courses = _fitted(value, leak, kept, rooms, expected, sds, noise, time)
            if either_way or not kept or min(courses) >= 0.0:
                break
            kept.pop(int(np.argmin(courses)))
        found.append(rate)
    if not found:
        return None
    surest = max(found, key=lambda one: one.per_hour - 3.0 * one.sd)
    sd = float(np.hypot(surest.sd, more))
    return replace(surest, sd=sd, least=_least(means, time, value, warmth))


def _rooms(
    means: Sequence[Mean], time: Array, warmth: tuple[float, float]
) -> tuple[list[Array], list[float], list[float], float]:
    """Columns of what the room does, what is expected of each, how surely, and what is not fitted.

    The last is a rate. [per hour]
    """
    warm = np.array([one.warm for one in means])
    expected, sd = warmth
    if np.isfinite(warm).all():
        lagged = np.array([one.lagged for one in means])
        return [warm - warm[0], lagged - warm], [expected, 0.0], [sd, abs(expected) + sd], 0.0
    wave = SWING_C * (abs(expected) + sd)
    if time[-1] - time[0] < DAY_S:
        # Part of a wave is a line: no fit tells them apart.
        return [], [], [], wave * 2.0 * pi * HOUR_S / DAY_S
    turns = 2.0 * pi * time / DAY_S
    return [np.sin(turns), np.cos(turns)], [0.0, 0.0], [wave, wave], 0.0


def _least(means: Sequence[Mean], time: Array, value: Array, warmth: tuple[float, float]) -> float:
    """What flows lately beyond what temperature can do at most. [per hour]"""
    expected, sd = warmth
    raw = _slope(time, value)
    most = abs(expected) + 2.0 * sd
    warm = np.array([(one.warm, one.lagged) for one in means[-LATELY:]])
    if not np.isfinite(warm).all():
        day = time >= time[-1] - DAY_S
        if time[-1] - time[0] >= DAY_S and np.count_nonzero(day) > 2:
            return _rise(time[day], value[day])
        return raw - most * SWING_C * 2.0 * pi * HOUR_S / DAY_S
    slopes = [_slope(time[-LATELY:], column) for column in warm.T]
    low = expected - 2.0 * sd
    high = min(expected + 2.0 * sd, 0.0) if expected < 0.0 else expected + 2.0 * sd
    return min(raw - share * slope for share in (low, high) for slope in slopes)


def _slope(time: Array, value: Array) -> float:
    """Of the line through the newest of them. [per hour]"""
    return _rise(time[-LATELY:], value[-LATELY:])


def _rise(time: Array, value: Array) -> float:
    """Of the line through all of them. [per hour]"""
    hours = time / HOUR_S
    away = hours - hours.mean()
    return float(np.dot(away, value)) / float(np.dot(away, away))


def _fitted(
    value: Array,
    leak: Array,
    shapes: Sequence[Array],
    rooms: Sequence[Array],
    expected: Sequence[float],
    sds: Sequence[float],
    noise: float,
    time: Array,
) -> tuple[Rate, list[float]]:
    """Least squares with what is expected of the room; the rate, and the size of each course."""
    table = np.column_stack([np.ones_like(value), leak, *shapes, *rooms])
    first = 2 + len(shapes)
    sigma = noise
    for _ in range(2):  # the second time with the scatter that was found
        weight = np.zeros(table.shape[1])
        weight[first:] = (sigma / np.array(sds)) ** 2
        goal = np.zeros(table.shape[1])
        goal[first:] = weight[first:] * np.array(expected)
        normal = table.T @ table + np.diag(weight + 1e-12)
        inverse = np.linalg.inv(normal)
        found = inverse @ (table.T @ value + goal)
        rest = value - table @ found
        free = max(len(value) - table.shape[1], 1)
        sigma = max(noise, float(np.sqrt(rest @ rest / free)))
    spread = sigma * float(np.sqrt(max(inverse[1, 1], 0.0)))
    # Neighbours that err alike tell less than their number says.
    alike = float(np.dot(rest[1:], rest[:-1])) / max(float(np.dot(rest, rest)), 1e-18)
    alike = min(max(alike, 0.0), 0.9)
    spread *= float(np.sqrt((1.0 + alike) / (1.0 - alike)))
    recent = _slope(time, value - table[:, first:] @ found[first:])
    rate = Rate(float(found[1]), spread, recent, recent)
    return rate, [float(one) for one in found[2:first]]
