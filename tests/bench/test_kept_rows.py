"""A fold that keeps only its newest rows tells what one that keeps all of them tells."""

import random
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tui.bench import row_fold
from tui.bench.cell_fold import CellFold
from tui.bench.phases import Mark
from tui.bench.picture import Cell
from tui.bench.readings import Readings, in_time_order, picked
from tui.feed.batches import joined_rows
from tui.feed.rows import Arrivals, Rows
from tui.feed.watch import read_all
from tui.settings.places import Layout, Place, read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.fixture(scope="module")
def layout() -> Layout:
    return read_layout(SAMPLES)


@pytest.fixture(scope="module")
def rows_of(layout: Layout) -> dict[str, Rows]:
    return {
        arrived.folder: in_time_order(arrived.rows)
        for arrived in read_all(layout)
        if arrived.rows is not None
    }


class Followed:
    """A fold that is given all rows again whenever it asks for them."""

    def __init__(self, place: Place, layout: Layout, *, keeps_all: bool) -> None:
        assert place.settings is not None
        self.folder = place.folder
        self.fold = CellFold(
            place.name, place.folder, place.settings, (), layout.zone, keeps_all=keeps_all
        )
        self.seen: list[Rows] = []
        self.asked = 0

    def take(self, rows: Rows) -> None:
        self.seen.append(rows)
        self.fold = self.fold.take(Arrivals(self.folder, rows))
        self._answer()

    def mark(self, *marks: Mark) -> None:
        self.fold = self.fold.with_acts(marks)
        self._answer()

    def _answer(self) -> None:
        if not self.fold.asks_all:
            return
        self.asked += 1
        for place, rows in enumerate(self.seen):
            more = place + 1 < len(self.seen)
            again = Arrivals(self.folder, rows, restart=place == 0, more=more)
            self.fold = self.fold.take(again)
        assert self.fold.is_whole

    @property
    def picture(self) -> Cell:
        now = self.fold.newest_time
        assert now is not None
        return self.fold.picture(now, ())


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(row_fold, "KEPT", 60)
    monkeypatch.setattr(row_fold, "STRIDE", 25)


def pair(place: Place, layout: Layout) -> tuple[Followed, Followed]:
    return (
        Followed(place, layout, keeps_all=False),
        Followed(place, layout, keeps_all=True),
    )


def cut(rows: Rows, places: list[int]) -> list[Rows]:
    ends = [0, *sorted(places), len(rows)]
    parts = [picked(rows, np.arange(a, b)) for a, b in pairwise(ends)]
    return [part for part in parts if len(part)]


@pytest.mark.usefixtures("few")
@pytest.mark.parametrize("cell", ["C1", "C2", "C3", "C4", "C5", "C6"])
def test_the_same_picture_at_every_moment(
    cell: str, layout: Layout, rows_of: dict[str, Rows]
) -> None:
    place = next(place for place in layout.places if place.folder == cell)
    rows = rows_of[cell]
    chance = random.Random(cell)
    kept, whole = pair(place, layout)
    for part in cut(rows, chance.sample(range(len(rows)), min(60, len(rows) - 1))):
        kept.take(part)
        whole.take(part)
        assert kept.picture == whole.picture
    assert kept.fold.rows == len(rows)
    if len(rows) > 400:
        assert kept.fold._readings.length < 0.75 * len(rows)
    assert kept.asked <= 12


