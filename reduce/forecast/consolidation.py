"""When consolidation ends: drainage theory fitted to the volume that left."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from reduce.errors import ReductionError, require_positive
from reduce.forecast.consolidation_curves import CREEP, LN_TIME
from reduce.forecast.consolidation_end import end_times
from reduce.forecast.cv_prior import prior_of_set
from reduce.forecast.doubts import why_no_consolidation
from reduce.forecast.drainage_evidence import Cylinder, Evidence
from reduce.forecast.drainage_fit import POSSIBLE, Posterior, weigh_curves
from reduce.forecast.endings import Ending, ending
from reduce.forecast.outcome import CONFIDENCE, TAIL, Array, Forecast, columns, lasting
from reduce.forecast.reading_doubts import Means, offset_of
from reduce.forecast.thinning import average_log

_FEWEST = 4
"""Fewer readings tell no curve: what is expected of cv decides. [-]"""
_WIDE = 3.0
"""Latest over earliest beyond which an interval is called wide. [-]"""
_SOON_S = 120.0
"""Without a reading for so long nothing is known of the opening. [s]"""
_AT_ONCE_S = 30.0
"""A longer gap between the readings around the opening is worth a word. [s]"""
_PARTS = 26  # of log time: 0.1 min to 24 h in steps of 44 %


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
    return Means(*average_log(times[use], values[use], _PARTS))


def _expected(fit: Posterior, found: ConsolidationForecast) -> ConsolidationForecast:
    """The fields about cv: of the curves drawn."""
    low, middle, high = np.exp(np.quantile(fit.ln_cv, (TAIL, 0.5, 1 - TAIL))).tolist()
    return replace(found, cv_m2_year=middle, cv_range_m2_year=(low, high))


def _away(values: Array) -> Array:
    """(n,) squared distance from the median, in their own variance."""
    found: Array = (values - np.median(values)) ** 2 / (np.var(values) + 1e-12)
    return found


def _curve_of(
    fit: Posterior,
    rests: tuple[Array, Array],
    flow: float,
    last_s: float,
    found: ConsolidationForecast,
) -> ConsolidationForecast:
    """The fields that describe one curve: of those near the medians the one that fits best."""
    t50 = float(np.exp(np.median(fit.ln_t50)))
    ln_t90, ln_t95 = (
        float(np.median(fit.ln_t50 + fit.family.degree_reached(U)[fit.shape])) for U in (0.9, 0.95)
    )
    found = replace(
        _expected(fit, found),
        t50_s=t50,
        t90_s=float(np.exp(ln_t90)),
        t95_s=float(np.exp(ln_t95)),
    )
    if fit.volume is None:
        return found
    near = _away(fit.ln_t50) + _away(np.log(fit.v100))
    at = int(np.argmin(np.where(near <= np.quantile(near, 0.1), rests[1], np.inf)))
    v100, opened = float(fit.v100[at]), float(fit.opened_s[at])
    v0 = offset_of(rests[0][at], fit.volume.doubt, flow)
    own_t50, row = float(np.exp(fit.ln_t50[at])), fit.family.volume(fit.shape[at], fit.creep[at])
    since = np.geomspace(own_t50 / 400, max(1.3 * float(np.exp(ln_t95)), last_s), 60)
    out = v0 + v100 * np.interp(np.log(since / own_t50), LN_TIME, row)
    curve = [(0.0, v0), *zip((opened + since).tolist(), out.tolist(), strict=True)]
    return replace(
        found, v0=v0, v100=v100, creep=v100 * float(CREEP[fit.creep[at]]), curve=tuple(curve)
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
    head_kPa: float = 100.0,
    cv_of_set_m2_year: Sequence[float] = (),
) -> ConsolidationForecast:
    """When consolidation meets its criterion.

    Curves of drainage theory, and smooth ways off it, are weighed by the readings
    (`forecast.drainage_fit`); their ends make the interval. Before there are readings what is
    expected of cv makes it. Flow that is not consolidation is said to be so, not forecast.

    Args:
        zero_time: the last reading before drainage opened. [s]
        times: (n,) of the readings. [s]
        volume_out_ml: (n,) water that left since the zero; NaN rows are left out. [ml]
        now: readings after it are not looked at. [s]
        drainage: one of `reduce.drainage.DRAINAGES`; None: not stated, all are weighed.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]
        volume_ml: of the specimen. [ml]
        end: "dissipation 95 %", "t100 + 1 log cycle", "flow 0.1 %/h" or a time; see
            `endings.ending`.
        dissipation: (n,) measured by pore pressure at an undrained end, if it is. [-]
        head_kPa: the pore pressure that dissipates, against which errors of zero count.
        cv_of_set_m2_year: of the other specimens of its set; empty: soils at large.

    Returns:
        The forecast, its times on the axis of `times`.

    Raises:
        ReductionError: columns of different lengths, an unknown drainage or end, a dimension that
            is not above zero.

    Source:
        Terzaghi's and Carrillo's series as in `reduce.drainage`; coverage of the interval measured
        against finite volumes in tests/reduce/test_forecast_consolidation.py, and on rehearsed
        tests of other physics in tests/campaign.

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

    read = np.isfinite(volume) | np.isfinite(pore)
    last_s = float(time[read][-1]) if read.any() else 0.0
    opened_by = float(time[read][0]) if read.any() else _SOON_S
    count = max(int(np.isfinite(column).sum()) for column in (volume, pore))
    cylinder = Cylinder(
        POSSIBLE if drainage is None else (drainage,), height_mm, diameter_mm, volume_ml
    )
    evidence = Evidence(
        _means(time, volume), _means(time, pore), head_kPa, opened_by,
        prior_of_set(cv_of_set_m2_year),
    )  # fmt: skip
    fits = weigh_curves(cylinder, evidence)
    newest = pore[np.isfinite(pore) & (time >= 0.97 * last_s)]
    U_measured = float(np.clip(np.median(newest), 0.0, 1.0)) if len(newest) else None
    found = ConsolidationForecast(None, None, None, None, None, "", U_now=U_measured)
    flow = evidence.volume
    rests = fits[0].rests()
    why = None
    if len(flow.times):
        why = why_no_consolidation(cylinder, flow, fits[0], rests)
    elif count == 0 and now > zero_time + _SOON_S:
        why = "neither volume nor pore pressure was read since drainage opened"
    told = count >= _FEWEST
    if why is None and count == 0:
        found = _expected(fits[0], found)
    elif why is None and told:
        found = _curve_of(fits[0], rests, flow.flow, last_s, found)
        if U_measured is None:
            degrees = np.concatenate([fit.degree_at(last_s) for fit in fits])
            found = replace(found, U_now=float(degrees.mean()))

    if criterion.kind == "time":
        return _by_clock(found, criterion.value, zero_time, opened_by, last_s)
    seen = np.isfinite(pore)
    if criterion.kind == "dissipation" and seen.any():
        met = _met_by_gauge(time[seen], pore[seen], criterion.value)
        if met is not None:
            at = zero_time + met
            return replace(
                found, at=at, earliest=at, latest=at, confidence=CONFIDENCE, progress=1.0,
                basis=f"measured dissipation passed {criterion.value:.0%}",
            )  # fmt: skip
    if why is not None:
        return replace(found, basis=f"cannot say yet, because {why}")
    ends = [end_times(fit, criterion, bool(seen.any()), volume_ml) for fit in fits]
    low, middle, high = np.quantile(np.concatenate(ends), (TAIL, 0.5, 1 - TAIL)).tolist()
    return replace(
        found,
        at=zero_time + middle,
        earliest=zero_time + low,
        latest=zero_time + high,
        confidence=CONFIDENCE,
        progress=_progress(found.U_now, criterion, last_s / middle) if told else None,
        basis=_basis(found, evidence, told, high / low, drainage),
    )


