"""Logs with several clocks, clocks of twelve hours, clocks that are known to be wrong."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

Cells = Callable[..., Any]
NINE = datetime(2031, 2, 3, 8, 0, tzinfo=UTC).timestamp()
"""09:00 in Oslo. [s since the epoch]"""

ROWS = {
    "a count beside a clock": (
        "Elapsed s,Time,Pc",
        ("0,2031-02-03 09:00:00,1", "10,2031-02-03 09:00:10,2"),
    ),
    "a count behind a clock": (
        "Time,t (min),Pc",
        ("2031-02-03 09:00:00,500,1", "2031-02-03 09:00:10,501,2"),
    ),
    "UTC before local": (
        "time_utc,time_local,Pc",
        (
            "2031-02-03 08:00:00,2031-02-03 09:00:00,1",
            "2031-02-03 08:00:10,2031-02-03 09:00:10,2",
        ),
    ),
    "local before UTC": (
        "Local,UTC,Pc",
        (
            "2031-02-03 09:00:00,2031-02-03 08:00:00,1",
            "2031-02-03 09:00:10,2031-02-03 08:00:10,2",
        ),
    ),
    "UTC that says so": (
        "UTC,Computer,Pc",
        (
            "2031-02-03T08:00:00Z,2031-02-03T09:07:00,1",
            "2031-02-03T08:00:10Z,2031-02-03T09:07:10,2",
        ),
    ),
    "logger before computer": (
        "Logger,Computer,Pc",
        (
            "2031-02-03 09:00:00,2031-02-03 09:07:00,1",
            "2031-02-03 09:00:10,2031-02-03 09:07:10,2",
        ),
    ),
    "an offset in some rows only": (
        "Time,Pc",
        ("2031-02-03T09:00:00,1", "2031-02-03T08:00:10Z,2"),
    ),
}
CHANNELS = '[log.channels]\ncell_pressure = { column = "Pc", unit = "kPa" }\n'


@pytest.mark.parametrize("name", ROWS)
def test_of_two_clocks_the_one_of_the_bench_counts(name: str, make_cell: Cells) -> None:
    head, rows = ROWS[name]
    cell = make_cell(CHANNELS, zone="Europe/Oslo")
    cell.write("a.csv", "\n".join((head, *rows, "")))
    told = cell.read()
    assert told.times == [NINE, NINE + 10.0]
    assert told.values["cell_pressure"] == [1.0, 2.0]
    assert told.unused == []


def test_another_clock_is_taken_by_its_name(make_cell: Cells) -> None:
    head, rows = ROWS["logger before computer"]
    log = '[log]\ntime = { column = "Computer", offset = "-420 s" }\n' + CHANNELS
    cell = make_cell(log, zone="Europe/Oslo")
    cell.write("a.csv", "\n".join((head, *rows, "")))
    assert cell.read().times == [NINE, NINE + 10.0]


@pytest.mark.parametrize("form", ["%d/%m/%Y %I:%M:%S %p", "%Y-%m-%d %I:%M %p"])
def test_a_clock_of_twelve_hours_goes_through_noon_and_midnight(
    form: str, make_cell: Cells
) -> None:
    times = [NINE + 1800.0 * k for k in range(60)]
    stamps = [datetime.fromtimestamp(time, UTC).strftime(form) for time in times]
    cell = make_cell(CHANNELS)
    cell.write("a.csv", "Time,Pc\n" + "".join(f"{stamp},1\n" for stamp in stamps))
    told = cell.read()
    assert told.times == times
    assert told.unused == []
