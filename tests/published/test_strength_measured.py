"""Strength of measured sets, where the open data lie beside the project; never copied.

Cullinan sand: Kruger, Els and Hamersma (2023), J. Terramechanics 109, 45-62, CC BY 4.0. It has no
published strength: φ′ of each test is worked out by hand from the row of greatest q/p′. Clay:
Aarhus University, multi-rate CU tests, CC BY 4.0, with its table of q max and (q/p′)max.
"""

import csv
import math
from pathlib import Path

import lmfit
import numpy as np
import pytest

from reduce.strength.mohr_coulomb import cohesion_and_angle_pq, phi_at_zero_cohesion
from reduce.strength.of_set import strength_of_set
from reduce.strength.specimens import FailedSpecimen

DATA = Path(__file__).parents[2].parent / "shared/data"
SAND, CLAY = DATA / "cullinan_sand/csv", DATA / "au_clay_rate_triaxial"

pytestmark = pytest.mark.skipif(
    not DATA.exists(), reason="the measured data are not beside the project (../shared/data)"
)

LOOSE = {
    "11_TX13_CD400": (1.320, 32.75),
    "12_TX14_CD600": (1.325, 32.87),
    "13_TX15_CD50": (1.331, 33.00),
}
DENSE = {
    "14_TX16_CD50": (1.672, 40.83),
    "15_TX17_CD100": (1.621, 39.65),
    "16_TX18_CD150": (1.541, 37.81),
}
"""Test: greatest η = q/p′, read off the rows, and φ′ = arcsin(3η/(6 + η)) by hand. [°]"""


def peak(test: str) -> tuple[float, float]:
    """(p′, q) of the row of greatest q/p′."""
    with (SAND / f"{test}.csv").open(encoding="utf-8", newline="") as opened:
        rows = [(float(row["p_prime"]), float(row["q"])) for row in csv.DictReader(opened)]
    return max(rows, key=lambda row: row[1] / row[0])


def drained(tests: dict[str, tuple[float, float]]) -> list[FailedSpecimen]:
    made = []
    for test in tests:
        p, q = peak(test)
        made.append(FailedSpecimen(test, "CD", p + 2.0 * q / 3.0, p - q / 3.0))
    return made


def undrained(name: str, q: float, ratio: float) -> FailedSpecimen:
    """Taken as failing where q/p′ is greatest: their table gives no p′ at q max."""
    p = q / ratio
    return FailedSpecimen(name, "CU", p + 2.0 * q / 3.0, p - q / 3.0)


@pytest.mark.parametrize(("test", "by_hand"), (LOOSE | DENSE).items())
def test_angle_of_each_sand_specimen(test: str, by_hand: tuple[float, float]) -> None:
    p, q = peak(test)
    ratio, angle = by_hand
    assert q / p == pytest.approx(ratio, abs=0.0005)
    found = phi_at_zero_cohesion(p + 2.0 * q / 3.0, p - q / 3.0)
    # Half a digit of η is 0.012°, half a digit of the angle 0.005°
    assert found == pytest.approx(angle, abs=0.017)


def test_loose_sand_has_no_cohesion() -> None:
    found = strength_of_set(drained(LOOSE), criterion="peak_ratio")
    assert found.c_effective_kPa == pytest.approx(0.0, abs=3.0)
    assert found.phi_effective_deg == pytest.approx(32.9, abs=0.2)
    assert found.r is not None
    assert found.r > 0.999
    assert found.misfit is None
    tied = strength_of_set(drained(LOOSE), criterion="peak_ratio", cohesionless=True)
    assert tied.interval is not None
    # Three specimens that agree within a quarter of a degree
    assert tied.interval.phi_deg[1] - tied.interval.phi_deg[0] < 0.5
    assert tied.interval.phi_deg[0] < 32.9 < tied.interval.phi_deg[1]


def test_dense_sand_has_a_curved_envelope_that_a_straight_line_reads_as_cohesion() -> None:
    found = strength_of_set(drained(DENSE), criterion="peak_ratio")
    assert found.c_effective_kPa is not None
    assert found.phi_effective_deg is not None
    assert found.c_effective_kPa > 0.0
    assert found.phi_effective_deg < min(angle for _, angle in DENSE.values())


def test_sand_line_as_lmfit_finds_it() -> None:
    points = np.array([peak(test) for test in LOOSE | DENSE])
    fitted = lmfit.models.LinearModel().fit(points[:, 1], x=points[:, 0], slope=1.0, intercept=0.0)
    sine = 3.0 * fitted.params["slope"].value / (6.0 + fitted.params["slope"].value)
    k = fitted.params["intercept"].value
    found = strength_of_set(drained(LOOSE | DENSE), criterion="peak_ratio")
    assert found.phi_effective_deg == pytest.approx(math.degrees(math.asin(sine)), abs=1e-4)
    cohesion = k * (3.0 - sine) / (6.0 * math.sqrt(1.0 - sine**2))
    assert found.c_effective_kPa == pytest.approx(cohesion, abs=1e-3)


def test_kaolin_of_two_pressures_is_one_line_from_the_origin() -> None:
    """A7, A8 (400 kPa) and F2 (600 kPa), normally consolidated: table of parameters."""
    table = {"A7": (191.826, 0.8063), "A8": (189.765, 0.8033), "F2": (295.157, 0.7989)}
    made = [undrained(name, *row) for name, row in table.items()]
    tied = strength_of_set(made, criterion="peak_ratio", cohesionless=True)
    angles = [cohesion_and_angle_pq(0.0, ratio)[1] for _, ratio in table.values()]
    assert tied.phi_effective_deg is not None
    assert min(angles) < tied.phi_effective_deg < max(angles)
    for one, angle in zip(tied.specimens, angles, strict=True):
        assert one.phi_effective_deg_c0 == pytest.approx(angle, abs=1e-9)
    free = strength_of_set(made, criterion="peak_ratio")
    assert free.interval is not None
    assert free.interval.c_kPa[0] < 0.0 < free.interval.c_kPa[1]
    assert free.misfit is None


def test_speswhite_at_the_published_greatest_deviator() -> None:
    """G1: q max 171.457 kPa at 8.089 %; the published (q/p′)max 0.8649 came later, at more strain
    than the rows at hand, so that it is a bound.
    """
    with (CLAY / "G1_SW400_subset.csv").open(encoding="utf-8", newline="") as opened:
        rows = list(csv.DictReader(opened))
    at = min(rows, key=lambda row: abs(float(row["ShearStrain_pct"]) - 8.089))
    p, q = float(at["p_eff_kPa"]), float(at["q_kPa"])
    assert q == pytest.approx(171.457, abs=0.03)
    found = phi_at_zero_cohesion(p + 2.0 * q / 3.0, p - q / 3.0)
    # 118 rows of cell pressure 870 kPa, u 718.1 kPa: σ′3 = 151.9 kPa, q/(2 σ′3 + q) = 0.3608
    assert found == pytest.approx(21.15, abs=0.02)
    assert found < cohesion_and_angle_pq(0.0, 0.8649)[1]