def _progress(U_now: float | None, criterion: Ending, passed: float) -> float:
    """How much is done: of the degree that is wanted, else of the time."""
    done = (U_now or 0.0) / criterion.value if criterion.kind == "dissipation" else passed
    return float(min(done, 1.0))


def _basis(
    found: ConsolidationForecast, evidence: Evidence, told: bool, ratio: float, drainage: str | None
) -> str:
    """What a forecast rests on, in words."""
    count = max(int(means.numbers.sum()) for means in (evidence.volume, evidence.pore))
    if not told:
        readings = "1 reading" if count == 1 else f"{count or 'no'} readings"
        return f"prior: {evidence.prior.words}; {readings} since drainage opened"
    words = f"drainage theory ({drainage or 'drainage not stated: all weighed'}) fitted to "
    words += f"{count} readings: cv {found.cv_m2_year:.2g} m²/year, U {found.U_now or 0.0:.2f}"
    if ratio > _WIDE:
        bent = (found.U_now or 0.0) >= 0.6
        words += "; still wide" if bent else "; still wide, flow has not bent yet"
        words += f", so it leans on the {evidence.prior.words}"
    return words


def _by_clock(
    found: ConsolidationForecast, lasts_s: float, zero_s: float, opened_by_s: float, last_s: float
) -> ConsolidationForecast:
    """The end by the clock, which began between the zero reading and the one after it."""
    at = zero_s + lasts_s
    words = f"{lasting(lasts_s)} after drainage opened, by the clock"
    if opened_by_s > _AT_ONCE_S:
        words += f"; it opened between two readings {lasting(opened_by_s)} apart"
    return replace(
        found, at=at + opened_by_s / 2, earliest=at, latest=at + opened_by_s,
        confidence=CONFIDENCE, progress=min(last_s / lasts_s, 1.0), basis=words,
    )  # fmt: skip
