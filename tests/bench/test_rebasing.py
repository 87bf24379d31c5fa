"""Where a gauge was refilled or its zero moved, the channel goes on; what it showed is kept."""

import pickle
from dataclasses import replace
from itertools import pairwise
from math import isnan, nan
from pathlib import Path

import numpy as np
import pytest
from gauged import PRESSURES, REFILLS, SEEN, as_reading, cell_with, only, standing, told, volumes_of
from hypothesis import given
from hypothesis import strategies as st
from made_bench import arrived, layout
from scripted import START, settings, whole_test

from tui.bench.advance import advance, empty_bench, fold_of
from tui.bench.frozen import read, written
from tui.bench.picture import Bench
from tui.bench.readings import Reading, Readings, picked
from tui.bench.rebasing import Rebasing
from tui.bench.zeros import Rebase
from tui.feed.rows import Arrivals, LiveRow, Rows
from tui.journal.acts import Act
from tui.settings.places import Place


def test_what_a_person_takes_out_goes_on_from_the_reading_before() -> None:
    rows = standing([1.0, 1.1, 7.0, 22.0, 30.0, 30.2])
    act = Rebase("back_volume", START + 15.0, START + 40.0, text="syringe")
    fold = Rebasing(cell_with(refill="3 ml"), (act,))
    goes_on, _ = fold.take(rows)
    assert goes_on.channels["back_volume"] == pytest.approx(
        [1.0, 1.1, nan, nan, 1.1, 1.3], nan_ok=True
    )
    (move,) = fold.moves  # what jumped in between is not told again
    assert (move.before, move.at, move.by, move.text) == (
        START + 10.0,
        START + 40.0,
        "person",
        "syringe",
    )
    assert move.size == pytest.approx(28.9)


def test_readings_at_its_two_moments_count() -> None:
    rows = standing([1.0, 1.1, 30.0, 30.2])
    act = Rebase("back_volume", START + 10.0, START + 20.0)
    assert volumes_of(rows, cell_with(), act) == pytest.approx([1.0, 1.1, 1.1, 1.3])


def test_one_moment_lies_before_its_own_reading() -> None:
    rows = standing([1.0, 1.1, 30.0, 30.2])
    act = Rebase("back_volume", START + 20.0, START + 20.0)
    assert volumes_of(rows, cell_with(), act) == pytest.approx([1.0, 1.1, 1.1, 1.3])


def test_it_may_be_said_what_the_gauge_should_read() -> None:
    rows = standing([1.0, 1.1, 30.0, 30.2])
    act = Rebase("cell_pressure", START + 15.0, START + 15.0, reads=300.0)
    goes_on, _ = Rebasing(cell_with(), (act,)).take(rows)
    assert goes_on.channels["cell_pressure"] == pytest.approx([310.0, 310.0, 300.0, 300.0])
    assert goes_on.channels["back_volume"] is rows.channels["back_volume"]


def test_before_the_first_reading_there_is_nothing_to_go_on_from() -> None:
    rows = standing([30.0, 30.2])
    fold = Rebasing(cell_with(), (Rebase("back_volume", START - 60.0, START - 30.0),))
    assert fold.take(rows)[0].channels["back_volume"].tolist() == [30.0, 30.2]
    assert fold.moves == ()


def test_one_transducer_has_one_zero() -> None:
    channels = {**PRESSURES, "back_pressure": {"same_as": "pore_pressure"}}
    cell = settings(log={"channels": channels})
    fold = Rebasing(cell, (Rebase("back_pressure", START + 5.0, START + 5.0, reads=100.0),))
    goes_on, _ = fold.take(standing([0.0, 0.0]))
    assert goes_on.channels["pore_pressure"].tolist() == [160.0, 100.0]
    assert goes_on.channels["back_pressure"].tolist() == [160.0, 100.0]
    assert [move.channel for move in fold.moves] == ["back_pressure"]


# The same at any chunking

VOLUMES = st.lists(
    st.one_of(
        st.floats(-0.5, 0.5),
        st.just(nan),
        st.sampled_from([20.0, -20.0, 45.0, -45.0, 3.5, -3.5, 1.0, 1.0, -1.0, 0.0]),
    ),
    min_size=1,
    max_size=30,
)


