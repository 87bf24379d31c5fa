"""What the readings themselves give reason to doubt is a problem of their cell."""

from dataclasses import replace

from made_bench import layout, shown
from scripted import as_rows, whole_test

from tui.bench.advance import advance, empty_bench
from tui.feed.rows import Arrivals

SCRIPT = whole_test()


def test_rows_ahead_of_the_clock_are_used_and_named() -> None:
    rows = SCRIPT.rows[:20]
    cell = shown(rows, rows[-1].time - 600.0)
    assert cell.rows_used == 20
    assert [p.what for p in cell.problems] == [
        "clock ahead: the newest row is 10 min later than now"
    ]


def test_missing_channels_are_named_where_phases_need_them() -> None:
    rows = as_rows(SCRIPT.rows[:10])
    channels = {k: v for k, v in rows.channels.items() if k != "back_pressure"}
    bench = advance(
        empty_bench(layout(), SCRIPT.rows[9].time),
        now=SCRIPT.rows[9].time,
        arrivals=[Arrivals("C1", replace(rows, channels=channels))],
    )
    whats = [problem.what for problem in bench.cells[0].problems]
    assert whats == ["phases cannot be told from the readings: needs back_pressure"]


def test_a_log_that_has_fallen_silent_is_said_to_be() -> None:
    rows = SCRIPT.rows[:60]
    last = rows[-1].time
    whats = [
        [problem.what for problem in shown(rows, last + later).problems]
        for later in (60.0, 3 * 3600.0)
    ]
    assert whats == [[], ["silent: no row for 3 h"]]
    ended = shown(SCRIPT.rows, SCRIPT.now + 9 * 3600.0)
    assert ended.problems == ()


def test_a_newest_row_without_any_pressure_is_doubted() -> None:
    nothing = float("nan")
    last = SCRIPT.rows[59]._replace(
        cell_pressure=nothing, back_pressure=nothing, pore_pressure=nothing
    )
    cell = shown([*SCRIPT.rows[:59], last], last.time)
    assert [p.what for p in cell.problems] == ["no pressure could be read in the newest row"]
    assert shown(SCRIPT.rows[:60], last.time).problems == ()
