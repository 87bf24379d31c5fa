"""The finite volumes of the rehearsal against series, tables and Carrillo."""

import math

import numpy as np
import pytest
from scipy.special import jn_zeros

from reduce.rehearsal.dissipation import SECONDS_PER_YEAR, Dissipation, DrainageName

H, D, CV = 100.0, 50.0, 2.0
CV_MM2_S = CV * 1e6 / SECONDS_PER_YEAR


def at(drainage: DrainageName, degree: float) -> float:
    return Dissipation(H, D, drainage, CV).time_of(degree)


@pytest.mark.parametrize(
    ("degree", "printed"),
    [(0.10, 0.0078), (0.20, 0.0314), (0.30, 0.0707), (0.40, 0.126), (0.50, 0.197), (0.60, 0.286),
     (0.70, 0.403), (0.80, 0.567), (0.90, 0.848), (0.95, 1.129)],
)  # fmt: skip
def test_end_drainage_against_the_printed_time_factors(degree: float, printed: float) -> None:
    """Time factors of a table of university lecture notes (CEG 4012); half a digit and 0.2 %."""
    factor = CV_MM2_S * at("one end", degree) / H**2
    assert factor == pytest.approx(printed, rel=0.002, abs=5e-4)
    both = CV_MM2_S * at("both ends", degree) / (H / 2.0) ** 2
    assert both == pytest.approx(printed, rel=0.002, abs=5e-4)


@pytest.mark.parametrize("degree", [0.05, 0.2, 0.5, 0.8, 0.95, 0.99])
def test_radial_drainage_against_the_bessel_series(degree: float) -> None:
    """U = 1 - Σ 4/β² exp(-β² T), β the zeros of J0: by scipy, a general library."""
    beta = jn_zeros(0, 400)
    factor = CV_MM2_S * at("radial", degree) / (D / 2.0) ** 2
    series = 1.0 - float(np.sum(4.0 / beta**2 * np.exp(-(beta**2) * factor)))
    assert degree == pytest.approx(series, abs=1e-3)


@pytest.mark.parametrize("drainage", ["radial + one end", "radial + both ends"])
def test_combined_drainage_is_the_product(drainage: DrainageName) -> None:
    """Carrillo (1942): what is left is the product of what each direction leaves."""
    ends: DrainageName = "both ends" if "both" in drainage else "one end"
    times = np.array([60.0, 600.0, 3600.0, 20000.0])
    left = 1.0 - Dissipation(H, D, drainage, CV).degree(times)
    product = (1.0 - Dissipation(H, D, ends, CV).degree(times)) * (
        1.0 - Dissipation(H, D, "radial", CV).degree(times)
    )
    assert left == pytest.approx(product, rel=1e-9)


@pytest.mark.parametrize(
    ("drainage", "lambda_"),
    [("one end", 1.0), ("both ends", 4.0), ("radial", 64.0), ("radial + one end", 81.0),
     ("radial + both ends", 100.0)],
)  # fmt: skip
def test_t100_has_the_factors_of_the_standard(drainage: DrainageName, lambda_: float) -> None:
    """BS 1377-8 Table 1 (from memory; 80 there is 81 by its own theory): t100 = π D² / (λ cv)."""
    assert Dissipation(H, D, drainage, CV).t100_s == pytest.approx(
        math.pi * D**2 / (lambda_ * CV_MM2_S), rel=1e-12
    )


def test_root_time_rules_at_fifty_and_ninety_per_cent() -> None:
    """With end drainage t100 = 3.987 t50 = 0.926 t90 (ratios of exact time factors)."""
    clay = Dissipation(H, D, "one end", CV)
    assert clay.t100_s / at("one end", 0.5) == pytest.approx(3.987, abs=0.02)
    assert clay.t100_s / at("one end", 0.9) == pytest.approx(0.926, abs=0.002)


def test_early_consolidation_goes_with_the_root_of_time() -> None:
    clay = Dissipation(H, D, "radial + one end", CV)
    early = clay.degree(np.array([clay.t100_s * 0.001, clay.t100_s * 0.004]))
    assert early[1] / early[0] == pytest.approx(2.0, abs=0.06)


def test_the_undrained_base_lags_behind_and_a_drained_one_is_at_rest() -> None:
    one = Dissipation(H, D, "one end", CV)
    times = np.array([0.0, at("one end", 0.3), at("one end", 0.95)])
    base, mean = one.base(times), 1.0 - one.degree(times)
    assert base[0] == pytest.approx(1.0)
    assert (base[1:] > mean[1:]).all()
    # In the last mode the far end has π/2 times the mean.
    assert base[2] / mean[2] == pytest.approx(math.pi / 2.0, rel=0.01)
    both = Dissipation(H, D, "radial + both ends", CV)
    assert both.base(np.array([0.0, 10.0])).tolist() == [1.0, 0.0]


def test_degree_never_falls_and_ends_at_one() -> None:
    clay = Dissipation(H, D, "radial + one end", CV)
    degrees = clay.degree(np.geomspace(1.0, 1e7, 80))
    assert (np.diff(degrees) >= -1e-12).all()
    assert degrees[-1] == pytest.approx(1.0, abs=1e-9)
