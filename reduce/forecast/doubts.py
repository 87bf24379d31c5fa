"""Whether the flow is consolidation at all, before anybody forecasts its end."""

import math

import numpy as np

from reduce.forecast.consolidation_curves import at
from reduce.forecast.drainage_evidence import Cylinder
from reduce.forecast.drainage_fit import Posterior
from reduce.forecast.outcome import Array, lasting
from reduce.forecast.reading_doubts import Means

_NO_FLOW = 2e-4  # of the specimen's volume
_SOON_S = 120.0
"""Before that a slow specimen may not have let go of anything that a gauge can read. [s]"""
_FEWEST = 6  # means needed to tell a line from a curve
_TOO_MUCH = 0.4  # of the specimen's volume
_STEADY = 0.005
"""Of the specimen's volume: less may flow steadily at first, while stones resist. [-]"""
_OFF = 5.0
"""Mean square of what the best curve leaves, in parts of what is meant: 97 % of rehearsed tests in
order stay below 3 from a tenth of their time on. [-]"""


def why_no_consolidation(
    cylinder: Cylinder, volume: Means, fit: Posterior, rests: tuple[Array, Array]
) -> str | None:
    """What speaks against reading the volumes as consolidation, and what to look for.

    Args:
        cylinder: the specimen.
        volume: volume that left, by log time; not empty.
        fit: the curves weighed by it.
        rests: what they leave, as `Posterior.rests`.

    Returns:
        None where nothing does.
    """
    values, times, flow = volume.values, volume.times, volume.flow
    lasts = float(times[-1])
    if flow < _NO_FLOW * cylinder.volume_ml:
        if lasts < _SOON_S:
            return None
        return (
            f"no water has left yet ({flow:.3f} ml in {lasting(lasts)}): is the valve open, is the "
            "line free?"
        )
    if flow > _TOO_MUCH * cylinder.volume_ml:
        return (
            f"{flow:.3g} ml is more than a specimen of {cylinder.volume_ml:.3g} ml lets go: is the "
            "unit of volume right?"
        )
    if values[-1] < -0.3 * flow or values[-1] - values[0] < -0.3 * flow:
        return (
            f"water flows into the specimen ({-float(values.min()):.2f} ml): does a line leak, did "
            "a pressure change?"
        )
    if len(times) < _FEWEST or lasts <= 5 * times[0]:
        return None
    return _steady(cylinder, volume, fit) or _off_theory(volume, fit, *rests)


def _steady(cylinder: Cylinder, volume: Means, fit: Posterior) -> str | None:
    """Where a straight line over time explains the volumes better than theory does."""
    straight, pace = _line(volume)
    curved = _off_plain_theory(volume, fit)
    if volume.flow < _STEADY * cylinder.volume_ml or straight > 0.4 * curved or pace <= 0.0:
        return None
    return (
        f"flow is steady, {pace * 3600:.2g} ml/h, and not that of consolidation: does a line or "
        "the membrane leak?"
    )


def _off_theory(volume: Means, fit: Posterior, rests: Array, squares: Array) -> str | None:
    """Where the best of all curves leaves more than is meant."""
    best = int(np.argmin(squares))
    if squares[best] < _OFF * rests.shape[1]:
        return None
    misfit = float(np.std(rests[best]))
    residual, drift, done = _best_drift(fit, volume)
    if (
        residual < 0.4 * misfit
        and abs(drift) * volume.times[-1] > 0.15 * volume.flow
        and done > 0.9
    ):
        return (
            f"flow goes on at {drift * 3600:.2g} ml/h where it should fade: does a line or the "
            "membrane leak?"
        )
    return "the volume does not follow drainage theory: did a pressure, valve or gauge change?"


def _line(volume: Means) -> tuple[float, float]:
    """Root mean square off a straight line over time, and its slope. [ml, ml/s]"""
    slope, offset = np.polyfit(volume.times, volume.values, 1)
    rest = volume.values - slope * volume.times - offset
    return float(np.sqrt(np.mean(rest**2))), float(slope)


def _theory(volume: Means, fit: Posterior) -> Array:
    """(k, m) degrees of theory for many t50 around the time so far."""
    ln_t50 = math.log(volume.times[-1]) + np.linspace(-7.0, 4.0, 45)
    plain = fit.family.shapes[fit.family.plain[0], 0]
    return at(plain, np.log(volume.times) - ln_t50[:, None])


def _off_plain_theory(volume: Means, fit: Posterior) -> float:
    """Least root mean square off an offset and plain theory. [ml]"""
    degrees = _theory(volume, fit)
    values = volume.values - volume.values.mean()
    away = degrees - degrees.mean(axis=1, keepdims=True)
    size = np.maximum((away**2).sum(axis=1), 1e-30)
    rest = (values**2).sum() - (away @ values) ** 2 / size
    return math.sqrt(max(float(rest.min()), 0.0) / len(values))


def _best_drift(fit: Posterior, volume: Means) -> tuple[float, float, float]:
    """Residual, drift [ml/s] and U at the last reading of the best theory with a steady flow."""
    best = (np.inf, 0.0, 0.0)
    for degrees in _theory(volume, fit):
        basis = np.column_stack([np.ones_like(degrees), degrees, volume.times])
        solved, *_ = np.linalg.lstsq(basis, volume.values, rcond=None)
        residual = float(np.sqrt(np.mean((volume.values - basis @ solved) ** 2)))
        if residual < best[0]:
            best = (residual, float(solved[2]), float(degrees[-1]))
    return best