@st.composite
def awkward_rows(draw: st.DrawFn) -> Rows:
    """Steps, gaps, rows of one time, pressures that move or are missing."""
    volumes = np.cumsum(np.nan_to_num(steps := np.array(draw(VOLUMES))))
    count = len(steps)
    gaps = draw(
        st.lists(st.sampled_from([0.0, 1.0, 1.0, 10.0, 60.0]), min_size=count, max_size=count)
    )
    pores = draw(
        st.lists(st.sampled_from([160.0, 160.5, 200.0, nan]), min_size=count, max_size=count)
    )
    cells = draw(st.lists(st.sampled_from([310.0, 310.0, 360.0]), min_size=count, max_size=count))
    rows = standing([nan if isnan(step) else v for step, v in zip(steps, volumes, strict=True)])
    channels = rows.channels | {"pore_pressure": np.array(pores), "cell_pressure": np.array(cells)}
    return replace(rows, times=START + np.cumsum(gaps), channels=channels)


@given(
    awkward_rows(),
    st.lists(st.integers(0, 30), max_size=6),
    st.lists(st.tuples(st.integers(0, 1500), st.integers(0, 300)), max_size=2),
)
def test_any_chunks_give_the_same(rows: Rows, cuts: list[int], acts: list[tuple[int, int]]) -> None:
    said = tuple(Rebase("back_volume", START + at, START + at + long) for at, long in acts)
    whole = Rebasing(REFILLS, said)
    expected = Readings.empty().grown(*whole.take(rows))
    fold, found = Rebasing(REFILLS, said), Readings.empty()
    edges = [0, *sorted(min(cut, len(rows)) for cut in cuts), len(rows)]
    for first, last in pairwise(edges):
        fold = fold.copy()
        found = found.grown(*fold.take(picked(rows, np.arange(first, last))))
    assert fold.moves == whole.moves
    for ours, theirs in (
        (found.as_columns(), expected.as_columns()),
        (found.as_shown(), rows.channels),
    ):
        np.testing.assert_array_equal(ours["back_volume"], theirs["back_volume"])


def test_a_copy_leaves_the_first_as_it_was() -> None:
    first = Rebasing(REFILLS)
    first.take(standing([1.0, 1.1]))
    second = first.copy()
    later = standing([49.4, 49.5])
    second.take(replace(later, times=later.times + 20.0))
    assert (len(first.moves), len(second.moves)) == (0, 1)


def test_a_gauge_that_jumps_at_every_row_is_not_told_row_by_row() -> None:
    rows = [as_reading(standing([20.0 * (k % 2) for k in range(200)]), k) for k in range(200)]
    notes = [p.what for p in only(told(rows, REFILLS)).problems if "gauge" in p.what]
    assert len(notes) < 10
    assert "moved 194 times more" in notes[-1]


# In the picture


def with_refill(rows: list[Reading], at: int, size: float) -> list[Reading]:
    return [
        row if k < at else row._replace(back_volume=row.back_volume + size)
        for k, row in enumerate(rows)
    ]


def mid_consolidation(rows: list[Reading]) -> int:
    """A row between the opening of drainage and the end of consolidation."""
    script = whole_test()
    opened = next(t for phase, step, t in script.begins if step == "drained")
    return next(k for k, row in enumerate(rows) if row.time > opened) + 25


ROWS = whole_test().rows
CUT = mid_consolidation(ROWS)


def test_consolidation_goes_on_across_a_refill() -> None:
    so_far = ROWS[: CUT + 12]
    plain, moved = told(so_far, REFILLS), told(with_refill(so_far, CUT, 48.3), REFILLS)
    for bench in (plain, moved):
        assert only(bench).phase is not None
        assert only(bench).phase.step == "drained"  # type: ignore[union-attr]
    in_gap = ROWS[CUT].back_volume - ROWS[CUT - 1].back_volume
    expected = plain.cells[0].quantities.volumetric_strain
    found = moved.cells[0].quantities.volumetric_strain
    assert expected is not None
    assert found is not None
    # V0 = π/4 × 50² × 100 mm³ = 196.35 ml
    assert found == pytest.approx(expected + in_gap / 196.35, rel=1e-4)
    assert only(moved).projection.at == pytest.approx(only(plain).projection.at, abs=3600.0)
    (note,) = [p for p in only(moved).problems if "refilled" in p.what]
    assert (note.severity, note.file) == ("note", "C1")
    assert note.what.startswith("the volume gauge was refilled by +48.")
    fold = fold_of(moved, "C1")
    assert fold is not None
    assert fold.record().moved_zeros == (note.what,)
    assert not [p for p in only(plain).problems if "refilled" in p.what]


