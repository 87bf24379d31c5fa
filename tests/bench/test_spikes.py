"""One reading that cannot be right begins no phase, ends none and costs no check."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tui.bench.cell_fold import CellFold
from tui.bench.readings import in_time_order, picked
from tui.feed.rows import Arrivals, Rows
from tui.feed.watch import read_all
from tui.settings.places import Layout, Place, read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"
LAYOUT = read_layout(SAMPLES)
ROWS = {
    arrived.folder: in_time_order(arrived.rows)
    for arrived in read_all(LAYOUT)
    if arrived.rows is not None
}
SIZES = {
    "axial_displacement": (5.0, -5.0, 50.0),
    "axial_load": (300.0, -300.0, 5000.0),
    "cell_pressure": (25.0, -400.0, 1000.0),
    "back_pressure": (25.0, 500.0),
    "pore_pressure": (60.0, -60.0),
    "back_volume": (5.0, -5.0),
}


def place_of(cell: str, layout: Layout = LAYOUT) -> Place:
    return next(place for place in layout.places if place.folder == cell)


def folded(cell: str, rows: Rows, sizes: list[int] | None = None) -> CellFold:
    place = place_of(cell)
    assert place.settings is not None
    fold = CellFold(place.name, place.folder, place.settings, (), LAYOUT.zone)
    edges = [0, *np.cumsum(sizes or []).tolist(), len(rows)]
    for begin, end in pairwise(edges):
        fold = fold.take(Arrivals(cell, picked(rows, np.arange(begin, end))))
    return fold


def told(fold: CellFold) -> tuple[list[tuple[str, str | None]], int]:
    spans = [(span.name, span.step) for span in fold._phases.spans]
    return spans, len(fold._checks.all)


def with_value(rows: Rows, channel: str, at: int, value: float) -> Rows:
    column = rows.channels[channel].copy()
    column[at] = value
    return replace(rows, channels={**rows.channels, channel: column})


@pytest.mark.parametrize("channel", SIZES)
@pytest.mark.parametrize("cell", ["C1", "C2", "C4", "C5"])
def test_a_single_spike_changes_nothing(cell: str, channel: str) -> None:
    """A spike that just undoes a step cannot be told from a step made later: none is so large."""
    rows = ROWS[cell]
    wanted = told(folded(cell, rows))
    chance = np.random.default_rng(20310203)
    for at in chance.choice(np.arange(5, len(rows) - 5), 8, replace=False).tolist():
        for size in SIZES[channel]:
            value = float(rows.channels[channel][at]) + size
            assert told(folded(cell, with_value(rows, channel, at, value))) == wanted, (at, size)


@pytest.mark.parametrize("cell", ["C1", "C2", "C4", "C5"])
@pytest.mark.parametrize("channel", ["cell_pressure", "pore_pressure"])
def test_a_reading_that_is_missing_costs_no_check(cell: str, channel: str) -> None:
    rows = ROWS[cell]
    wanted = told(folded(cell, rows))[1]
    for at in range(5, len(rows) - 5, 3):
        assert told(folded(cell, with_value(rows, channel, at, np.nan)))[1] == wanted, at


def test_a_step_is_told_with_its_first_reading() -> None:
    """Nothing waits for the next reading to show that this one was no spike."""
    rows = ROWS["C1"]
    whole = folded("C1", rows)
    starts = [span.start for span in whole._phases.spans if span.step == "b-check"]
    for start in starts:
        upto = int(np.searchsorted(rows.times, start)) + 1
        now = folded("C1", picked(rows, np.arange(upto)))._phases.phase
        assert now is not None
        assert now.step == "b-check"


@pytest.mark.parametrize("at", [60, 130, 200])
def test_a_spike_is_the_same_in_any_portions(at: int) -> None:
    rows = ROWS["C4"]
    spiked = with_value(rows, "axial_displacement", at, 40.0)
    whole = folded("C4", spiked)
    now = float(rows.times[-1])
    for sizes in ([at], [at + 1], [at - 1, 1, 1, 1], [1] * (len(rows) - 1)):
        assert folded("C4", spiked, sizes).picture(now, ()) == whole.picture(now, ())
