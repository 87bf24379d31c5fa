"""The picture: the same from any chunking, never changed once made, a broken cell alone."""

from dataclasses import replace
from datetime import UTC
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from made_bench import arrived, layout, shown
from scripted import START, Script, as_rows, settings, whole_test

from tui.bench.advance import advance, empty_bench, folded, newest_time, redrawn
from tui.bench.picture import Bench
from tui.bench.readings import picked
from tui.feed.rows import Arrivals, LiveRow, UnusedRow
from tui.journal.acts import Act
from tui.settings.places import Place
from tui.settings.problems import Problem

SCRIPT = whole_test()


@given(cuts=st.lists(st.integers(1, len(SCRIPT.rows) - 1), max_size=12), goes_on=st.booleans())
@effort(max_examples=25, deadline=None)
def test_any_chunking_gives_the_same_picture(cuts: list[int], goes_on: bool) -> None:
    now = SCRIPT.now + 5.0
    whole = shown(SCRIPT.rows, now)
    bench = empty_bench(layout(), now)
    for first, last in zip([0, *sorted(cuts)], [*sorted(cuts), None], strict=True):
        bench = folded(bench, arrivals=[arrived(SCRIPT.rows[first:last])], goes_on=goes_on)
        bench = redrawn(bench, now=now)
    assert bench.cells[0] == whole


def test_looking_every_second_or_once_gives_the_same_picture() -> None:
    rows = SCRIPT.rows[:120]
    end = rows[-1].time + 30.0
    bench = empty_bench(layout(), START)
    sent = 0
    for now in np.arange(START, end, 47.0):
        due = [row for row in rows[sent:] if row.time <= now]
        sent += len(due)
        bench = advance(bench, now=float(now), arrivals=[arrived(due)] if due else [])
    bench = advance(bench, now=end, arrivals=[arrived(rows[sent:])] if rows[sent:] else [])
    once = shown(rows, end)
    assert bench.cells[0].spans == once.spans
    assert bench.cells[0].checks == once.checks
    assert bench.cells[0].schedule == once.schedule
    assert bench.cells[0].quantities == once.quantities


def test_late_rows_take_their_place_in_time() -> None:
    now = SCRIPT.now
    late = SCRIPT.rows[40:45]
    others = SCRIPT.rows[:40] + SCRIPT.rows[45:]
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(others)])
    bench = advance(bench, now=now, arrivals=[arrived(late)])
    assert bench.cells[0] == shown(SCRIPT.rows, now)


def test_a_bench_is_not_changed_by_advancing_it() -> None:
    now = SCRIPT.now
    first = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:150])])
    before = first.cells
    one = advance(first, now=now, arrivals=[arrived(SCRIPT.rows[150:])])
    other = advance(first, now=now, arrivals=[arrived(SCRIPT.rows[150:])])
    assert first.cells == before
    assert one.cells == other.cells == (shown(SCRIPT.rows, now),)


def test_a_picture_stays_what_it_was_when_its_bench_has_gone_on() -> None:
    now = SCRIPT.now
    first = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:150])])
    rest = [arrived(SCRIPT.rows[150:])]
    on = redrawn(folded(first, arrivals=rest, goes_on=True), now=now)
    assert on.cells == (shown(SCRIPT.rows, now),)
    # Its plots are made only now, of the readings that there were then.
    assert first.cells == (shown(SCRIPT.rows[:150], now),)
    assert first.cells[0].plots != on.cells[0].plots
    # Told twice, the readings behind it would be lost: it is said instead.
    (again,) = advance(first, now=now, arrivals=rest).cells
    assert any(problem.severity == "error" for problem in again.problems)


def test_nothing_new_keeps_the_very_same_cell() -> None:
    now = SCRIPT.now
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows)])
    assert advance(bench, now=now + 1.0).cells[0] is bench.cells[0]


def test_volume_and_strain_are_those_of_the_script() -> None:
    end = next(t for _, step, t in SCRIPT.begins if step == "dock")
    rows = [row for row in SCRIPT.rows if row.time < end]
    cell = shown(rows, rows[-1].time)
    drained = next(row for row in rows if row.time == cell.spans[-1].start)
    zero = rows[rows.index(drained) - 1]
    assert cell.quantities.volumetric_strain == pytest.approx(
        (zero.back_volume - rows[-1].back_volume) / 196.349540849
    )
    assert pytest.approx(1.0, abs=0.03) == cell.quantities.U
    last = SCRIPT.rows[-7]
    sheared = shown(SCRIPT.rows[:-6], last.time)
    taken = next(t for _, step, t in SCRIPT.begins if step == "shear")
    start = next(row for row in reversed(SCRIPT.rows) if row.time < taken)
    height = 100.0 * (1.0 - (zero.back_volume - rows[-1].back_volume) / 196.349540849 / 3.0)
    assert sheared.phase is not None
    assert sheared.phase.name == "shear"
    assert sheared.quantities.axial_strain == pytest.approx(
        (last.axial_displacement - start.axial_displacement) / height
    )


