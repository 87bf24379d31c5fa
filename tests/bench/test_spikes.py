"""One reading that cannot be right begins no phase, ends none and costs no check."""

from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scripted import settings, whole_test

from tui.bench.aims import aims_of
from tui.bench.cell_fold import CellFold
from tui.bench.readings import Reading, in_time_order, picked
from tui.bench.steps import Begun
from tui.bench.telling import Telling
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
    fold = CellFold(place.name, place.folder, place.settings, (), LAYOUT.zone, judges=False)
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


WHOLE = whole_test()


def spans_and_zeros(rows: list[Reading]) -> list[object]:
    telling = Telling(aims_of(settings()), ())
    for row in rows:
        telling.add(row)
    told = telling.phases.told
    zeros = (told.zero_consolidation, told.zero_strain)
    return [*told.spans, *(zero and zero.time for zero in zeros), len(telling.checks.all)]


@dataclass(frozen=True)
class Stray:
    """Some rows of one channel that lie elsewhere, in the middle of a step, and what they begin."""

    reason: str
    step: str
    channel: str
    by: float
    rows: int = 1
    then: str | None = None
    """Phase that begins with the first of them; None: nothing is told otherwise."""


STRAYS = [
    Stray("cell pressure was let go", "shear", "cell_pressure", -400.0, 2, "ended"),
    Stray("a cell pressure fails once", "shear", "cell_pressure", -400.0),
    Stray("the ram went back", "shear", "axial_displacement", -2.0, 2, "ended"),
    Stray("travel fails once", "shear", "axial_displacement", -2.0),
    Stray("travel fails once, by less than a step", "shear", "axial_displacement", -0.3),
    Stray("travel reads too much once", "shear", "axial_displacement", 20.0),
    Stray("the ram was driven", "drained", "axial_displacement", 1.0, 2, "shear"),
    Stray("travel reads too much once", "drained", "axial_displacement", 1.0),
    Stray("a load that is just enough, once", "drained", "axial_load", 9.0),
    Stray("a large load once", "drained", "axial_load", 900.0),
    Stray("cell pressure was raised", "drained", "cell_pressure", 60.0, 2, "consolidation"),
    Stray("a cell pressure reads too much once", "drained", "cell_pressure", 60.0),
    Stray("drainage was opened", "build-up", "back_volume", -0.3, 2, "consolidation"),
    Stray("a volume that is just flow, once", "build-up", "back_volume", -0.15),
    Stray("a volume is missing once", "build-up", "back_volume", np.nan),
    Stray("cell pressure was raised", "hold", "cell_pressure", 40.0, 2, "saturation"),
    Stray("a cell pressure reads too much once", "hold", "cell_pressure", 40.0),
    Stray("a back pressure reads too much once", "hold", "back_pressure", 40.0),
    Stray("a back pressure fails once", "hold", "back_pressure", -150.0),
]


@pytest.mark.parametrize("stray", STRAYS, ids=lambda one: f"{one.step}: {one.reason}")
def test_one_reading_alone_is_not_believed_and_two_are(stray: Stray) -> None:
    starts = [start for _, step, start in WHOLE.begins if step == stray.step]
    first = next(k for k, row in enumerate(WHOLE.rows) if row.time >= starts[-1])
    at = first + (5 if stray.step == "build-up" else 12)
    rows = list(WHOLE.rows)
    for k in range(at, at + stray.rows):
        value = getattr(rows[k], stray.channel) + stray.by
        rows[k] = rows[k]._replace(**{stray.channel: value})
    if stray.then is None:
        assert spans_and_zeros(rows) == spans_and_zeros(WHOLE.rows)
    else:
        upto = rows[: at + stray.rows]
        begun = [one for one in spans_and_zeros(upto) if isinstance(one, Begun)][-1]
        assert (begun.name, begun.start) == (stray.then, rows[at].time)


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
