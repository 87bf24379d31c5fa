"""Whether the checks to come will pass: the soils that could be in the cell, step by step."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from reduce.forecast.gas import Checked, Soils, chance_above, likely_soils
from reduce.forecast.outcome import Array
from reduce.forecast.pace import Steps, usual_step_s

B_ABOVE = 1.02
"""A larger B is a leak or a zero gone, not saturation: after common practice. [-]"""
MOST_STEPS = 16
"""Looked ahead: more than anybody waits for."""
_SAME_KPA = 5.0
_REMEMBERED = 256  # checks come hours apart, and are asked about at every reading in between

Numbers = tuple[float, ...]
Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class SoFar:
    """The checks that were made."""

    steps: Steps
    """When."""
    pressures_kPa: Numbers
    """Back pressure of each."""
    b: Numbers
    """B of each. [-]"""
    rise_kPa: float
    """Of cell pressure in a check, as planned."""

    @property
    def trusted(self) -> tuple[int, ...]:
        """Checks that are no leak."""
        return tuple(i for i, b in enumerate(self.b) if b <= B_ABOVE)


@dataclass(frozen=True, slots=True)
class Chances:
    """What the checks to come may show."""

    first_pass: Array
    """(m,) chance that this is the first check that passes. [-]"""
    expected: Array
    """(n, m) B of each soil."""
    weights: Array
    """(n,) of each soil."""
    curve: Curve
    """(back pressure [kPa], B [-]) of the checks so far and of those to come."""

    @property
    def reach(self) -> float:
        """Chance that one of them passes. [-]"""
        return float(self.first_pass.sum())


@lru_cache(maxsize=_REMEMBERED)
def soils_of(so_far: SoFar) -> Soils:
    """The soils that could be in the cell, by its checks."""
    steps = so_far.steps
    holds = [
        max(began - ready, 0.0)
        for ready, began in zip((steps.since_s, *steps.settled_s), steps.began_s, strict=False)
    ]
    mine, waited, held = so_far.trusted, 0.0, []
    for i, hold in enumerate(holds):
        waited += hold
        if i in mine:
            held.append(waited)
            waited = 0.0
    return likely_soils(
        Checked(
            tuple(held),
            tuple(so_far.pressures_kPa[i] for i in mine),
            tuple(so_far.b[i] for i in mine),
            tuple(max(steps.settled_s[i] - steps.began_s[i], 0.0) for i in mine),
            so_far.rise_kPa,
        )
    )


def curve_so_far(so_far: SoFar) -> Curve:
    """(back pressure [kPa], B [-]) of the checks so far, as the soils let expect it."""
    pressures = [so_far.pressures_kPa[i] for i in so_far.trusted]
    return tuple(zip(pressures, soils_of(so_far).b_told, strict=True))


def pressures_to_come(
    so_far: SoFar, level_kPa: float | None, limit_kPa: float | None, running_since: float | None
) -> Array:
    """Back pressures of the checks that are still to come; the last one stands at the limit."""
    step = _own_step(so_far)
    last = so_far.pressures_kPa[-1] if so_far.pressures_kPa else None
    if level_kPa is not None and (
        last is None or level_kPa > last + 0.3 * step or running_since is not None
    ):
        first = level_kPa
    else:
        first = step if last is None else last + step
    ahead: Array = first + step * np.arange(MOST_STEPS, dtype=np.float64)
    if limit_kPa is None:
        return ahead
    return ahead[ahead <= max(limit_kPa, level_kPa or 0.0) + 0.2 * step]


def _own_step(so_far: SoFar) -> float:
    """By how much this cell's back pressure rises from check to check. [kPa]"""
    rises = np.diff(np.array(so_far.pressures_kPa))
    rises = rises[rises > _SAME_KPA]
    return float(np.median(rises)) if len(rises) >= 2 else so_far.rise_kPa


def chances(
    so_far: SoFar, ahead: Array, when: Array, target: float, shown: tuple[float, float] | None
) -> Chances:
    """What the checks to come may show.

    Args:
        so_far: the checks that were made.
        ahead: (m,) back pressures of those to come. [kPa]
        when: (paths, m) when they are settled. [s]
        target: B that passes. [-]
        shown: B that the running check shows by now, and how far that counts, both [-]; or None.
    """
    soils, steps = soils_of(so_far), so_far.steps
    # How long each pressure will have held: a night lets more gas dissolve than an hour.
    settled = np.concatenate([[_last_settled(steps)], np.median(when, axis=0)])
    holds = np.maximum(np.diff(settled) - steps.settles_s, 60.0)
    expected = soils.b_ahead(holds, ahead, steps.settles_s)
    if shown is not None and len(ahead):  # the longer a check runs, the more its own B counts
        b, part = shown
        expected[:, 0] += part * (b - expected[:, 0])
    chance = chance_above(expected, target)
    missed = np.cumprod(1 - chance, axis=1)
    before = np.hstack([np.ones((len(chance), 1)), missed[:, :-1]]) if len(ahead) else chance
    middle = soils.weights @ expected
    curve = (*curve_so_far(so_far), *zip(ahead.tolist(), middle.tolist(), strict=True))
    return Chances(soils.weights @ (chance * before), expected, soils.weights, curve)


def _last_settled(steps: Steps) -> float:
    return steps.settled_s[-1] if steps.settled_s else steps.since_s


def why_out_of_reach(so_far: SoFar, ahead: Array, target: float) -> str:
    """What keeps B down: gas that more back pressure would dissolve, or what gives way besides."""
    soils = soils_of(so_far)
    without_gas = 1.0 / (1.0 + float(soils.weights @ soils.c))
    if without_gas < target:
        return (
            f"even without gas B would be about {without_gas:.2f}: lines give way, or the skeleton "
            "is as stiff as water"
        )
    start = float(ahead[-1]) if len(ahead) else max(so_far.pressures_kPa, default=0.0)
    beyond = np.concatenate([ahead, start + so_far.rise_kPa * np.arange(1, 2 * MOST_STEPS)])
    holds = np.full(len(beyond), usual_step_s(so_far.steps))
    middle = soils.weights @ soils.b_ahead(holds, beyond, so_far.steps.settles_s)
    enough = np.flatnonzero(middle >= target)
    if len(enough):
        return f"gas is left; by the trend it needs about {beyond[enough[0]]:.0f} kPa, or more time"
    return "gas is left, and dissolves too slowly"
