"""Measured shears through the table: strains, deviator, path and failure as they were published.

Sources: Kruger, Els and Hamersma (2023), Cullinan sand, J. Terramechanics 109, 45-62, data set
10.5281/zenodo.17584462 (github RayKruger/cullinan-sand-dataset, CC BY 4.0): 16 tests, thinned.
Aarhus University, multi-rate CU triaxial tests on clay (github kks-AU/triaxial-rate-test-data,
CC BY 4.0): test G1. Both are read where they lie, not copied. They publish strain, q, p′ and void
ratio; the readings that a rig gives are made from these, so that the table has to find them again.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from reduce.columns import Column
from reduce.record import Kind, Piston
from reduce.shearing.failure import Failures, failure_states
from reduce.shearing.stiffness import initial_modulus, secant_modulus_50, tangent_modulus_50
from reduce.shearing.table import ShearSetting, ShearTable, shear_table

DATA = Path(__file__).parents[2].parent / "shared/data"
SAND = sorted((DATA / "cullinan_sand/csv").glob("*.csv"))
CLAY = DATA / "au_clay_rate_triaxial/G1_SW400_subset.csv"
LOOSE = ("TX2", "TX3", "TX4", "TX5", "TX6")
"""Undrained tests that liquefy."""

pytestmark = pytest.mark.skipif(
    not SAND or not CLAY.exists(),
    reason="the open data are not beside this checkout (../shared/data)",
)

BACK = 300.0
AREA, HEIGHT, VOLUME = 3848.5, 140.0, 538.8
PISTON = Piston(20.0, "external", "zeroed at pressure", zeroed_at_kPa=100.0, friction_N=6.0)


def columns(file: Path) -> dict[str, Column]:
    with file.open(encoding="utf-8") as table:
        rows = list(csv.DictReader(table))
    return {name: np.array([float(row[name] or "nan") for row in rows]) for name in rows[0]}


def of_rig(
    kind: Kind, strain: Column, q: Column, mean_effective: Column, volumetric: Column
) -> tuple[ShearSetting, dict[str, Column]]:
    """What a rig would have read; in CU cell pressure stands, in CD pore pressure."""
    if kind == "CU":
        cell = np.full(len(q), mean_effective[0] + BACK)
        pore = cell + q / 3.0 - mean_effective
    else:
        cell = mean_effective + BACK - q / 3.0
        pore = np.full(len(q), BACK)
    lifted = math.pi / 4.0 * 20.0**2 * (cell - 100.0) / 1000.0
    setting = ShearSetting(
        kind,
        "ASTM D4767" if kind == "CU" else "ASTM D7181",
        AREA,
        HEIGHT,
        VOLUME,
        piston=PISTON,
        zero_displacement_mm=3.0,
        zero_back_volume_ml=50.0,
        zero_pore_kPa=float(pore[0]),
    )
    channels = {
        "axial_displacement": 3.0 + strain * HEIGHT,
        "axial_load": q * AREA * (1.0 - volumetric) / (1.0 - strain) / 1000.0 + lifted + 6.0,
        "cell_pressure": cell,
        "back_volume": 50.0 - volumetric * VOLUME,
        "back_pressure": np.full(len(q), BACK),
    }
    if kind == "CU":
        channels["pore_pressure"] = pore
    return setting, channels


def sand(file: Path) -> tuple[Kind, dict[str, Column], ShearTable, Failures]:
    data = columns(file)
    kind: Kind = "CU" if "_CU" in file.name else "CD"
    # the strain is in percent, though its source says "-"
    data["axial_strain"] /= 100.0
    void = data["e"]
    volumetric = (void[0] - void) / (1.0 + void[0])
    data["volumetric"] = np.zeros_like(void) if kind == "CU" else volumetric
    setting, channels = of_rig(
        kind, data["axial_strain"], data["q"], data["p_prime"], data["volumetric"]
    )
    table = shear_table(setting, channels)
    return kind, data, table, failure_states(table, 0.15)


@pytest.mark.parametrize("file", SAND, ids=lambda file: file.stem)
def test_the_published_path_comes_back(file: Path) -> None:
    _, data, table, _ = sand(file)
    np.testing.assert_allclose(table.axial_strain, data["axial_strain"], atol=1e-12)
    np.testing.assert_allclose(table.volumetric_strain, data["volumetric"], atol=1e-12)
    np.testing.assert_allclose(table.deviator_kPa, data["q"], atol=1e-9)
    np.testing.assert_allclose(table.mean_effective_kPa, data["p_prime"], atol=1e-9)
    minor = data["p_prime"] - data["q"] / 3.0
    np.testing.assert_allclose(table.sigma3_effective_kPa, minor, atol=1e-9)
    np.testing.assert_allclose(table.centre_effective_kPa, minor + data["q"] / 2.0, atol=1e-9)


@pytest.mark.parametrize("file", SAND, ids=lambda file: file.stem)
def test_failure_by_hand(file: Path) -> None:
    """The greatest q and σ′1/σ′3 by looking through the published columns."""
    _, data, _, found = sand(file)
    upto = data["axial_strain"] <= 0.15 * (1 + 1e-9)
    peak = found.peak_deviator
    assert peak is not None
    assert peak.deviator_kPa == pytest.approx(data["q"][upto].max())
    ratio = found.peak_ratio
    assert ratio is not None
    assert ratio.ratio is not None
    assert ratio.sigma3_effective_kPa is not None
    # no sand that was ever tested has a friction angle of 60°: noise has any
    assert 1.0 < ratio.ratio < math.tan(math.radians(45.0 + 30.0)) ** 2
    first = data["p_prime"][0] - data["q"][0] / 3.0
    assert ratio.sigma3_effective_kPa > min(0.0999 * first, 10.0)
    if data["axial_strain"].max() >= 0.15:
        limit = found.at_strain_limit
        assert limit is not None
        assert limit.deviator_kPa == pytest.approx(
            np.interp(0.15, data["axial_strain"], data["q"]), abs=0.5
        )


@pytest.mark.parametrize(
    ("name", "eta"),
    [  # greatest q/p′ of the drained tests, worked out apart from this project
        ("TX13", 1.320), ("TX14", 1.325), ("TX15", 1.331),
        ("TX16", 1.672), ("TX17", 1.621), ("TX18", 1.541),
    ],
)  # fmt: skip
def test_greatest_ratio_of_drained_sand(name: str, eta: float) -> None:
    """In compression η = 3 (K − 1)/(K + 2), so that σ′1/σ′3 = K and q/p′ = η peak together."""
    (file,) = (one for one in SAND if f"_{name}_" in one.name)
    ratio = failure_states(sand(file)[2], 1.0).peak_ratio  # they looked through the whole test
    assert ratio is not None
    assert ratio.ratio is not None
    assert 3.0 * (ratio.ratio - 1.0) / (ratio.ratio + 2.0) == pytest.approx(eta, abs=0.00051)


@pytest.mark.parametrize("name", LOOSE)
def test_loose_sand_liquefies_without_breaking_anything(name: str) -> None:
    (file,) = (one for one in SAND if f"_{name}_" in one.name)
    _, data, table, found = sand(file)
    peak = found.peak_deviator
    assert peak is not None
    assert peak.axial_strain is not None
    assert peak.axial_strain < 0.01
    assert not found.still_rising
    spent = table.sigma3_effective_kPa <= 0.1
    if name in ("TX2", "TX4", "TX5"):
        assert (data["p_prime"] < 0.0).sum() > 1000
        assert spent.sum() > 1000
    assert np.isnan(table.ratio[spent]).all()
    assert found.peak_ratio is not None
    assert found.peak_ratio.axial_strain is not None
    assert found.peak_ratio.axial_strain >= peak.axial_strain


@pytest.mark.parametrize("file", SAND, ids=lambda file: file.stem)
def test_moduli_are_those_of_sand(file: Path) -> None:
    """Order of magnitude from any handbook: some to a few hundred MPa; the secant by hand."""
    _, data, table, found = sand(file)
    peak = found.peak_deviator
    secant = secant_modulus_50(table, peak)
    assert peak is not None
    assert peak.row is not None
    half = data["q"][peak.row] / 2.0
    at = int(np.argmax(data["q"] >= half))
    lowest = half / data["axial_strain"][at] / 1000.0
    highest = half / max(data["axial_strain"][at - 1], 1e-9) / 1000.0
    assert secant is not None
    assert lowest * (1 - 1e-12) <= secant <= highest * (1 + 1e-12)
    assert 1.0 < secant < 500.0
    for modulus in (tangent_modulus_50(table, peak), initial_modulus(table, peak)):
        assert modulus is None or 1.0 < modulus < 2000.0


def test_clay_at_changing_rates() -> None:
    """q 171.4 to 171.5 kPa at 8.08 to 8.09 %, where the authors put failure (171.457 kPa, 8.089 %).

    A jump of the rate at 7.585 % left a greater q before, so that the greatest reading is another.
    """
    data = columns(CLAY)
    strain = data["ShearStrain_pct"] / 100.0
    setting, channels = of_rig(
        "CU", strain, data["q_kPa"], data["p_eff_kPa"], np.zeros_like(strain)
    )
    table = shear_table(setting, channels)
    np.testing.assert_allclose(table.mean_effective_kPa, data["p_eff_kPa"], atol=1e-9)
    found = failure_states(table, 0.15)
    peak, there = found.peak_deviator, failure_states(table, 0.08089).at_strain_limit
    assert peak is not None
    assert there is not None
    assert peak.deviator_kPa == pytest.approx(data["q_kPa"].max())
    assert peak.deviator_kPa == pytest.approx(172.55, abs=0.01)
    assert there.deviator_kPa == pytest.approx(171.457, abs=0.03)
    assert found.at_strain_limit is None
    assert found.why is not None
    assert "strain reached 8.12 %" in found.why
    # pressures of the rig: the published excess is what the gauge rose by
    published = data["ExcessPorePressure_kPa"]
    np.testing.assert_allclose(table.excess_pore_kPa, published, atol=1.0)
