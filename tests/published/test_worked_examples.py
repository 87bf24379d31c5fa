"""Each formula against worked examples: one table a source, `worked_*.csv`.

A row names a public function of `reduce` (and, after a dot, a part of its answer), its inputs, the
answer as it is printed, and where that comes from. Tolerance: half the last printed digit.

`standing` says how good the answer is: "printed" (found in public text), "from memory" (not
confirmed against the text), "from printed volumes", or "recomputed: no published answer" (worked
out once by other code than ours: it pins the arithmetic, not the method).
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

import reduce

ROWS = [
    row
    for table in sorted(Path(__file__).parent.glob("worked_*.csv"))
    for row in csv.DictReader(table.read_text("utf-8").splitlines())
]
STANDINGS = {"printed", "from memory", "from printed volumes", "recomputed: no published answer"}


def test_every_row_says_where_it_comes_from() -> None:
    assert len(ROWS) > 80
    for row in ROWS:
        assert row["source"]
        assert row["place"]
        assert row["standing"] in STANDINGS, row
    independent = {row["source"] for row in ROWS if row["standing"].startswith(("printed", "from"))}
    assert len(independent) >= 10


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['source'][:20]} {row['quantity']}")
def test_answer_as_printed(row: dict[str, str]) -> None:
    function, _, part = row["quantity"].partition(".")
    pairs = (pair.split("=") for pair in row["inputs"].split(";"))
    answer = getattr(reduce, function)(**{name.strip(): float(value) for name, value in pairs})
    if part:
        answer = getattr(answer, part)
    printed = Decimal(row["expected"])
    half_digit = 0.5 * 10.0 ** int(printed.as_tuple().exponent)
    assert answer == pytest.approx(float(printed), rel=0.0, abs=half_digit * (1 + 1e-9))
