"""Degree of saturation by B against the table of Black and Lee (1973), from memory.

The pressure of the gas is not printed: the part-saturated columns of the whole table imply 220 to
350 kPa absolute. Within these bounds, and half the last digit of B, S must be the printed one.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from reduce.phase_relations import porosity
from reduce.saturation_degree import saturation_from_b

ROWS = list(
    csv.DictReader(Path(__file__).with_name("saturation_by_b.csv").read_text("utf-8").splitlines())
)
LEAST_KPA, MOST_KPA = 220.0, 350.0
WATER_PER_KPA = 4.8e-7  # as the table has it


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['soil']} {row['saturation']}")
def test_saturation_as_printed(row: dict[str, str]) -> None:
    printed = Decimal(row["B"])
    half_digit = 0.5 * 10.0 ** int(printed.as_tuple().exponent)

    def found(b: float, pressure: float) -> float:
        compressibility = float(row["skeleton_compressibility_per_kPa"])
        n = porosity(float(row["void_ratio"]))
        return saturation_from_b(b, n, compressibility, pressure, WATER_PER_KPA)

    low = found(float(printed) - half_digit, MOST_KPA)
    high = found(float(printed) + half_digit, LEAST_KPA)
    assert low <= float(row["saturation"]) <= high
    assert high - low < 0.01  # bounds that tell something