def test_slots_are_counted_from_the_zero_reading_of_each_step() -> None:
    raised = [t for _, step, t in SCRIPT.begins if step == "raise"]
    rows = [row for row in SCRIPT.rows if row.time < raised[1] + 3600.0]
    count = shown(rows, rows[-1].time).schedule
    assert count is not None
    assert (count.kind, count.slots, count.missed, count.extra) == ("root", 24, 0, 0)
    assert count.taken == sum(1 for row in rows if row.time >= raised[1])
    zero = max(row.time for row in rows if row.time < raised[1])
    assert count.next_at == pytest.approx(zero + 60.0 * (0.5 * (count.taken + 1)) ** 2)
    assert count.last_at == pytest.approx(zero + 60.0 * 12.0**2)


def test_rows_outside_the_test_belong_to_no_test() -> None:
    begun = SCRIPT.rows[5].time
    inside = settings(test={"started": "2031-02-04T10:46:40+00:00"})
    assert begun > START
    place = Place("C1", "C1", Path("bench/C1"), inside)
    bench = empty_bench(layout(place), SCRIPT.now)
    bench = advance(bench, now=SCRIPT.now, arrivals=[arrived(SCRIPT.rows)])
    started = inside.test.started
    assert started is not None
    assert bench.cells[0].rows_used == sum(r.time >= started.timestamp() for r in SCRIPT.rows)


def test_a_mark_tells_the_whole_history_anew() -> None:
    now = SCRIPT.now
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:30])])
    at = SCRIPT.rows[20].time
    act = Act(1, "mark", "C1", "T1", at, now, "ada", "host", phase="interrupted")
    marked = advance(bench, now=now, acts=(act,))
    assert marked.cells[0].phase is not None
    assert (marked.cells[0].phase.name, marked.cells[0].phase.source) == ("interrupted", "marks")
    assert marked.cells[0].phase.since == at
    assert advance(marked, now=now, acts=()).cells == bench.cells


def test_acts_of_other_cells_and_tests_change_nothing() -> None:
    now = SCRIPT.now
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:30])])
    acts = tuple(
        Act(k, "mark", cell, test, now - 9e4, now, "ada", "host", phase="ended")
        for k, (cell, test) in enumerate((("C2", "T1"), ("C1", "T0")))
    )
    assert advance(bench, now=now, acts=acts).cells == bench.cells


def test_a_cell_without_settings_stands_beside_the_others() -> None:
    wrong = Problem("error", "specimen.diameter is missing", "give it", "C0/cell.toml", 3)
    broken = Place("C0", "C0", Path("bench/C0"), None, (wrong,))
    good = Place("C1", "C1", Path("bench/C1"), settings())
    now = SCRIPT.now
    bench = empty_bench(layout(broken, good), now)
    bench = advance(bench, now=now, arrivals=[arrived(SCRIPT.rows)])
    assert [cell.told for cell in bench.cells] == [False, True]
    assert bench.cells[0].problems == (wrong,)
    assert bench.worst == "unknown"


def test_a_fold_that_fails_is_shown_on_its_cell_and_the_others_go_on() -> None:
    now = SCRIPT.now
    two = layout(
        Place("C1", "C1", Path("bench/C1"), settings()),
        Place("C2", "C2", Path("bench/C2"), settings(cell={"name": "C2"})),
    )
    rows = as_rows(SCRIPT.rows[:30])
    ragged = replace(rows, channels={**rows.channels, "cell_pressure": np.zeros(7)})
    bench = advance(
        empty_bench(two, now),
        now=now,
        arrivals=[Arrivals("C1", ragged), Arrivals("C2", rows)],
    )
    first, second = bench.cells
    assert not first.told
    assert first.problems[0].severity == "error"
    assert "C1 could not be told" in first.problems[0].what
    assert second.told
    assert second.rows_used == 30


def test_a_live_row_feeds_the_live_values_and_takes_no_slot() -> None:
    now = SCRIPT.now
    rows = SCRIPT.rows[:60]
    before = shown(rows, now)
    live = LiveRow(rows[-1].time + 5.0, {"cell_pressure": 61.0, "pore_pressure": 48.0})
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(rows, live=live)])
    cell = bench.cells[0]
    assert cell.live is not None
    assert (cell.live.at, cell.live.effective_stress_kPa) == (live.time, 13.0)
    assert cell.live.back_pressure_kPa is None
    assert cell.schedule == before.schedule
    assert cell.rows_used == before.rows_used


