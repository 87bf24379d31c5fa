"""Conversion factors against NIST SP 811 (2008), appendix B.8, as printed (from memory).

Tolerance: half the last printed digit. Every entry is also compared with `pint`, somebody else's
code, in tests/reduce/test_units.py.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from reduce.units import scale

TABLE = list(
    csv.DictReader(Path(__file__).with_name("unit_factors.csv").read_text("utf-8").splitlines())
)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["unit"])
def test_factor_as_printed(row: dict[str, str]) -> None:
    printed = Decimal(row["factor"])
    half_digit = Decimal(5).scaleb(int(printed.as_tuple().exponent) - 1)
    assert abs(Decimal(scale(row["unit"], row["si_unit"])) - printed) <= half_digit