@pytest.mark.parametrize(("every_s", "steps"), [(1.0, [1.2] * 40), (10.0, [12.0, 20.0, 14.0, 2.0])])
@pytest.mark.parametrize("step", ["hold", "drained"])
def test_a_whole_test_goes_on_across_a_refill_of_several_rows(
    step: str, every_s: float, steps: list[float]
) -> None:
    """Same phases, same volumes but for what flowed meanwhile, in saturation and consolidation."""
    begins = [t for phase, one, t in whole_test().begins if one == step and phase != "setup"]
    at = next(k for k, row in enumerate(ROWS) if row.time > begins[-1]) + 12
    last, room = ROWS[at - 1], ROWS[at].time - ROWS[at - 1].time
    assert room > every_s * (len(steps) + 1)
    shown = last.back_volume + np.cumsum(steps)
    between = [
        last._replace(time=last.time + every_s * (k + 1), back_volume=volume)
        for k, volume in enumerate(shown.tolist())
    ]
    later = [row._replace(back_volume=row.back_volume + sum(steps)) for row in ROWS[at:]]
    plain, moved = (
        fold_of(told(rows, SEEN), "C1") for rows in (ROWS, [*ROWS[:at], *between, *later])
    )
    assert plain is not None
    assert moved is not None
    now = ROWS[-1].time
    ours, theirs = moved.picture(now, ()), plain.picture(now, ())
    assert ours.spans == theirs.spans
    assert [check.B for check in ours.checks] == [check.B for check in theirs.checks]
    found = moved.record().channels["back_volume"][at + len(steps) :]
    assert found == pytest.approx(plain.record().channels["back_volume"][at:], abs=1e-9)


def test_late_rows_do_not_break_it() -> None:
    rows = with_refill(ROWS[: CUT + 12], CUT, 48.3)
    in_order = told(rows, REFILLS)
    late = [*rows[: CUT - 3], *rows[CUT - 1 :]], [rows[CUT - 3], rows[CUT - 2]]
    bench = empty_bench(layout(Place("C1", "C1", Path("bench/C1"), REFILLS)), rows[-1].time)
    for part in late:
        bench = advance(bench, now=rows[-1].time, arrivals=[arrived(part)])
    assert bench.cells[0] == replace(in_order.cells[0], rows_used=bench.cells[0].rows_used)


def rebase_act(since: float, until: float | None = None, **more: object) -> Act:
    act = Act(
        1, "rebase", "C1", "T1", since, since, "mira", "lab", until=until, channel="back_volume"
    )
    return replace(act, **more)  # type: ignore[arg-type]


def test_an_act_counts_as_soon_as_it_is_entered_and_until_it_is_taken_back() -> None:
    rows = with_refill(ROWS[: CUT + 12], CUT, 48.3)
    cell = cell_with()
    by_rule, before = told(rows, REFILLS), told(rows, cell)
    act = rebase_act(rows[CUT - 1].time, rows[CUT].time, text="burette topped up")
    after = advance(before, now=rows[-1].time, acts=(act,))
    volumes = [bench.cells[0].live.back_volume_ml for bench in (by_rule, before, after)]  # type: ignore[union-attr]
    assert volumes[2] == volumes[0]
    assert volumes[1] == pytest.approx(rows[-1].back_volume)
    assert only(after).quantities == only(by_rule).quantities
    (note,) = [p for p in only(after).problems if "journal" in p.what]
    assert "burette topped up" in note.what
    back = advance(after, now=rows[-1].time, acts=())
    assert back.cells == before.cells
    other = advance(before, now=rows[-1].time, acts=(replace(act, test="T0"),))
    assert other.cells == before.cells


# What the gauge itself shows


def test_stroke_and_end_are_those_of_the_gauge() -> None:
    rows = [as_reading(standing([10.0, 10.1, -30.0, -30.1]), k) for k in range(4)]
    live = only(told(rows, REFILLS)).live
    assert live is not None
    assert live.back_volume_ml == pytest.approx(10.0)
    assert live.stroke_left_ml == pytest.approx(29.9)
    ended = [*rows, rows[-1]._replace(time=START + 50.0, back_volume=-60.0)]
    pinned = only(
        told(
            ended,
            cell_with(stroke="-60 to 60 ml"),
            acts=(rebase_act(START + 15.0),),
        )
    )
    assert pinned.live is not None
    assert pinned.live.stroke_left_ml == 0.0
    assert pinned.live.back_volume_ml == pytest.approx(-60.0 + 40.1)
    assert any("at the end of a gauge: back_volume at -60 ml" in p.what for p in pinned.problems)


