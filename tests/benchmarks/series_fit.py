"""The fit of the exact series against a bare curve_fit of the same model from a sensible start."""

import numpy as np
from pairs import Ratio, ratio, seconds
from scipy.optimize import curve_fit

from reduce.drainage import degree, t100
from reduce.series_fit import fit_series

DRAINAGE = "radial + both ends"
CELL = {"height_mm": 76.0, "diameter_mm": 38.0}
ROUNDS = 20


def curve(minutes: np.ndarray, cv: float, start: float, primary: float, creep: float) -> np.ndarray:
    """Change after given times."""
    degrees = degree(DRAINAGE, 60.0 * minutes, cv_m2_year=cv, **CELL)
    end = t100(DRAINAGE, cv_m2_year=cv, **CELL) / 60.0
    return np.asarray(start + primary * degrees + creep * degrees * np.log10(1.0 + minutes / end))


def measure() -> list[Ratio]:
    """200 readings on log time, with scatter."""
    minutes = np.geomspace(0.1, 1440.0, 200)
    noise = np.random.default_rng(1).standard_normal(200)
    change = curve(minutes, 3.0, 0.1, 5.0, 0.15) + 0.005 * noise
    start = [2.0, float(change[0]), float(np.ptp(change)), 0.05]
    bounds = [1e-3, -np.inf, 0.0, 0.0], [1e5, np.inf, np.inf, np.inf]

    def ours() -> None:
        for _ in range(ROUNDS):
            fit_series(minutes, change, drainage=DRAINAGE, **CELL)

    def bare() -> None:
        for _ in range(ROUNDS):
            curve_fit(curve, minutes, change, p0=start)

    def bounded() -> None:
        for _ in range(ROUNDS):
            curve_fit(curve, minutes, change, p0=start, bounds=bounds)

    return [
        ratio(
            "consolidation fitted to 200 readings, against a bare curve_fit",
            lambda: seconds(ours) / ROUNDS,
            lambda: seconds(bare) / ROUNDS,
        ),
        ratio(
            "the same against curve_fit with creep and cv kept above 0",
            lambda: seconds(ours) / ROUNDS,
            lambda: seconds(bounded) / ROUNDS,
        ),
    ]
