"""When a B check will pass: gas that dissolves as back pressure rises, at the pace of this cell."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reduce.errors import require_positive
from reduce.forecast.outcome import CONFIDENCE, TAIL, Array, Forecast, columns, lasting
from reduce.forecast.outcome import weighted_quantiles as quantiles
from reduce.forecast.pace import Steps, Stretches, checks_ahead, usual_step_s
from reduce.forecast.reach import (
    B_ABOVE,
    Chances,
    Numbers,
    SoFar,
    chances,
    curve_so_far,
    pressures_to_come,
    soils_of,
    why_out_of_reach,
)

_SINKS = 0.06  # B of the last check below that of an earlier one by so much: not compressed gas
_MISFIT = 8.0  # in noises: B goes another way than compressed gas lets it
_NO_REACH = TAIL
_CHECK_S = 1500.0  # a check, where it was not seen


@dataclass(frozen=True, slots=True)
class SaturationForecast(Forecast):
    """The forecast with what it expects of B."""

    reach: float | None = None
    """Chance that B reaches its target within the back-pressure limit. [-]"""
    steps_left: int | None = None
    """Checks until one passes, the even bet."""
    back_pressure_kPa: float | None = None
    """At which B passes, the even bet. [kPa]"""
    curve: tuple[tuple[float, float], ...] = ()
    """(back pressure [kPa], B [-]) of the checks so far and of those to come, as the soils that
    could be in the cell let expect them."""


def saturation(
    check_times: ArrayLike,
    back_pressures_kPa: ArrayLike,
    b_values: ArrayLike,
    *,
    now: float,
    target: float,
    cell_step_kPa: float,
    since: float,
    began: ArrayLike | None = None,
    back_pressure_limit_kPa: float | None = None,
    limited_by: str = "the back-pressure limit",
    level_kPa: float | None = None,
    running_since: float | None = None,
    running_b: float | None = None,
    prior_step_s: float | None = None,
    attended: Stretches | None = None,
) -> SaturationForecast:
    """When the first B check passes.

    Soils of every gas content, stiffness and pace of dissolving are weighed by the checks so far
    (`forecast.gas`). Each then gives the chance that the next check passes, the one after it …;
    together with the time that this cell takes for a step, and the hours at which somebody is
    there (`forecast.pace`), they make the interval. Before the first check it is the priors'.

    Args:
        check_times: (n,) settled readings of the checks. [s]
        back_pressures_kPa: (n,) at which they were made. [kPa]
        b_values: (n,) NaN rows are left out; above 1.02 they are no pass and not used. [-]
        now: checks after it are not looked at. [s]
        target: B that passes. [-]
        cell_step_kPa: rise of cell pressure in a check, and of back pressure to the next. [kPa]
        since: when back pressure was first raised. [s]
        began: (n,) when cell pressure was raised; as it is usual unless given. [s]
        back_pressure_limit_kPa: back pressure does not go beyond; None: no limit. [kPa]
        limited_by: whose limit that is, in words.
        level_kPa: back pressure now. [kPa]
        running_since: when the check that has no settled reading yet began. [s]
        running_b: what B it shows by now. [-]
        prior_step_s: what a step may take at most, as planned; used where none was seen. [s]
        attended: when somebody is there, from before `since` until days ahead; None: always. [s]

    Returns:
        The forecast of the settled reading of the first passing check.

    Raises:
        ReductionError: the columns differ in length, or the step is not above zero.

    Source:
        see `reduce.forecast.gas`; coverage measured in tests/reduce/test_forecast_saturation.py and
        tests/benchmarks/forecast.py.

    Example:
        >>> found = saturation([7200, 14400, 21600], [50, 100, 150], [0.62, 0.77, 0.87], now=21600,
        ...     target=0.95, cell_step_kPa=50, since=0)
        >>> 21600 < found.earliest <= found.at <= found.latest
        True
    """
    require_positive("cell step", cell_step_kPa, "kPa")
    given = check_times if began is None else began
    time, begun, pressure, b = columns(check_times, given, back_pressures_kPa, b_values)
    if began is None:
        begun = np.maximum(time - _CHECK_S, np.concatenate([[since], time])[: len(time)])
    use = np.isfinite(time) & np.isfinite(pressure) & np.isfinite(b) & (time <= now)
    steps = Steps(_numbers(time[use]), _numbers(begun[use]), since, prior_step_s, attended)
    so_far = SoFar(steps, _numbers(pressure[use]), _numbers(b[use]), cell_step_kPa)
    met = _met(so_far, target)
    if met is not None:
        return met
    why = _why_not(so_far)
    if why is not None:
        return _untold(f"cannot say yet, because {why}")
    ahead = pressures_to_come(so_far, level_kPa, back_pressure_limit_kPa, running_since)
    when = checks_ahead(steps, now, len(ahead), running_since)
    shown = None
    if running_since is not None and running_b is not None:
        shown = (running_b, min((now - running_since) / steps.settles_s, 1.0))
    chance = chances(so_far, ahead, when, target, shown)
    if len(ahead) == 0 or chance.reach < 0.5:
        return _out_of_reach(so_far, chance, ahead, target, limited_by, back_pressure_limit_kPa)
    return _told(so_far, chance, ahead, when)


def _met(so_far: SoFar, target: float) -> SaturationForecast | None:
    for time, back, b in zip(so_far.steps.settled_s, so_far.pressures_kPa, so_far.b, strict=True):
        if target <= b <= B_ABOVE:
            words = f"B {b:.2f} at {back:.0f} kPa passed"
            return SaturationForecast(
                time, time, time, CONFIDENCE, 1.0, words, 1.0, 0, back, curve_so_far(so_far)
            )
    return None


def _why_not(so_far: SoFar) -> str | None:
    """What speaks against reading the checks as gas that dissolves; None where nothing does."""
    if so_far.b and not so_far.trusted:
        return f"it needs a B check without a leak: B is {so_far.b[-1]:.2f}"
    trusted = [so_far.b[i] for i in so_far.trusted]
    if len(trusted) >= 2 and trusted[-1] < max(trusted) - _SINKS:
        return (
            f"B sinks, {max(trusted):.2f} … {trusted[-1]:.2f}, while back pressure rises; "
            "look for a leak, or air in the lines"
        )
    if soils_of(so_far).misfit > _MISFIT:
        shown = f"{trusted[0]:.2f} … {trusted[-1]:.2f}"
        return f"B does not follow compressed gas: {shown}; look for a leak, or air in the lines"
    return None


def _untold(why: str, chance: Chances | None = None) -> SaturationForecast:
    reach, curve = (None, ()) if chance is None else (chance.reach, chance.curve)
    return SaturationForecast(None, None, None, None, None, why, reach, None, None, curve)


def _out_of_reach(
    so_far: SoFar,
    chance: Chances,
    ahead: Array,
    target: float,
    limited_by: str,
    limit_kPa: float | None,
) -> SaturationForecast:
    where = f"at {limited_by} of {limit_kPa:.0f} kPa" if limit_kPa is not None else "in the end"
    if len(ahead):
        last = chance.expected[:, -1]
        low, middle, high = quantiles(last, chance.weights, (TAIL, 0.5, 1 - TAIL))
        b = f"B about {middle:.2f} {where} ({low:.2f} … {high:.2f})"
    else:
        b = f"B is {so_far.b[-1]:.2f} {where}" if so_far.b else f"no step is left {where}"
    b += f"; {why_out_of_reach(so_far, ahead, target)}"
    if chance.reach < _NO_REACH:
        return _untold(f"out of reach: {b}", chance)
    return _untold(f"may be out of reach (chance {chance.reach:.0%}): {b}", chance)


def _told(so_far: SoFar, chance: Chances, ahead: Array, when: Array) -> SaturationForecast:
    counts = np.arange(1, len(ahead) + 1).astype(np.float64)
    steps = max(round(quantiles(counts, chance.first_pass, (0.5,))[0]), 1)
    weights = np.broadcast_to(chance.first_pass / len(when), when.shape)
    early, middle, late = quantiles(when.ravel(), weights.ravel(), (TAIL, 0.5, 1 - TAIL))
    number = len(so_far.b)
    rests_on = (
        f"by gas dissolving, {number} check{'s' if number > 1 else ''}"
        if number
        else ("prior: no check yet")
    )
    words = f"{steps} more step{'s' if steps > 1 else ''} to about {ahead[steps - 1]:.0f} kPa"
    words += f" ({rests_on}), {lasting(usual_step_s(so_far.steps))} each"
    if so_far.steps.attended is not None:
        words += ", in attended hours"
    if chance.reach < 1 - TAIL:
        words += f"; chance {chance.reach:.0%} below the limit"
    return SaturationForecast(
        at=middle,
        earliest=early,
        latest=late,
        confidence=CONFIDENCE,
        progress=number / (number + steps),
        basis=words,
        reach=chance.reach,
        steps_left=steps,
        back_pressure_kPa=float(ahead[steps - 1]),
        curve=chance.curve,
    )


def _numbers(column: Array) -> Numbers:
    return tuple(column.tolist())