def test_a_reading_at_the_end_of_the_gauge_enters_no_record() -> None:
    rows = [as_reading(standing([10.0, 10.1, 60.0, 10.3, -40.0]), k) for k in range(5)]
    bench = told(rows, cell_with(stroke="-60 to 60 ml"), acts=(rebase_act(START + 15.0),))
    fold = fold_of(bench, "C1")
    assert fold is not None
    volumes = fold.record().channels["back_volume"]
    assert volumes == pytest.approx([10.0, 10.1, nan, -39.6, -89.9], nan_ok=True)


def test_the_live_row_goes_on_too_and_leaves_no_trace() -> None:
    rows = [as_reading(standing([10.0, 10.1, -30.0, -30.1]), k) for k in range(4)]
    bench = told(rows, REFILLS)
    pressures = {"cell_pressure": 310.0, "back_pressure": 160.0, "pore_pressure": 160.0}

    def seen(volume: float) -> tuple[float | None, float | None, Bench]:
        row = LiveRow(START + 60.0, pressures | {"back_volume": volume})
        after = advance(bench, now=START + 60.0, arrivals=[Arrivals("C1", live=row)])
        live = only(after).live
        assert live is not None
        return live.back_volume_ml, live.stroke_left_ml, after

    volume, left, after = seen(-30.2)
    assert (volume, left) == (pytest.approx(9.9), pytest.approx(29.8))
    assert only(after).rows_used == only(bench).rows_used == 4
    # A refill that only the live row has seen so far: nothing is told before a reading says so.
    volume, left, after = seen(20.0)
    assert (volume, left) == (pytest.approx(10.0), pytest.approx(40.0))
    assert [p.what for p in only(after).problems] == [p.what for p in only(bench).problems]
    fold = fold_of(after, "C1")
    assert fold is not None
    assert fold.record().times_s.tolist() == [row.time for row in rows]


def test_both_faces_of_a_table_are_kept() -> None:
    fold = Rebasing(REFILLS)
    rows = standing([10.0, 10.1, -30.0, -30.1])
    first = Readings.empty().grown(*fold.take(picked(rows, np.arange(2))))
    whole = first.grown(*fold.take(picked(rows, np.arange(2, 4))))
    for table in (whole, pickle.loads(pickle.dumps(whole))):
        assert table.as_columns()["back_volume"] == pytest.approx([10.0, 10.1, 10.1, 10.0])
        assert table.as_rows().channels["back_volume"].tolist() == [10.0, 10.1, -30.0, -30.1]
        assert table.shown_at(3).back_volume == -30.1
        assert table.at(3).back_volume == pytest.approx(10.0)
    assert first.as_shown()["back_volume"].tolist() == [10.0, 10.1]
    # A second value that grows from the first shares nothing that the other has written.
    branch = first.grown(picked(rows, np.arange(1)))
    assert branch.as_shown()["back_volume"].tolist() == [10.0, 10.1, 10.0]
    assert whole.as_shown()["back_volume"].tolist() == [10.0, 10.1, -30.0, -30.1]
    far = whole.grown(standing([0.0] * 600))
    assert far.as_shown()["back_volume"][2:5].tolist() == [-30.0, -30.1, 0.0]


def test_a_checkpoint_goes_on_behind_a_refill() -> None:
    rows = with_refill(ROWS[: CUT + 12], CUT, 48.3)
    whole = fold_of(told(rows, REFILLS), "C1")
    half = fold_of(told(rows[: CUT + 2], REFILLS), "C1")
    assert whole is not None
    assert half is not None
    kept = read(written(half))
    later = kept.take(arrived(rows[CUT + 2 :]))
    now = rows[-1].time
    assert later.picture(now, ()) == whole.picture(now, ())
    # The rows are still those of the gauge: taking the rule's part by hand changes nothing.
    act = Rebase("back_volume", rows[CUT - 1].time, rows[CUT].time)
    by_hand = later.with_acts((), (act,)).record().channels["back_volume"]
    assert by_hand.tolist() == later.record().channels["back_volume"].tolist()
