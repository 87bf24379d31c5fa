"""A forecast of saturation against a bare curve_fit of one parameter to the same two checks."""

import numpy as np
from pairs import Ratio, ratio, seconds
from scipy.optimize import curve_fit

from reduce.forecast import saturation

ROUNDS = 50
TIMES_S, BACK_KPA, B = np.array([7200.0, 14400.0]), np.array([50.0, 100.0]), np.array([0.5, 0.6])
ATMOSPHERE_KPA = 101.325


def falling_gas(back_kPa: np.ndarray, gas: float) -> np.ndarray:
    """B where gas is compressed and nothing dissolves."""
    return np.asarray(1.0 / (1.0 + gas / (back_kPa + ATMOSPHERE_KPA) ** 2))


def measure() -> list[Ratio]:
    """Two checks, no limit of back pressure."""

    def ours() -> None:
        for _ in range(ROUNDS):
            saturation(
                TIMES_S, BACK_KPA, B, now=float(TIMES_S[-1]), target=0.95, cell_step_kPa=50.0,
                back_pressure_limit_kPa=None, since=0.0,
            )  # fmt: skip

    def bare() -> None:
        for _ in range(ROUNDS):
            curve_fit(falling_gas, BACK_KPA, B, p0=[1e4])

    return [
        ratio(
            "forecast of saturation from two checks, against a bare curve_fit",
            lambda: seconds(ours) / ROUNDS,
            lambda: seconds(bare) / ROUNDS,
        )
    ]
