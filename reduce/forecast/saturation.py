"""When a B check will pass: the trend of B against back pressure, at the pace of this cell."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from reduce.errors import require_positive
from reduce.forecast.gas import Soils, chance_above, likely_soils, normal_below
from reduce.forecast.outcome import CONFIDENCE, TAIL, Array, Forecast, columns, lasting
from reduce.forecast.outcome import weighted_quantiles as quantiles

_MOST_STEPS = 24  # looked ahead; more steps than anybody waits for
_B_ABOVE = 1.02  # a larger B is a leak or a zero gone, not saturation: after common practice
_MISFIT = 6.0  # in noises: B goes another way than compressed gas lets it
_NO_REACH = TAIL
_PACE_PART = 0.4  # of the longest time that a step may take: what it takes, common practice
_PACE_DOUBT = 0.7  # of the logarithm of one step's time, before the cell has shown its pace
_REMEMBERED = 256  # checks come hours apart, and are asked about at every reading in between

Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SaturationForecast(Forecast):
    """The forecast with what it expects of B."""

    reach: float | None = None
    """Chance that B reaches its target within the back-pressure limit. [-]"""
    curve: tuple[tuple[float, float], ...] = ()
    """(back pressure [kPa], B [-]) of the fitted soil."""


def _curve(soils: Soils, up_to_kPa: float) -> tuple[tuple[float, float], ...]:
    at = np.linspace(0.0, up_to_kPa, 41)
    middle = soils.weights @ soils.b_at(at)
    return tuple((float(p), float(b)) for p, b in zip(at, middle, strict=True))


def saturation_curve(
    back_pressures_kPa: ArrayLike,
    b_values: ArrayLike,
    *,
    up_to_kPa: float | None = None,
    cell_step_kPa: float = 50.0,
) -> tuple[tuple[float, float], ...]:
    """B against back pressure as the checks so far let expect it, for a plot.

    Args:
        back_pressures_kPa: (n,) of the checks; NaN rows are left out. [kPa]
        b_values: (n,) of the checks. [-]
        up_to_kPa: where the curve ends; 1.5 times the highest back pressure unless given. [kPa]
        cell_step_kPa: rise of cell pressure in a check. [kPa]

    Returns:
        41 points (back pressure [kPa], B [-]); none without a check.

    Raises:
        ReductionError: the columns differ in length.

    Example:
        >>> curve = saturation_curve([50, 100, 150], [0.62, 0.74, 0.84])
        >>> curve[0][0], curve[-1][0]
        (0.0, 225.0)
    """
    pressure, b = columns(back_pressures_kPa, b_values)
    use = np.isfinite(pressure) & np.isfinite(b) & (b <= _B_ABOVE)
    if not use.any():
        return ()
    end = up_to_kPa if up_to_kPa is not None else max(1.5 * float(pressure[use].max()), 100.0)
    return _curve_of_checks(_numbers(pressure[use]), _numbers(b[use]), cell_step_kPa, end)


@lru_cache(maxsize=_REMEMBERED)
def _curve_of_checks(
    pressures: Numbers, b: Numbers, cell_step_kPa: float, end_kPa: float
) -> tuple[tuple[float, float], ...]:
    return _curve(likely_soils(np.array(pressures), np.array(b), cell_step_kPa), end_kPa)


def _numbers(column: Array) -> Numbers:
    return tuple(column.tolist())


def _pressures_to_come(last_kPa: float, step_kPa: float, limit_kPa: float | None) -> Array:
    """Back pressures of the checks that are still to come; the last one stands at the limit."""
    ahead: Array = last_kPa + step_kPa * np.arange(1, _MOST_STEPS + 1, dtype=np.float64)
    if limit_kPa is None:
        return ahead
    below: Array = ahead[ahead <= limit_kPa + 1e-6]
    last = float(below[-1]) if len(below) else last_kPa
    if limit_kPa - last > 0.2 * step_kPa:
        below = np.append(below, limit_kPa)
    return below


def _pace(durations: Array, prior_s: float | None) -> tuple[float, float, float] | None:
    """Time of one step, doubt of it, scatter from step to step, both of its logarithm."""
    known = durations[np.isfinite(durations) & (durations > 0)]
    if len(known) == 0:
        return None if prior_s is None else (_PACE_PART * prior_s, _PACE_DOUBT, 0.2)
    logs = np.log(known)
    # Three steps' worth of belief in a scatter of 20 %, so that two alike do not feign certainty.
    scatter = float(np.sqrt((((logs - logs.mean()) ** 2).sum() + 3 * 0.2**2) / (len(known) + 2)))
    return float(np.exp(np.median(logs))), scatter / np.sqrt(len(known)), scatter


def _when(first_pass: Array, pace: tuple[float, float, float]) -> tuple[float, float, float]:
    """10 %, 50 % and 90 % of the time until the first pass, given the chance of each check."""
    step, doubt, scatter = pace
    numbers = np.arange(1, len(first_pass) + 1)
    spread = np.sqrt(doubt**2 + scatter**2 / numbers)
    times = np.geomspace(step / 8, step * len(numbers) * 8, 600)
    below = normal_below(np.log(times[:, None] / (step * numbers)) / spread)
    chance = below @ (first_pass / first_pass.sum())
    low, middle, high = (float(t) for t in np.interp((TAIL, 0.5, 1 - TAIL), chance, times))
    return low, middle, high


def saturation(
    check_times: ArrayLike,
    back_pressures_kPa: ArrayLike,
    b_values: ArrayLike,
    *,
    now: float,
    target: float,
    cell_step_kPa: float,
    back_pressure_limit_kPa: float | None = None,
    step_durations_s: Sequence[float] = (),
    prior_step_s: float | None = None,
) -> SaturationForecast:
    """When the first B check passes.

    Soils of every gas content and stiffness are weighed by the checks so far (`forecast.gas`).
    Each then gives the chance that the next check passes, the one after it …; together with the
    time that this cell takes for a step they make the interval.

    Args:
        check_times: (n,) settled readings of the checks. [s]
        back_pressures_kPa: (n,) at which they were made. [kPa]
        b_values: (n,) NaN rows are left out; above 1.02 they are no pass and not used. [-]
        now: checks after it are not looked at. [s]
        target: B that passes. [-]
        cell_step_kPa: rise of cell pressure in a check, and of back pressure to the next. [kPa]
        back_pressure_limit_kPa: back pressure does not go beyond; None: no limit. [kPa]
        step_durations_s: from check to check so far. [s]
        prior_step_s: what a step may take at most, as planned; used where none was seen. [s]

    Returns:
        The forecast of the settled reading of the first passing check.

    Raises:
        ReductionError: the columns differ in length, or the step is not above zero.

    Source:
        see `reduce.forecast.gas`; coverage measured in tests/reduce/test_forecast_saturation.py.

    Example:
        >>> found = saturation([0, 7200, 14400], [50, 100, 150], [0.62, 0.77, 0.87], now=14400,
        ...     target=0.95, cell_step_kPa=50, step_durations_s=[7200, 7200])
        >>> 14400 < found.earliest <= found.at <= found.latest
        True
    """
    require_positive("cell step", cell_step_kPa, "kPa")
    time, pressure, b = columns(check_times, back_pressures_kPa, b_values)
    use = np.isfinite(time) & np.isfinite(pressure) & np.isfinite(b) & (time <= now)
    return _of_checks(
        _numbers(time[use]),
        _numbers(pressure[use]),
        _numbers(b[use]),
        target,
        cell_step_kPa,
        back_pressure_limit_kPa,
        tuple(step_durations_s),
        prior_step_s,
    )


@lru_cache(maxsize=_REMEMBERED)
def _of_checks(
    times: Numbers,
    pressures: Numbers,
    b_values: Numbers,
    target: float,
    cell_step_kPa: float,
    back_pressure_limit_kPa: float | None,
    step_durations_s: Numbers,
    prior_step_s: float | None,
) -> SaturationForecast:
    """The same from the checks that count: it does not depend on the moment of asking."""
    time, pressure, b = np.array(times), np.array(pressures), np.array(b_values)
    passed = np.flatnonzero((b >= target) & (b <= _B_ABOVE))
    trusted = b <= _B_ABOVE
    soils = likely_soils(pressure[trusted], b[trusted], cell_step_kPa)
    if len(passed):
        first = int(passed[0])
        met = float(time[first])
        end = max(1.5 * float(pressure.max()), 100.0)
        return SaturationForecast(
            met, met, met, CONFIDENCE, 1.0,
            f"B {b[first]:.2f} at {pressure[first]:.0f} kPa passed", 1.0, _curve(soils, end),
        )  # fmt: skip

    def untold(why: str, reach: float | None, curve: bool) -> SaturationForecast:
        shown = _curve(soils, end) if curve else ()
        return SaturationForecast(None, None, None, None, None, why, reach, shown)

    end = 100.0
    if not trusted.any():
        why = "a first B check" if len(b) == 0 else f"a B check without a leak: B is {b[-1]:.2f}"
        return untold(f"cannot say yet: needs {why}", None, False)
    ahead = _pressures_to_come(float(pressure[-1]), cell_step_kPa, back_pressure_limit_kPa)
    end = max(float(ahead[-1]) if len(ahead) else 0.0, 1.1 * float(pressure.max()))
    if back_pressure_limit_kPa is None:
        end = min(end, max(2 * float(pressure.max()), 300.0))
    if soils.misfit > _MISFIT:
        why = f"B does not follow compressed gas: {b[0]:.2f} … {b[-1]:.2f}; look for a leak or air"
        return untold(f"cannot say yet, because {why} in the lines", None, True)
    expected = soils.b_at(ahead)
    chance = chance_above(expected, target)
    missed = np.cumprod(1 - chance, axis=1)
    first_pass = soils.weights @ (chance * np.hstack([np.ones((len(missed), 1)), missed[:, :-1]]))
    reach = float(first_pass.sum())
    if reach < 0.5:
        limit = "it" if back_pressure_limit_kPa is None else f"{back_pressure_limit_kPa:.0f} kPa"
        last = expected[:, -1] if len(ahead) else soils.b_at(pressure[-1:])[:, -1]
        low, middle, high = quantiles(last, soils.weights, (TAIL, 0.5, 1 - TAIL))
        where = f"at {limit}" if back_pressure_limit_kPa is not None else "in the end"
        sure = "out of reach" if reach < _NO_REACH else f"may be out of reach (chance {reach:.0%})"
        return untold(f"{sure}: B about {middle:.2f} {where} ({low:.2f} … {high:.2f})", reach, True)
    pace = _pace(np.asarray(step_durations_s, dtype=np.float64), prior_step_s)
    counts = np.arange(1, len(first_pass) + 1).astype(np.float64)
    steps = max(round(quantiles(counts, first_pass, (0.5,))[0]), 1)
    words = f"{steps} more step{'s' if steps > 1 else ''} by the trend of {len(b)} check"
    words += "s" if len(b) > 1 else ""
    if pace is None:
        return untold(f"cannot say yet: {words}, but no step's time is known", reach, True)
    early, middle, late = _when(first_pass, pace)
    if reach < 1 - TAIL:
        words += f"; chance {reach:.0%} below the limit"
    return SaturationForecast(
        at=float(time[-1]) + middle,
        earliest=float(time[-1]) + early,
        latest=float(time[-1]) + late,
        confidence=CONFIDENCE,
        progress=len(b) / (len(b) + steps),
        basis=f"{words}, {lasting(pace[0])} each",
        reach=reach,
        curve=_curve(soils, end),
    )
