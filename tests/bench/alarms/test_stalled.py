"""Saturation whose B stands still though back pressure rises, and what only looks like it."""

from datetime import UTC

import pytest
from scripted import Script, as_rows, settings
from told_alarms import SCHEDULED, followed, of

from tui.bench.cell_fold import CellFold
from tui.feed.rows import Arrivals, LiveRow


def stalls(*b_values: float, late: float = 0.0) -> bool:
    """Whether these checks, each after a step of back pressure, are told as one that stalls.

    Args:
        b_values: one a check.
        late: by how much B still rises in the last check while pore pressure counts as settled.
    """
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for number, b in enumerate(b_values, start=1):
        script.check(b)
        if number == len(b_values):
            script.pore += 50.0 * late
        script.raise_back(10.0 + 50.0 * number)
    found = of(followed(script.rows, cell=SCHEDULED), "saturation-stalled")
    return any(one.reason == "more pressure" for one in found)


@pytest.mark.parametrize(
    ("b_values", "so"),
    [
        ((0.60, 0.60), True),
        ((0.60, 0.59), True),
        ((0.60, 0.63), False),
        ((0.60, 0.80, 0.80), True),
        # Near the target B rises by hardly more than pressures are read to.
        ((0.80, 0.928, 0.932, 0.928), False),
        ((0.80, 0.93, 0.93), False),
        ((0.90, 0.94, 0.935, 0.932, 0.925), True),
        ((0.90, 0.925, 0.925, 0.925, 0.925), False),  # accepted as unchanged after BS 1377-8
        ((0.90, 0.925, 0.93, 0.935, 0.94), False),
    ],
)
def test_b_stands_still_when_it_does_so_for_long_enough(
    b_values: tuple[float, ...], so: bool
) -> None:
    assert stalls(*b_values) is so


def test_a_b_that_rises_in_its_last_reading_does_not_stand_still() -> None:
    assert stalls(0.60, 0.60)
    assert not stalls(0.60, 0.60, late=0.03)


@pytest.mark.parametrize(("drips_ml", "so"), [(0.0, True), (0.01, False)])
def test_one_reading_of_a_volume_gauge_is_no_flow_however_many_live_rows_follow_it(
    drips_ml: float, so: bool
) -> None:
    """Live rows tell pressures: between them a volume is read once in five minutes."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.60)
    script.back += 50.0
    script.row(15)
    fold = CellFold("C1", "C1", settings(log={"rows": "scheduled", "live": "now.csv"}), (), UTC)
    fold = fold.take(Arrivals("C1", as_rows(script.rows)))
    known = {"cell_pressure": script.cell, "back_pressure": script.back}
    volume, began = script.volume, script.now
    for number in range(1, 24):
        script.volume = volume + drips_ml * number + (0.05 if number == 8 else 0.0)
        script.now = began + 300.0 * number
        script.rows.clear()
        script.row()
        fold = fold.take(Arrivals("C1", as_rows(script.rows)))
        for k in range(1, 6):
            values = {**known, "pore_pressure": script.pore + 0.1 * (k % 2)}
            fold = fold.take(Arrivals("C1", live=LiveRow(script.now + 50.0 * k, values)))
    found = of(fold.picture(script.now, ()), "saturation-stalled")
    assert any(one.reason == "blocked" for one in found) is so
