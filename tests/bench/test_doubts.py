"""What the readings themselves give reason to doubt is a problem of their cell."""

from dataclasses import replace
from datetime import UTC
from pathlib import Path

from made_bench import layout, shown
from scripted import as_rows, settings, whole_test

from tui.bench.advance import advance, empty_bench
from tui.bench.cell_fold import CellFold
from tui.bench.phases import Mark
from tui.feed.rows import Arrivals
from tui.settings.places import Place

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


def test_a_log_that_has_fallen_silent_is_an_alarm_and_no_doubt() -> None:
    rows = SCRIPT.rows[:60]
    cell = shown(rows, rows[-1].time + 3 * 3600.0)
    assert cell.problems == ()
    assert [alarm.kind for alarm in cell.alarms if alarm.priority == "urgent"] == ["log-silent"]
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


def whats_without(*channels: str, upto: str, test: str = "CU") -> list[str]:
    """The doubts of the scripted test without some channels, ten rows after a step began."""
    begun = next(at for _, step, at in SCRIPT.begins if step == upto)
    count = next(k for k, row in enumerate(SCRIPT.rows) if row.time >= begun) + 10
    rows = as_rows(SCRIPT.rows[:count])
    now = SCRIPT.rows[count - 1].time
    kept = {k: v for k, v in rows.channels.items() if k not in channels}
    bench = advance(
        empty_bench(
            layout(Place("C1", "C1", Path("bench/C1"), settings(test={"kind": test}))), now
        ),
        now=now,
        arrivals=[Arrivals("C1", replace(rows, channels=kept))],
    )
    return [problem.what for problem in bench.cells[0].problems]


AXIAL = ("axial_displacement", "axial_load")


def test_a_shear_that_would_show_in_no_channel_is_said_to_before_it_begins() -> None:
    unseen = "the begin of shear shows in no channel of this cell"
    late = "the begin of shear is told late, by pore pressure alone"
    nothing = (*AXIAL, "cell_volume")
    assert whats_without(*nothing, upto="drained", test="CD") == [unseen]
    assert whats_without(*nothing, upto="drained") == [late]
    assert whats_without(*nothing, "pore_pressure", upto="drained") == [unseen]
    assert whats_without(*nothing, upto="raise") == []
    assert whats_without("axial_load", upto="drained") == []


def test_an_opening_of_drainage_that_shows_late_is_said_to() -> None:
    late = "that drainage opens is told by pore pressure alone, late where the base is closed"
    assert whats_without("back_volume", "cell_volume", upto="build-up") == [late]
    assert whats_without("cell_volume", upto="build-up") == []


def test_a_mark_far_ahead_is_named_until_its_day_comes() -> None:
    rows = SCRIPT.rows[:60]
    last = rows[-1].time
    for ahead_s, told in (
        (3 * 86400.0, ["a mark says shear, but only in 3 d"]),
        (3600.0, []),
    ):
        mark = Mark(last + ahead_s, "shear")
        fold = CellFold("C1", "C1", settings(), (mark,), UTC).take(Arrivals("C1", as_rows(rows)))
        assert [problem.what for problem in fold.picture(last, ()).problems] == told
