"""Boundaries of drawn tests are told within two readings or two minutes, from what channels there
are, and soon no more changed. The long form is `tests/benchmarks/boundaries.py`."""

from datetime import UTC
from functools import cache

import numpy as np
import pytest
from boundary_grades import Graded, tallies
from drawn import Case, draw
from replayed import rows_of, settings_of
from told import SETS, grades, told

from tui.bench.cell_fold import CellFold
from tui.bench.readings import picked
from tui.feed.rows import Arrivals, Rows

SEEDS = (0, 2, 3, 5, 8, 13, 16, 22, 26, 30, 32, 44, 55, 58, 62, 65, 67, 76, 85, 104, 109, 111, 164)
"""Half of them were told wrongly once: slow shears, large clay specimens, gas that dissolves."""
OFTEN = 0.98
MAY_MISS = 1
"""Of some two dozen boundaries of a kind one is more than two in a hundred."""
AT_LEAST = {("no volumes", "drained"): 0.6, ("no volumes", "consolidation"): 0.9}
"""Pore pressure alone tells it, late where the base does not drain: said on the screen."""
MOVES_S = {
    "mount": 0.0,
    "raise": 300.0,
    "b-check": 300.0,
    "hold": 300.0,
    "build-up": 600.0,
    "drained": 1800.0,
    "dock": 3600.0,
    "ended": 1800.0,
}
"""So long after its first reading a boundary may still be set or moved, at rows a minute apart."""
MOVES_ROWS = 5
"""The same where rows are rarer."""
TOUCH_STRAIN = 0.005
"""A slow shear is told from its noise by this much strain, and its touch is set back. [-]"""


@cache
def drawn(seed: int) -> tuple[Case, Rows]:
    case = draw(seed)
    return case, rows_of(case)


@pytest.mark.parametrize("lacks", SETS)
def test_every_kind_of_boundary_is_told_where_it_was(lacks: str) -> None:
    found: list[Graded] = []
    for seed in SEEDS:
        case, rows = drawn(seed)
        found += grades(case, SETS[lacks], rows)
    for one in tallies(found):
        if one.kind == "hold":
            continue
        if (least := AT_LEAST.get((lacks, one.kind))) is not None:
            assert one.share >= least, one
            continue
        assert one.number - one.within <= max(MAY_MISS, (1.0 - OFTEN) * one.number), one
        assert one.false <= MAY_MISS, one


def test_what_is_older_than_that_never_changes_any_more() -> None:
    """So what was told online is what a second pass over the finished log tells."""
    for seed in SEEDS:
        case, rows = drawn(seed)
        for moved in told(rows, settings_of(case)).moved:
            if moved.kind == "sheared":
                strain = moved.back_s / 60.0 * case.run.rate_percent_min / 100.0
                assert strain <= TOUCH_STRAIN or moved.back_rows <= MOVES_ROWS, (seed, moved)
            else:
                near = moved.back_s <= MOVES_S[moved.kind] or moved.back_rows <= MOVES_ROWS
                assert near, (seed, moved)


@pytest.mark.parametrize("seed", [0, 26, 111])
def test_a_fold_that_is_fed_in_pieces_tells_the_same(seed: int) -> None:
    case, rows = drawn(seed)
    fold = CellFold("C1", "C1", settings_of(case), (), UTC)
    edges = np.unique(np.random.default_rng(seed).integers(1, len(rows), 40))
    for begin, end in zip([0, *edges], [*edges, len(rows)], strict=True):
        fold = fold.take(Arrivals("C1", picked(rows, np.arange(begin, end))))
    assert fold.picture(float(rows.times[-1]), ()).spans == told(rows, settings_of(case)).spans
