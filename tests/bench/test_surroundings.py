"""What a cell is drawn with beside its own readings."""

from pathlib import Path

import pytest
from made_bench import arrived, layout
from scripted import START, settings, whole_test

from tui.bench.advance import advance, empty_bench, fold_of
from tui.bench.attended import Attended
from tui.bench.cell_fold import CellFold
from tui.bench.frozen import read, written
from tui.bench.picture import BEING_READ, Bench
from tui.bench.surroundings import ALONE, Sibling, Surroundings
from tui.settings.bench_toml import BenchToml
from tui.settings.places import Layout, Place

ROWS = whole_test().rows[:60]
NOW = ROWS[-1].time


def lies(attended: str | None) -> Layout:
    bench = BenchToml.model_validate({} if attended is None else {"attended": attended})
    made = layout(Place("C1", "C1", Path("bench/C1"), settings()))
    return Layout(made.root, bench, made.zone, made.places)


@pytest.fixture
def draws(monkeypatch: pytest.MonkeyPatch) -> list[Surroundings]:
    """Every time that a cell is drawn, with what."""
    drawn: list[Surroundings] = []
    draw = CellFold._drawn

    def noted(self: CellFold, now: float) -> object:
        drawn.append(self._surroundings)
        return draw(self, now)

    monkeypatch.setattr(CellFold, "_drawn", noted)
    return drawn


def test_a_cell_is_drawn_again_when_its_surroundings_change_and_only_then(
    draws: list[Surroundings],
) -> None:
    bench = empty_bench(lies(None), START)
    bench = advance(bench, now=NOW, arrivals=[arrived(ROWS)])
    draws.clear()
    hours = "Mon-Fri 07:30-16:00"
    for text in (None, hours, hours, "Mon-Sun 07:30-16:00"):
        bench = advance(bench, now=NOW, layout=lies(text))
        bench = advance(bench, now=NOW + 1.0)
    expected = [Attended.of(text, lies(None).zone) for text in (hours, "Mon-Sun 07:30-16:00")]
    assert [around.attended for around in draws] == expected


def test_surroundings_are_no_part_of_what_is_kept() -> None:
    bench = empty_bench(lies(None), START)
    bench = advance(bench, now=NOW, arrivals=[arrived(ROWS)])
    fold = _fold(bench)
    bare = written(fold)
    fold.picture(NOW, (), Surroundings(siblings=(Sibling("C2", 1.0, None),)))
    assert fold._surroundings != ALONE
    again = read(written(fold))
    assert again._surroundings == ALONE
    assert read(bare).picture(NOW, (), ALONE) == again.picture(NOW, (), ALONE)
    assert b"Sibling" not in written(fold)


def _fold(bench: Bench) -> CellFold:
    fold = fold_of(bench, "C1")
    assert fold is not None
    return fold


def test_a_cell_whose_logs_are_not_read_yet_says_so_and_has_no_doubts() -> None:
    bench = empty_bench(lies(None), START)
    (cell,) = advance(bench, now=NOW, unread=frozenset({"C1"})).cells
    assert cell.being_read
    assert cell.projection.basis == BEING_READ
    assert [problem.severity for problem in cell.problems] == ["note"]
    (cell,) = advance(bench, now=NOW).cells
    assert not cell.being_read
    assert cell.projection.basis == "no readings yet"


def test_what_was_kept_of_a_cell_is_not_silent_before_its_logs_are_read() -> None:
    bench = advance(empty_bench(lies(None), START), now=NOW, arrivals=[arrived(ROWS)])
    later = NOW + 3 * 86400.0
    (unread,) = advance(bench, now=later, unread=frozenset({"C1"})).cells
    assert unread.being_read
    assert unread.phase is not None
    assert "log-silent" not in {one.kind for one in unread.spells}
    (read_out,) = advance(bench, now=later).cells
    assert "log-silent" in {one.kind for one in read_out.spells}
