"""When the next steps fall: how long this cell takes for one, and when somebody is there.

A step waits for the specimen, W: from the settled reading of one check until the next can begin.
It then waits for a person. What was seen of W is exact where the person was waiting for the
specimen, and only a bound where the check began as somebody came in. W varies from step to step by
a factor, about a middle that is the cell's own.

Common practice, no source: the sizes of the priors.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.gas import normal_below
from reduce.forecast.outcome import Array

Stretches = tuple[tuple[float, float], ...]
"""(from, until) when somebody is there [s], in order; after the last, always."""

_USUAL_S = 5000.0  # a step where nothing is planned
_PLANNED_PART = 0.25  # of the longest time that a step may take: what it takes
_PRIOR = 1.0  # deviation of the logarithm of the cell's own pace
_SCATTER, _SCATTER_BELIEF = 0.35, 3.0  # the same from step to step; in steps, how firmly
_COMING_IN_S = 2700.0  # a check that begins so soon after people came was ready before
_SETTLES_S, _SETTLES = 600.0, 0.5  # a check until its settled reading, and its scatter
_EXACT = 0.98  # of the longest that a wait can have been
_PATHS = 99
_Z = np.linspace(-2.6, 2.6, 61)


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps so far."""

    settled_s: tuple[float, ...]
    """Settled reading of each check. [s]"""
    began_s: tuple[float, ...]
    """When cell pressure was raised for it. [s]"""
    since_s: float
    """When saturation began. [s]"""
    planned_s: float | None = None
    """What a step may take at most."""
    attended: Stretches | None = None
    """None: somebody is always there."""

    def waits(self) -> list[tuple[float, float]]:
        """Least and most that each step can have waited for the specimen. [s]"""
        found = []
        for ready, began in zip((self.since_s, *self.settled_s), self.began_s, strict=False):
            wait = max(began - ready, 1.0)
            found.append((max(min(self._there_before(began) - ready, wait), 0.0), wait))
        return found

    @property
    def settles_s(self) -> float:
        """How long a check takes until its settled reading, by the newest three and the usual. [s]

        It settles sooner as less gas is left to dissolve.
        """
        both = zip(self.began_s[-3:], self.settled_s[-3:], strict=True)
        seen = [math.log(s - b) for b, s in both if s > b]
        return math.exp((sum(seen) + math.log(_SETTLES_S)) / (len(seen) + 1))

    def _there_before(self, began: float) -> float:
        """The last moment before this one at which somebody was there and did not begin. [s]"""
        if self.attended is None:
            return began
        for start, end in reversed(self.attended):
            if start <= began:
                if began > end:
                    return began  # against the plan somebody was there
                if began - start > _COMING_IN_S:
                    return began
                earlier = [until for _, until in self.attended if until <= start]
                return earlier[-1] if earlier else -math.inf
        return began


def next_attended(moments: Array, attended: Stretches | None) -> Array:
    """(…) the first moments not before these at which somebody is there. [s]"""
    if not attended:
        return moments
    starts, ends = np.array(attended).T
    place = np.searchsorted(ends, moments, side="right")
    later = np.append(starts, -np.inf)[place]
    found: Array = np.maximum(moments, later)
    return found


def checks_ahead(steps: Steps, now: float, number: int, running_s: float | None) -> Array:
    """When the next checks will be settled, on paths that are equally likely.

    Args:
        steps: so far.
        now: nothing has happened since that is not in `steps`. [s]
        number: of checks.
        running_s: when the check that runs now began; None: none runs. [s]

    Returns:
        (paths, number) moments. [s]
    """
    middles, weights, scatter = _own_pace(steps)
    settles = steps.settles_s
    dice = np.random.RandomState(1)  # the same readings tell the same
    middle = np.interp(
        (np.arange(_PATHS) + 0.5) / _PATHS, np.cumsum(weights) - weights / 2, middles
    )
    dice.shuffle(middle)
    waits = np.exp(middle[:, None] + scatter * dice.standard_normal((_PATHS, number)))
    checks = settles * np.exp(_SETTLES * dice.standard_normal((_PATHS, number)))
    found = np.empty((_PATHS, number))
    last = np.full(_PATHS, steps.settled_s[-1] if steps.settled_s else steps.since_s)
    for k in range(number):
        if k == 0 and running_s is not None:
            began = np.full(_PATHS, running_s)
        else:
            wait = waits[:, k]
            if k == 0:
                wait = _not_over(middle, scatter, dice, steps, now, float(last[0]))
            began = next_attended(last + wait, steps.attended)
        last = began + checks[:, k]
        if k == 0 and running_s is not None:  # it goes on: that long it takes at least
            late = last <= now
            last[late] = now + 0.2 * checks[late, k]
        found[:, k] = last
    return found


def _not_over(
    middle: Array,
    scatter: float,
    dice: np.random.RandomState,
    steps: Steps,
    now: float,
    ready: float,
) -> Array:
    """Waits of the step that runs: longer than what people have seen of it so far. [s]"""
    seen = _last_attended(now, steps.attended) - ready
    level = 1e-3 if seen <= 0 else seen
    below = normal_below((math.log(level) - middle) / scatter)
    chance = below + (1.0 - below) * dice.uniform(0.02, 0.98, len(middle))
    z = np.interp(chance, normal_below(_Z), _Z)
    # A step that takes far longer than any was is not about to end just now.
    found: Array = np.maximum(
        np.exp(middle + scatter * z), level * dice.uniform(1.0, 1.4, len(middle))
    )
    return found


def _last_attended(now: float, attended: Stretches | None) -> float:
    if attended is None:
        return now
    before = [min(end, now) for start, end in attended if start <= now]
    return max(before) if before else -math.inf


def _own_pace(steps: Steps) -> tuple[Array, Array, float]:
    """ln of the middle wait in s: values and weights; and the scatter from step to step."""
    usual = _USUAL_S if steps.planned_s is None else _PLANNED_PART * steps.planned_s
    middles = math.log(usual) + np.linspace(-3.0, 3.0, 121) * _PRIOR
    score = -0.5 * ((middles - math.log(usual)) / _PRIOR) ** 2
    waits = steps.waits()
    scatter = _scatter([math.log(most) for least, most in waits if least >= _EXACT * most])
    for least, most in waits:
        high = (math.log(most) - middles) / scatter
        if least >= _EXACT * most:
            score -= 2.5 * np.log1p(high**2 / 4.0)  # Student's: now and then one waits for long
        else:
            low = (math.log(max(least, 1.0)) - middles) / scatter
            score += np.log(np.maximum(normal_below(high) - normal_below(low), 1e-4))
    weights = np.exp(score - score.max())
    return middles, weights / weights.sum(), scatter


def _scatter(logs: list[float]) -> float:
    """From step to step, of those that were seen exactly; two alike do not feign certainty."""
    middle = sorted(logs)[len(logs) // 2] if logs else 0.0
    seen = sum(min((log - middle) ** 2, 1.0) for log in logs)
    return math.sqrt((seen + _SCATTER_BELIEF * _SCATTER**2) / (len(logs) + _SCATTER_BELIEF))


def usual_step_s(steps: Steps) -> float:
    """The middle time from one check to the next while somebody is there. [s]"""
    middles, weights, _ = _own_pace(steps)
    return math.exp(float(weights @ middles)) + steps.settles_s
