"""Whether the flow is consolidation at all, before anybody forecasts its end."""

import numpy as np

from reduce.drainage import degree_of_factor
from reduce.forecast.drainage_fit import Cylinder, Means, Posterior, floor_of

_NO_FLOW = 2e-4  # of the specimen's volume
_NOT_THEORY = 0.06  # root mean square residual over the flow so far
_FEWEST = 6  # means needed to tell a line from a curve


def _with_drift(volume: Means, degrees: np.ndarray) -> tuple[float, float]:
    """Residual and slope of volume = a + b U + c t; c in ml/s."""
    basis = np.column_stack([np.ones_like(volume.times), degrees, volume.times])
    solved, *_ = np.linalg.lstsq(basis, volume.values, rcond=None)
    rest = volume.values - basis @ solved
    return float(np.sqrt(np.mean(rest**2))), float(solved[2])


def why_no_consolidation(cylinder: Cylinder, volume: Means, fit: Posterior) -> str | None:
    """What speaks against reading the volumes as consolidation; None where nothing does.

    Args:
        cylinder: the specimen.
        volume: volume that left, by log time.
        fit: the curves weighed by it.
    """
    values, times = volume.values, volume.times
    flow = volume.flow
    if flow < _NO_FLOW * cylinder.volume_ml:
        return f"no water has left yet ({flow:.3f} ml)"
    if values[-1] < -0.3 * flow or values[-1] - values[0] < -0.3 * flow:
        return f"water flows into the specimen ({-float(values.min()):.2f} ml)"
    off = fit.misfit > 2.5 * floor_of(volume, cylinder)
    if len(times) >= _FEWEST and times[-1] > 5 * times[0] and off:
        line = np.polyfit(times, values, 1)
        straight = float(np.sqrt(np.mean((values - np.polyval(line, times)) ** 2)))
        if straight < 0.5 * fit.misfit and line[0] > 0:
            return (
                f"flow is steady, {line[0] * 3600:.2g} ml/h, and not that of consolidation: a leak?"
            )
        residual, drift, done = _best_drift(cylinder, volume)
        if residual < 0.4 * fit.misfit and abs(drift) * times[-1] > 0.15 * flow and done > 0.9:
            return f"flow goes on at {drift * 3600:.2g} ml/h where it should fade: a leak?"
    if fit.misfit > _NOT_THEORY * flow:
        return "the volume does not follow drainage theory"
    return None


def _best_drift(cylinder: Cylinder, volume: Means) -> tuple[float, float, float]:
    """Residual, drift [ml/s] and U at the last reading of the best curve with a steady flow."""
    best = (np.inf, 0.0, 0.0)
    for name in cylinder.drainages:
        for rate in cylinder.per_second(np.linspace(np.log(0.01), np.log(1e4), 40)):
            degrees = degree_of_factor(name, rate * volume.times, cylinder.slenderness)
            residual, drift = _with_drift(volume, degrees)
            if residual < best[0]:
                best = (residual, drift, float(degrees[-1]))
    return best
