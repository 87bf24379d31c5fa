"""Strength of sets against worked examples: `strength_sets.csv`, a row an answer.

Stresses in any one unit (c comes out in it). Tolerance: half the last printed digit, unless the
row says why the source's own answer is coarser. `standing` as in `test_worked_examples.py`.
"""

import csv
import math
from decimal import Decimal
from pathlib import Path

import pytest

from reduce.shearing.area import corrected_area_drained, corrected_area_undrained, deviator
from reduce.specimen import cylinder_area, cylinder_volume
from reduce.strength.envelope import Envelope
from reduce.strength.mohr_coulomb import cohesion_and_angle_pq, phi_at_zero_cohesion
from reduce.strength.of_set import SetStrength, strength_of_set
from reduce.strength.sets_of_tests import sets_for_angle, sets_for_undrained_strength
from reduce.strength.specimens import FailedSpecimen

ROWS = list(
    csv.DictReader(Path(__file__).with_name("strength_sets.csv").read_text("utf-8").splitlines())
)
STANDINGS = {"printed", "from memory", "recomputed: no published answer"}


def numbers(text: str) -> list[float]:
    return [float(part) for part in text.split(";") if part]


def specimens(kind: str, cell: list[float], q: list[float], u: list[float]) -> list[FailedSpecimen]:
    made = []
    for index, (sigma3, difference) in enumerate(zip(cell, q, strict=True)):
        pore = u[index] if u else 0.0
        effective = {
            "sigma1_effective_kPa": sigma3 + difference - pore,
            "sigma3_effective_kPa": sigma3 - pore,
        }
        total = {"sigma1_total_kPa": sigma3 + difference, "sigma3_total_kPa": sigma3}
        stresses = {"CU": effective | total, "CD": effective, "UU": total}[kind]
        made.append(FailedSpecimen(f"S{index + 1}", kind, **stresses))  # type: ignore[arg-type]
    return made


def told(found: SetStrength, quantity: str, total: tuple[float, float]) -> float | None:
    if quantity == "phi_c0":
        return found.specimens[0].phi_effective_deg_c0
    if quantity == "phi_total_c0":
        return phi_at_zero_cohesion(*total)
    if quantity.endswith("_mohr_tangent"):
        tangent = found.methods.mohr_tangent
        assert isinstance(tangent, Envelope)
        return tangent.c_kPa if quantity.startswith("c") else tangent.phi_deg
    return float(getattr(found, quantity))


def test_every_row_says_where_it_comes_from() -> None:
    for row in ROWS:
        assert row["source"]
        assert row["place"]
        assert row["standing"] in STANDINGS, row
        assert bool(row["tolerance"]) == bool(row["why"]), row
    assert len({row["case"] for row in ROWS if not row["standing"].startswith("recomp")}) >= 12
    assert len({row["source"] for row in ROWS if row["standing"] == "printed"}) >= 5


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['case']} {row['quantity']}")
def test_answer_as_published(row: dict[str, str]) -> None:
    cell, q, pore = numbers(row["sigma3"]), numbers(row["deviator"]), numbers(row["pore"])
    option = {row["option"]: True} if row["option"] else {}
    found = strength_of_set(
        specimens(row["kind"], cell, q, pore),
        criterion="peak_deviator",
        **option,  # type: ignore[arg-type]
    )
    printed = Decimal(row["expected"])
    tolerance = float(row["tolerance"] or 0.5 * 10.0 ** int(printed.as_tuple().exponent))
    answer = told(found, row["quantity"], (cell[0] + q[0], cell[0]))
    assert answer == pytest.approx(float(printed), rel=0.0, abs=tolerance * (1 + 1e-9))


def test_from_loads_to_strength() -> None:
    """Craig, Soil Mechanics, ch. 4: 38 mm by 76 mm, cell pressure 200, 400, 600 kPa.

    Loads, shortenings and volume changes as printed in a public assignment (scribd.com, document
    621632128). Answers from memory: cu = 85, φu = 0; c′ = 0, φ′ = 27°.
    """
    area, volume = cylinder_area(38.0), cylinder_volume(38.0, 76.0)
    cell = [200.0, 400.0, 600.0]

    undrained = []
    for load, shortening in ((222.0, 9.83), (215.0, 10.06), (226.0, 10.28)):
        undrained.append(deviator(load, corrected_area_undrained(area, shortening / 76.0)))
    found = strength_of_set(specimens("UU", cell, undrained, []), criterion="peak_deviator")
    assert found.undrained_strength_kPa == pytest.approx(85.0, abs=0.5)
    assert found.phi_total_deg == pytest.approx(0.0, abs=0.5)
    assert found.c_effective_kPa is found.phi_effective_deg is None

    drained = []
    for load, shortening, drop in ((403.0, 10.81, 6.6), (848.0, 12.26, 8.2), (1265.0, 14.17, 9.5)):
        now = corrected_area_drained(area, shortening / 76.0, drop * 1000.0 / (volume))
        drained.append(deviator(load, now))
    found = strength_of_set(
        specimens("CD", cell, drained, []), criterion="peak_deviator", c_not_negative=True
    )
    assert found.c_effective_kPa == 0.0
    # 27.4° when it is computed; 27° is read off drawn circles
    assert found.phi_effective_deg == pytest.approx(27.0, abs=0.5)
    assert found.c_total_kPa is None


@pytest.mark.parametrize(
    ("soil", "ratio", "angle"),
    [
        ("London clay", 0.89, 23),
        ("kaolin", 1.00, 25),
        ("glacial till", 1.18, 29),
        ("river sand", 1.28, 32),
        ("decomposed granite", 1.59, 39),
        ("carbonate sand", 1.65, 40),
    ],
)
def test_angle_of_critical_state_lines(soil: str, ratio: float, angle: float) -> None:
    """Atkinson, The Mechanics of Soils and Foundations, table of critical state parameters (from
    memory). Half a degree, and what half a digit of M is worth.
    """
    rounding = cohesion_and_angle_pq(0.0, ratio + 0.005)[1] - cohesion_and_angle_pq(0.0, ratio)[1]
    _, found = cohesion_and_angle_pq(0.0, ratio)
    assert found == pytest.approx(angle, abs=0.5 + rounding)
    assert math.sin(math.radians(found)) == pytest.approx(3 * ratio / (6 + ratio), rel=1e-12)


@pytest.mark.parametrize(
    ("r", "sets"),
    [
        (0.90, (4, 3, 2)),
        (0.95, (4, 3, 2)),
        (0.951, (3, 2, 1)),
        (0.979, (3, 2, 1)),
        (0.98, (2, 1, 1)),
        (1.0, (2, 1, 1)),
    ],
)
def test_sets_for_the_angle(r: float, sets: tuple[int, int, int]) -> None:
    """EN 1997-2, annex P, by way of a digest: r ≤ 0.95, between, ≥ 0.98."""
    assert sets_for_angle(r) == sets


@pytest.mark.parametrize(
    ("ratio", "sets"),
    [
        (1.0, (3, 2, 1)),
        (1.25, (3, 2, 1)),
        (1.26, (4, 3, 2)),
        (2.0, (4, 3, 2)),
        (2.01, (6, 4, 3)),
    ],
)
def test_sets_for_undrained_strength(ratio: float, sets: tuple[int, int, int]) -> None:
    """EN 1997-2, annex P, by way of a digest: greatest over least ≤ 1.25, to 2, above."""
    assert sets_for_undrained_strength(40.0 * ratio, 40.0) == sets