def test_unused_rows_are_counted() -> None:
    unused = (UnusedRow("C1/a.csv", 7, "unreadable time"), UnusedRow("C1/a.csv", 9, "OVER", "Pc"))
    bench = advance(
        empty_bench(layout(), SCRIPT.now),
        now=SCRIPT.now,
        arrivals=[arrived(SCRIPT.rows[:10], unused=unused)],
    )
    assert (bench.cells[0].rows_used, bench.cells[0].rows_unused) == (10, 2)


def test_a_restart_forgets_what_came_before() -> None:
    now = SCRIPT.now
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows)])
    again = advance(bench, now=now, arrivals=[arrived(SCRIPT.rows[:40], restart=True)])
    assert again.cells[0] == shown(SCRIPT.rows[:40], now)


def test_the_newest_time_is_that_of_the_newest_row_of_any_cell() -> None:
    bench = empty_bench(layout(), START)
    assert newest_time(bench) is None
    bench = advance(bench, now=START, arrivals=[arrived(SCRIPT.rows[:40])])
    assert newest_time(bench) == SCRIPT.rows[39].time


def test_no_cell_is_called_well_while_an_alarm_cannot_be_judged() -> None:
    now = SCRIPT.rows[39].time
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:40])])
    assert bench.worst == "note"
    blind = {one.kind: one.why for one in bench.cells[0].blind}
    assert blind["temperature-swing"] == "needs temperature"


def test_picked_rows_keep_their_words() -> None:
    script = Script(phase_word="setup")
    script.set_up()
    rows = picked(as_rows(script.rows), np.array([0, 3]))
    assert len(rows) == 2
    assert rows.words["phase"] == ("setup", "setup")


def test_a_bench_without_a_layout_only_moves_on() -> None:
    bench = Bench(at=0.0, folder="b", name="b", zone=UTC)
    assert advance(bench, now=7.0) == replace(bench, at=7.0)


def test_a_cell_without_a_test_is_known_to_have_none() -> None:
    note = Problem("note", "no test is described", "add [test]", "C1/cell.toml")
    hardware = settings().cell
    idle = Place("C1", "C1", Path("bench/C1"), None, (note,), hardware=hardware)
    assert idle.idle
    bench = empty_bench(layout(idle), SCRIPT.now)
    assert bench.cells[0].told
    assert bench.worst == "note"


def test_a_strain_slot_to_come_lies_ahead_of_the_newest_row() -> None:
    sheared = [row for row in SCRIPT.rows if row.time <= SCRIPT.rows[-7].time]
    last = sheared[-1]
    for later in (1.0, 60.0, 200.0):
        count = shown(sheared, last.time + later).schedule
        assert count is not None
        assert count.kind == "strain"
        assert count.next_at is not None
        assert count.next_at > last.time + later


def test_a_mark_holds_before_its_first_reading_has_come() -> None:
    rows = SCRIPT.rows[:60]
    last = rows[-1].time
    act = Act(1, "mark", "C1", "T1", last + 600.0, last + 600.0, "ada", "host", phase="ended")
    bench = advance(empty_bench(layout(), last), now=last, arrivals=[arrived(rows)], acts=(act,))
    assert bench.cells[0].phase is not None
    assert bench.cells[0].phase.name == "saturation"
    later = advance(bench, now=last + 700.0).cells[0]
    assert later.phase is not None
    assert (later.phase.name, later.phase.source, later.phase.since) == (
        "ended",
        "marks",
        last + 600.0,
    )
    assert later.hands == ()
    assert later.projection.at is None


def test_the_last_values_stay_while_settings_are_broken() -> None:
    now = SCRIPT.now
    bench = advance(empty_bench(layout(), now), now=now, arrivals=[arrived(SCRIPT.rows[:150])])
    wrong = Problem("error", "cell.toml cannot be read", "mend it", "C1/cell.toml", 3)
    broken = layout(Place("C1", "C1", Path("bench/C1"), None, (wrong,)))
    cell = advance(bench, now=now, layout=broken).cells[0]
    assert not cell.told
    assert wrong in cell.problems
    assert cell.live == bench.cells[0].live
    assert cell.hands == ()
    assert advance(advance(bench, now=now, layout=broken), now=now, layout=layout()).cells == (
        bench.cells
    )
