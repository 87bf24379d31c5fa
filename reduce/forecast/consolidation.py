"""When consolidation ends: drainage theory fitted to the volume that left."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from reduce.drainage import degree, t100, time_for
from reduce.errors import ReductionError, require_positive
from reduce.forecast.doubts import why_no_consolidation
from reduce.forecast.drainage_fit import POSSIBLE, Cylinder, Means, Posterior, weigh_curves
from reduce.forecast.endings import Ending, ending
from reduce.forecast.outcome import CONFIDENCE, TAIL, Array, Forecast, columns, lasting
from reduce.forecast.outcome import weighted_quantiles as quantiles
from reduce.forecast.thinning import average_log

_FEWEST = 4
_PARTS = 64  # of log time: 0.1 min to 24 h in steps of 16 %


@dataclass(frozen=True, slots=True)
class ConsolidationForecast(Forecast):
    """The forecast with the curve that it rests on; None where there is none."""

    cv_m2_year: float | None = None
    """Coefficient of consolidation, the even bet. [m²/year]"""
    cv_range_m2_year: tuple[float, float] | None = None
    """Within it with a chance of 80 %. [m²/year]"""
    U_now: float | None = None
    """At the newest reading: as measured by pore pressure, else of the fit. [-]"""
    v0: float | None = None
    """Offset of the volume at the start. [ml]"""
    v100: float | None = None
    """Volume of primary consolidation. [ml]"""
    creep: float | None = None
    """Secondary compression per log cycle of time. [ml]"""
    t50_s: float | None = None
    """Since drainage opened. [s]"""
    t90_s: float | None = None
    """Since drainage opened. [s]"""
    t95_s: float | None = None
    """Since drainage opened. [s]"""
    curve: tuple[tuple[float, float], ...] = ()
    """(time since drainage opened [s], volume out [ml]) of the fit."""


def _means(times: Array, values: Array) -> Means:
    use = np.isfinite(values) & (times > 0)
    time, value, _ = average_log(times[use], values[use], _PARTS)
    return Means(time, value)


def _curve_of(
    fit: Posterior, cylinder: Cylinder, last_s: float, found: ConsolidationForecast
) -> ConsolidationForecast:
    """The fields that describe one curve: that of the median cv under the likeliest drainage."""
    names = sorted(set(fit.drainage))
    mass = [fit.weights[[one == name for one in fit.drainage]].sum() for name in names]
    name = names[int(np.argmax(mass))]
    mine = np.flatnonzero([one == name for one in fit.drainage])
    (middle,) = quantiles(fit.ln_cv[mine], fit.weights[mine], (0.5,))
    at = mine[int(np.argmin(np.abs(fit.ln_cv[mine] - middle)))]
    low, median, high = np.exp(quantiles(fit.ln_cv, fit.weights, (TAIL, 0.5, 1 - TAIL)))
    cell = {
        "cv_m2_year": float(np.exp(middle)),
        "height_mm": cylinder.height_mm,
        "diameter_mm": cylinder.diameter_mm,
    }
    t50, t90, t95 = (time_for(name, U, **cell) for U in (0.5, 0.9, 0.95))
    curve: tuple[tuple[float, float], ...] = ()
    v0, v100 = float(fit.v0[at]), float(fit.v100[at])
    if v100 > 0:
        times = np.concatenate([[0.0], np.geomspace(t50 / 400, max(1.3 * t95, last_s), 60)])
        U = degree(name, times, **cell)
        cycles = np.log10(1 + times / t100(name, **cell))
        out = v0 + v100 * U + float(fit.creep[at]) * U * cycles
        curve = tuple((float(t), float(v)) for t, v in zip(times, out, strict=True))
    return replace(
        found,
        cv_m2_year=float(median),
        cv_range_m2_year=(float(low), float(high)),
        v0=v0 if v100 > 0 else None,
        v100=v100 if v100 > 0 else None,
        creep=float(fit.creep[at]) if v100 > 0 else None,
        t50_s=t50,
        t90_s=t90,
        t95_s=t95,
        curve=curve,
    )


def _met_by_gauge(times: Array, dissipation: Array, wanted: float) -> float | None:
    """When measured dissipation passed for good; None while it has not. [s]"""
    below = np.flatnonzero(dissipation < wanted)
    if len(below) == 0:
        return float(times[0])
    last = int(below[-1])
    if last + 1 >= len(times):
        return None
    two = slice(last, last + 2)
    return float(np.interp(wanted, dissipation[two], times[two]))


def consolidation(
    zero_time: float,
    times: ArrayLike,
    volume_out_ml: ArrayLike,
    *,
    now: float,
    drainage: str | None,
    height_mm: float,
    diameter_mm: float,
    volume_ml: float,
    end: str,
    dissipation: ArrayLike | None = None,
    cv_prior_m2_year: tuple[float, float] | None = None,
) -> ConsolidationForecast:
    """When consolidation meets its criterion.

    The exact series for the drainage is fitted for every cv (`forecast.drainage_fit`); the weights
    of the fits make the interval. Flow that is not consolidation is said to be so, not forecast.

    Args:
        zero_time: the last reading before drainage opened. [s]
        times: (n,) of the readings. [s]
        volume_out_ml: (n,) water that left since the zero; NaN rows are left out. [ml]
        now: readings after it are not looked at. [s]
        drainage: one of `reduce.drainage.DRAINAGES`; None: not stated, all are weighed.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]
        volume_ml: of the specimen. [ml]
        end: "dissipation 95 %", "t100 + 1 log cycle" or a time; see `endings.ending`.
        dissipation: (n,) measured by pore pressure at an undrained end, if it is. [-]
        cv_prior_m2_year: median and factor (of one standard deviation) that cv is expected to have;
            3 m²/year and 30 unless given.

    Returns:
        The forecast, its times on the axis of `times`.

    Raises:
        ReductionError: columns of different lengths, an unknown drainage or end, a dimension that
            is not above zero.

    Source:
        Terzaghi's and Carrillo's series as in `reduce.drainage`; coverage of the interval measured
        against finite volumes in tests/reduce/test_forecast_consolidation.py.

    Example:
        >>> minutes = np.array([1, 4, 9, 16, 25, 36, 49, 64, 81, 100])
        >>> out = [.3756, .7512, 1.1268, 1.5024, 1.8772, 2.2459, 2.5963, 2.9138, 3.1876, 3.4128]
        >>> found = consolidation(0, minutes * 60, out, now=6000, drainage="both ends",
        ...     height_mm=76, diameter_mm=38, volume_ml=86.2, end="dissipation 95 %")
        >>> found.earliest / 60 < 163.03 < found.latest / 60  # cv 5.256 m²/year, t95 163.03 min
        True
    """
    for what, value, unit in (
        ("height", height_mm, "mm"), ("diameter", diameter_mm, "mm"), ("volume", volume_ml, "ml"),
    ):  # fmt: skip
        require_positive(what, value, unit)
    if drainage is not None and drainage not in POSSIBLE:
        raise ReductionError(f"drainage is {drainage!r}; it must be one of: {', '.join(POSSIBLE)}")
    criterion = ending(end)
    measured = np.full(np.shape(times), np.nan) if dissipation is None else dissipation
    time, volume, pore = columns(times, volume_out_ml, measured)
    use = np.flatnonzero(np.isfinite(time) & (time <= now) & (time > zero_time))
    use = use[np.argsort(time[use], kind="stable")]
    time, volume, pore = time[use] - zero_time, volume[use], pore[use]

    cylinder = Cylinder(
        POSSIBLE if drainage is None else (drainage,), height_mm, diameter_mm, volume_ml
    )
    read = np.isfinite(volume) | np.isfinite(pore)
    last_s = float(time[read][-1]) if read.any() else 0.0
    flow, gauge = _means(time, volume), _means(time, pore)
    newest = pore[np.isfinite(pore) & (time >= 0.97 * last_s)]
    gauged = bool(np.isfinite(pore).any())
    U_measured = float(np.clip(np.median(newest), 0.0, 1.0)) if len(newest) else None
    found = ConsolidationForecast(None, None, None, None, None, "", U_now=U_measured)

    fit: Posterior | None = None
    why: str | None = None
    if max(len(flow.times), len(gauge.times)) < _FEWEST:
        count = int(np.isfinite(volume).sum())
        why = f"needs {_FEWEST} readings of volume since drainage opened, has {count}"
    else:
        if len(flow.times) < _FEWEST:
            flow = Means(flow.times[:0], flow.values[:0])
        fit = weigh_curves(cylinder, flow, gauge, cv_prior_m2_year)
        if len(flow.times):
            why = why_no_consolidation(cylinder, flow, fit)
            why = f"because {why}" if why is not None else None
    if why is None and fit is not None:
        found = _curve_of(fit, cylinder, last_s, found)
        if U_measured is None:
            U_now = float(fit.weights @ fit.degree_at(cylinder, last_s))
            found = replace(found, U_now=U_now)

    if criterion.kind == "time":
        at = zero_time + criterion.value
        return replace(
            found, at=at, earliest=at, latest=at, confidence=CONFIDENCE,
            progress=min(last_s / criterion.value, 1.0),
            basis=f"{lasting(criterion.value)} after drainage opened, by the clock",
        )  # fmt: skip
    if criterion.kind == "dissipation" and gauged:
        seen = np.isfinite(pore)
        met = _met_by_gauge(time[seen], pore[seen], criterion.value)
        if met is not None:
            at = zero_time + met
            return replace(
                found, at=at, earliest=at, latest=at, confidence=CONFIDENCE, progress=1.0,
                basis=f"measured dissipation passed {criterion.value:.0%}",
            )  # fmt: skip
    if why is not None or fit is None:
        return replace(found, basis=f"cannot say yet, {why}" if fit else f"cannot say yet: {why}")
    return _told(found, fit, cylinder, criterion, zero_time, last_s, drainage, gauged)


def _told(
    found: ConsolidationForecast,
    fit: Posterior,
    cylinder: Cylinder,
    criterion: Ending,
    zero_time: float,
    last_s: float,
    drainage: str | None,
    gauged: bool,
) -> ConsolidationForecast:
    """The forecast with its times."""
    ends = np.log(fit.end_times(cylinder, criterion, gauged))
    low, middle, high = np.exp(quantiles(ends, fit.weights, (TAIL, 0.5, 1 - TAIL)))
    U_now = found.U_now or 0.0
    done = U_now / criterion.value if criterion.kind == "dissipation" else last_s / middle
    words = f"drainage theory ({drainage or 'drainage not stated: all weighed'}) fitted: "
    words += f"cv {found.cv_m2_year:.2g} m²/year, U {U_now:.2f}"
    if high > 3 * low:
        words += "; still wide, flow has not bent yet" if U_now < 0.6 else "; still wide"
    return replace(
        found,
        at=zero_time + float(middle),
        earliest=zero_time + float(low),
        latest=zero_time + float(high),
        confidence=CONFIDENCE,
        progress=float(min(done, 1.0)),
        basis=words,
    )
