"""Zones, the hour that a clock shows twice, day and month, clocks that jump."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.feed.moments import DateOrder, Dates, read_moment
from tui.feed.times import own_zone
from tui.feed.wall_time import WallTime
from tui.settings.cell_toml import TimeColumn

Cells = Callable[..., Any]
OSLO = ZoneInfo("Europe/Oslo")


def read(make_cell: Cells, stamps: list[str], log: str = "", zone: str = "Europe/Oslo") -> Any:
    cell = make_cell(log, zone=zone)
    rows = "".join(f"{stamp},{number}\n" for number, stamp in enumerate(stamps))
    cell.write("a.csv", "Time,cell_pressure_kPa\n" + rows)
    return cell.read()


@pytest.mark.parametrize("every_min", [0.5, 7, 10, 30, 60])
def test_both_hours_are_kept_when_clocks_go_back(make_cell: Cells, every_min: float) -> None:
    # The European Union's clocks go back on the last Sunday of October at 01:00 UTC
    # (directive 2000/84/EC): in Oslo 02:00 … 03:00 is shown twice on 2031-10-26.
    begin = datetime(2031, 10, 25, 23, 0, tzinfo=UTC)
    moments = [begin + timedelta(minutes=every_min * k) for k in range(int(300 / every_min))]
    stamps = [moment.astimezone(OSLO).strftime("%Y-%m-%dT%H:%M:%S") for moment in moments]
    told = read(make_cell, stamps)
    assert told.times == [moment.timestamp() for moment in moments]


def test_a_row_a_little_late_in_the_doubled_hour_stays_in_it(make_cell: Cells) -> None:
    told = read(make_cell, ["2031-10-26T02:10:10", "2031-10-26T02:10:05", "2031-10-26T02:10:20"])
    assert [time - told.times[0] for time in told.times] == [0.0, -5.0, 10.0]


def test_a_block_sent_again_out_of_the_doubled_hour_is_a_repeat(make_cell: Cells) -> None:
    begin = datetime(2031, 10, 26, 0, 10, tzinfo=UTC)
    moments = [begin + timedelta(minutes=10 * k) for k in range(30)]
    stamps = [moment.astimezone(OSLO).strftime("%Y-%m-%dT%H:%M:%S") for moment in moments]
    cell = make_cell("", zone="Europe/Oslo")
    rows = [f"{stamp},{number}\n" for number, stamp in enumerate(stamps)]
    cell.write("a.csv", "Time,cell_pressure_kPa\n" + "".join(rows + rows[1:]))
    told = cell.read()
    assert told.times == [moment.timestamp() for moment in moments]
    assert {one.reason for one in told.unused} == {"repeated"}


@pytest.mark.parametrize("stamp", ["1899-01-01T00:00", "9999-12-31T23:59", "0001-01-01T00:00"])
def test_a_clock_that_lost_its_battery_gives_no_row(make_cell: Cells, stamp: str) -> None:
    told = read(make_cell, ["2031-02-03T08:00", stamp])
    assert len(told.times) == 1
    assert told.unused[0].reason == f'unreadable time "{stamp}"'


def test_an_hour_that_does_not_exist_is_told(make_cell: Cells) -> None:
    told = read(make_cell, ["2031-03-30T01:59:00", "2031-03-30T02:30:00"])
    assert told.times[1] - told.times[0] == 31 * 60
    assert "2031-03-30 02:30 does not exist" in told.said("does not exist").what


def test_day_and_month_are_told_from_a_number_above_twelve(make_cell: Cells) -> None:
    told = read(make_cell, ["02/12/2031 08:00", "02/13/2031 08:00"], zone="UTC")
    assert told.times[0] == datetime(2031, 2, 12, 8, tzinfo=UTC).timestamp()
    assert told.problems == ()


def test_day_and_month_are_told_from_neighbouring_dates(make_cell: Cells) -> None:
    told = read(make_cell, ["02/03/2031 23:59", "02/04/2031 00:01"], zone="UTC")
    assert told.times[1] - told.times[0] == 120
    assert told.problems == ()


def test_what_comes_later_turns_what_was_assumed(make_cell: Cells) -> None:
    cell = make_cell("")
    cell.write("a.csv", "Time,cell_pressure_kPa\n02/03/2031 08:00,1\n")
    told = cell.read()
    assert told.times == [datetime(2031, 3, 2, 8, tzinfo=UTC).timestamp()]
    assert told.said("day or month first").severity == "warning"
    cell.append("a.csv", "02/13/2031 08:00,2\n")
    told = cell.read()
    assert told.restarts == 1
    assert told.times == [
        datetime(2031, 2, 3, 8, tzinfo=UTC).timestamp(),
        datetime(2031, 2, 13, 8, tzinfo=UTC).timestamp(),
    ]
    assert told.problems == ()


def test_one_file_tells_for_the_others_of_the_cell(make_cell: Cells) -> None:
    cell = make_cell("")
    cell.write("a.csv", "Time,cell_pressure_kPa\n02/03/2031 08:00,1\n")
    cell.write("b.csv", "Time,cell_pressure_kPa\n02/14/2031 08:00,2\n")
    assert cell.read().times[0] == datetime(2031, 2, 3, 8, tzinfo=UTC).timestamp()


def test_a_clock_set_back_keeps_file_order_and_its_own_stamps(make_cell: Cells) -> None:
    stamps = ["2031-02-03T08:00", "2031-02-03T09:00", "2031-02-03T08:30", "2031-02-03T08:40"]
    told = read(make_cell, stamps, zone="UTC")
    assert told.values["cell_pressure"] == [0, 1, 2, 3]
    assert [(time - told.times[0]) / 60 for time in told.times] == [0, 60, 30, 40]


def test_an_unknown_zone_is_told(tmp_path: Any) -> None:
    zone, problem = own_zone(TimeColumn(zone="Europe/Olso"), OSLO)
    assert zone is OSLO
    assert problem is not None
    assert "Europe/Oslo" in problem.remedy


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("13.02.2031 24:00", datetime(2031, 2, 14, tzinfo=UTC)),
        ("13/02/31 12:05:06.5 am", datetime(2031, 2, 13, 0, 5, 6, 500_000, tzinfo=UTC)),
        ("13-2-2031 12:05 p.m.", datetime(2031, 2, 13, 12, 5, tzinfo=UTC)),
        ("2031/02/13 8.05", datetime(2031, 2, 13, 8, 5, tzinfo=UTC)),
        ("13 February 2031 08:05:06,25", datetime(2031, 2, 13, 8, 5, 6, 250_000, tzinfo=UTC)),
        ("2031-Feb-13 08:05", datetime(2031, 2, 13, 8, 5, tzinfo=UTC)),
    ],
)
def test_ways_to_write_a_moment(text: str, expected: datetime) -> None:
    assert read_moment(text, Dates(DateOrder())).naive_s == pytest.approx(expected.timestamp())


@pytest.mark.parametrize(
    "text",
    ["31.02.2031 08:00", "2031-02-03", "13/02/2031 13:00 PM", "08:00", "2031-02-03 25:00", "1.2"],
)
def test_what_is_no_moment(text: str) -> None:
    with pytest.raises(ValueError, match=r"date|day|month|clock|time"):
        read_moment(text, Dates(DateOrder()))


@given(st.integers(0, 366 * 24 * 60), st.integers(1, 29))
def test_utc_to_the_wall_and_back(start_min: int, step_min: int) -> None:
    begin = datetime(2031, 1, 1, tzinfo=UTC) + timedelta(minutes=start_min)
    moments = [begin + timedelta(minutes=step_min * k) for k in range(120)]
    first = moments[0].astimezone(OSLO)
    if first.fold:  # nothing before tells that the file began in the second hour
        moments = moments[120:]
    if not moments:
        return
    naive = [m.astimezone(OSLO).replace(tzinfo=UTC).timestamp() for m in moments]
    assert WallTime(OSLO).to_utc(np.array(naive)).tolist() == [m.timestamp() for m in moments]


def test_the_format_that_is_proposed_reads_a_12_hour_clock(make_cell: Cells) -> None:
    text = "Time,cell_pressure_kPa\n02/03/2031 1:05:00 PM,1\n02/03/2031 1:05:10 PM,2\n"
    cell = make_cell()
    cell.write("a.csv", text)
    remedy = cell.read().said("may be day or month first").remedy
    pinned = remedy.split('"')[1]
    assert datetime.strptime("02/03/2031 1:05:00 PM", pinned).hour == 13  # noqa: DTZ007
    again = make_cell(f'[log]\ntime = {{ format = "{pinned}" }}\n')
    assert again.read().values["cell_pressure"] == [1.0, 2.0]
    assert not again.told.problems
