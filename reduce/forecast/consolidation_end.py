"""When each possible curve meets the criterion."""

import math

import numpy as np

from reduce.forecast.consolidation_curves import CREEP, LAW_OF, LN_TIME, at_each
from reduce.forecast.drainage_fit import Posterior
from reduce.forecast.endings import Ending
from reduce.forecast.outcome import Array
from reduce.forecast.reading_doubts import PORE_AHEAD, PORE_LENGTH, akin

_END_AHEAD = {"log cycles": 0.03, "dissipation": 0.13, "flow": 0.07}
"""Deviation of ln t by which a specimen is off its curve at its end: fitted on rehearsed tests."""
_FULL_AHEAD = 0.7
"""So far ahead in ln t a degree by volume has lost touch with the newest reading."""
_NODES = np.array([-1.2816, -0.5244, 0.0, 0.5244, 1.2816])
_NODES = _NODES / math.sqrt(float(np.mean(_NODES**2)))


def end_times(fit: Posterior, end: Ending, gauged: bool, volume_ml: float) -> Array:
    """Times since the zero reading at which curves meet the criterion; each counts the same. [s]

    Args:
        fit: the curves of one drainage.
        end: the criterion; not one by the clock.
        gauged: whether pore pressure decides about dissipation.
        volume_ml: of the specimen.
    """
    deviation = _END_AHEAD[end.kind]
    if end.kind == "log cycles":
        ln_end = fit.ln_t50 + fit.family.ln_t100 + end.value * math.log(10)
    elif end.kind == "flow":
        ln_end = fit.ln_t50 + _flow_fallen(fit, end.value / 3600.0 * volume_ml)
    elif not gauged:
        ln_end = fit.ln_t50 + fit.family.degree_reached(end.value)[fit.shape]
        if fit.volume is not None:
            far = float(np.median(ln_end)) - math.log(fit.volume.times[-1])
            deviation *= min(max(far, 0.0) / _FULL_AHEAD, 1.0)
    else:
        ln_end = fit.ln_t50 + fit.family.base_reached(end.value)[fit.shape, fit.place]
        ahead, deviation = _ahead_by_then(fit, math.exp(float(np.median(ln_end))))
        ln_end = ln_end - ahead
    times: Array = np.exp(ln_end) + fit.opened_s
    return np.outer(times, np.exp(deviation * _NODES)).ravel()


def _flow_fallen(fit: Posterior, slow_ml_s: float) -> Array:
    """(n,) ln(t/t50) after which flow stays below so many ml/s; where nothing flows, the first."""
    mine = fit.family.shapes[fit.shape]
    laws = np.take_along_axis(mine, (1 + LAW_OF[fit.creep])[:, None, None], axis=1)[:, 0]
    curves = mine[:, 0] + CREEP[fit.creep][:, None] * laws
    per_ln = np.gradient(curves, LN_TIME, axis=1) * np.nan_to_num(fit.v100)[:, None]
    fast = per_ln > slow_ml_s * np.exp(fit.ln_t50[:, None] + LN_TIME)
    last = fast.shape[1] - 1 - np.argmax(fast[:, ::-1], axis=1)
    found: Array = LN_TIME[np.where(fast.any(axis=1), last, 0)]
    return found


def _ahead_by_then(fit: Posterior, then_s: float) -> tuple[Array, float]:
    """How far measured dissipation runs ahead of each curve, carried on to its end; its deviation.

    What is smooth over ln t does not stop at the newest reading: kriging of the rest that the
    curve leaves, ln t being shifted by a Gaussian process.
    """
    seen = fit.pore
    if seen is None:
        return np.zeros_like(fit.ln_t50), PORE_AHEAD
    times = seen.times
    reach = PORE_AHEAD**2 * seen.slopes * akin(times, np.array([then_s]), PORE_LENGTH)[:, 0]
    weights = seen.whitening @ (seen.whitening.T @ reach)
    rest = seen.values - at_each(fit.family.bases, (fit.shape, fit.place), fit.ln_time(times))
    deviation = math.sqrt(max(PORE_AHEAD**2 - float(reach @ weights), 0.0))
    return rest @ weights, deviation