@pytest.mark.usefixtures("few")
@pytest.mark.parametrize("cell", ["C3", "C4", "C5"])
def test_late_rows_take_their_place(cell: str, layout: Layout, rows_of: dict[str, Rows]) -> None:
    place = next(place for place in layout.places if place.folder == cell)
    rows, chance = rows_of[cell], random.Random(cell)
    late = chance.sample(range(5, len(rows) - 5), 6)
    on_time = np.setdiff1d(np.arange(len(rows)), late)
    kept, whole = pair(place, layout)
    for part in cut(picked(rows, on_time), [len(on_time) // 2, len(on_time) - 20]):
        kept.take(part)
        whole.take(part)
    for at in late:
        kept.take(picked(rows, np.array([at])))
        whole.take(picked(rows, np.array([at])))
        assert kept.picture == whole.picture
    straight = Followed(place, layout, keeps_all=True)
    straight.take(rows)
    assert kept.picture == straight.picture
    assert kept.asked > 0  # some came later than what is kept


@pytest.mark.usefixtures("few")
@pytest.mark.parametrize("back", [3, 30, 140])
def test_marks_hold_from_their_moment(back: int, layout: Layout, rows_of: dict[str, Rows]) -> None:
    place = next(place for place in layout.places if place.folder == "C4")
    rows = rows_of["C4"]
    kept, whole = pair(place, layout)
    half = len(rows) // 2
    first, second = cut(rows, [half])
    moment = float(first.times[-back])
    marks = (Mark(moment, "shear", "dock"), Mark(float(second.times[40]), "ended"))
    for one in (kept, whole):
        one.take(first)
    for said in ((marks[:1]), marks, marks[1:], ()):
        for one in (kept, whole):
            one.mark(*said)
        assert kept.picture == whole.picture
    for one in (kept, whole):
        one.mark(*marks)
        one.take(second)
    assert kept.picture == whole.picture
    assert (kept.asked > 0) == (back == 140)


def test_the_picture_stands_while_a_log_is_read_again(
    layout: Layout, rows_of: dict[str, Rows]
) -> None:
    place = next(place for place in layout.places if place.folder == "C4")
    one = Followed(place, layout, keeps_all=False)
    one.take(rows_of["C4"])
    before = one.picture
    first, second = cut(rows_of["C4"], [100])
    reading = one.fold.take(Arrivals("C4", first, restart=True, more=True))
    assert not reading.is_whole
    now = one.fold.newest_time
    assert now is not None
    shown = reading.picture(now, ())
    assert [problem.what for problem in shown.problems] == [
        "its logs are being read once more; what is shown is as before"
    ]
    assert shown.being_read
    assert replace(shown, problems=before.problems, being_read=False) == before
    assert reading.take(Arrivals("C4", second)).picture(now, ()) == before


def test_of_the_rows_before_stay_those_that_tell(rows_of: dict[str, Rows]) -> None:
    rows = rows_of["C4"]
    whole = Readings.empty().grown(rows)
    moment = float(rows.times[50])
    thin = whole.without(200, [moment])
    assert thin.total == whole.total
    assert thin.exact_from == rows.times[200]
    assert moment in thin.times
    assert thin.at(thin.length - 1) == whole.at(whole.length - 1)
    assert thin.length < len(rows) - 150
    more = replace_times(picked(rows, np.arange(3)), float(rows.times[-1]))
    assert thin.grown(more).total == len(rows) + 3
    assert joined_rows([thin.as_rows()]).times.tolist() == thin.times.tolist()


def replace_times(rows: Rows, after: float) -> Rows:
    return replace(rows, times=after + np.arange(1.0, len(rows) + 1.0))


def test_a_backlog_that_is_being_read_is_neither_silent_nor_done(
    layout: Layout, rows_of: dict[str, Rows]
) -> None:
    place = next(place for place in layout.places if place.folder == "C1")
    one = Followed(place, layout, keeps_all=False)
    first, second = cut(rows_of["C1"], [100])
    now = float(second.times[-1]) + 3 * 86400.0
    half = one.fold.take(Arrivals("C1", first, more=True))
    assert [problem.what for problem in half.picture(now, ()).problems] == [
        "its logs are being read; what is shown is as of then"
    ]
    assert "log-silent" not in {spell.kind for spell in half.picture(now, ()).spells}
    whole = half.take(Arrivals("C1", second)).picture(now, ())
    assert whole.problems == ()
    assert "log-silent" in {one.kind for one in whole.spells if one.cleared_at is None}
