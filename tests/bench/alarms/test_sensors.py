"""Gauges that fail, and handling that is no fault; zero-offset. Limits: contract section 7."""

from collections.abc import Callable
from datetime import UTC
from math import nan
from random import Random

import pytest
from scripted import as_rows
from told_alarms import Script, followed, of, settings, whole_test

from tui.bench.cell_fold import CellFold
from tui.bench.picture import Cell
from tui.bench.readings import Reading
from tui.feed.rows import Arrivals, LiveRow

CELL = settings(
    log={
        "rows": "steady",
        "channels": {
            "cell_pressure": {"column": "c", "unit": "kPa", "range": "0 to 1000 kPa"},
            "back_pressure": {"column": "b", "unit": "kPa", "range": "0 to 1000 kPa"},
            "pore_pressure": {"column": "u", "unit": "kPa", "range": "0 to 1000 kPa"},
            "back_volume": {"column": "v", "unit": "ml", "refill": "12 ml"},
            "axial_displacement": {"column": "d", "unit": "mm", "range": "0 to 50 mm"},
            "axial_load": {"column": "l", "unit": "N", "range": "0 to 5000 N"},
        },
    }
)


def held(count: int = 120, seed: int = 1) -> list[Reading]:
    """A hold of saturation, read every ten seconds by gauges with a little noise."""
    script, dice = Script(), Random(seed)
    script.set_up()
    script.raise_back(10.0)
    rows = list(script.rows)
    for k in range(count):
        rows.append(
            rows[len(script.rows) - 1]._replace(
                time=script.now + 10.0 * (k + 1),
                cell_pressure=20.0 + round(dice.gauss(0.0, 0.3), 1),
                back_pressure=10.0 + round(dice.gauss(0.0, 0.3), 1),
                pore_pressure=10.0 + round(dice.gauss(0.0, 0.3), 1),
                temperature=20.0 if k % 10 == 0 else nan,
            )
        )
    return rows


def spoilt(by: Callable[[int, Reading], Reading], count: int = 160) -> tuple[Cell, list[Reading]]:
    rows = held(count)
    first = len(rows) - 60
    rows[first:] = [by(k, row) for k, row in enumerate(rows[first:])]
    return followed(rows, None, CELL), rows[first:]


@pytest.mark.parametrize(
    ("way", "value"),
    [
        ("shows no number", lambda _k: nan),
        ("beyond what it can show", lambda _k: 1005.0),
        ("beyond what it can show", lambda _k: -130.0),
        ("jumps about", lambda k: 10.0 + (240.0 if k % 2 else -90.0)),
    ],
)
def test_a_fault_is_raised_by_its_third_reading(way: str, value: Callable[[int], float]) -> None:
    cell, rows = spoilt(lambda k, row: row._replace(back_pressure=value(k)))
    (told,) = of(cell, "sensor-fault")
    assert (told.about, told.priority) == ("back_pressure", "warning")
    assert (told.since, told.raised_at) == (rows[0].time, rows[2].time)
    assert way in told.message
    assert told.cleared_at is None


def test_a_jump_beyond_the_range_is_one_of_the_three() -> None:
    cell, rows = spoilt(lambda k, row: row._replace(back_pressure=(250.0, -130.0)[k % 2]))
    (told,) = of(cell, "sensor-fault")
    assert told.raised_at == rows[2].time


def test_a_live_row_in_between_hides_no_jump_of_the_log() -> None:
    rows = held()
    fold = CellFold("C1", "C1", CELL, (), UTC).take(Arrivals("C1", as_rows(rows[:-3])))
    for row, shown in zip(rows[-3:], (250.0, -90.0, 240.0), strict=True):
        # The live file is ahead of the log, which then shows nothing new.
        fold = fold.take(Arrivals("C1", live=LiveRow(row.time - 5.0, {"back_pressure": shown})))
        bad = row._replace(back_pressure=shown)
        fold = fold.take(Arrivals("C1", as_rows([bad])))
    (told,) = of(fold.picture(rows[-1].time, ()), "sensor-fault")
    assert "jumps about" in told.message
    assert told.raised_at == rows[-1].time


@pytest.mark.parametrize("value", [nan, 1005.0, 400.0])
def test_two_bad_readings_are_none(value: float) -> None:
    cell, _ = spoilt(lambda k, row: row._replace(back_pressure=value) if k in (4, 5) else row)
    assert of(cell, "sensor-fault") == []


def test_it_clears_after_three_good_readings() -> None:
    cell, rows = spoilt(lambda k, row: row._replace(pore_pressure=nan) if k < 8 else row)
    (told,) = of(cell, "sensor-fault")
    assert told.cleared_at == rows[10].time


def test_twenty_identical_readings_of_a_gauge_that_had_noise() -> None:
    cell, rows = spoilt(lambda _k, row: row._replace(pore_pressure=10.3))
    (told,) = of(cell, "sensor-fault")
    assert told.about == "pore_pressure"
    assert rows[18].time <= told.raised_at <= rows[20].time
    few, _ = spoilt(lambda k, row: row._replace(pore_pressure=10.3) if k < 17 else row)
    assert of(few, "sensor-fault") == []


def test_a_log_that_repeats_whole_rows_is_no_gauge() -> None:
    def again(_k: int, row: Reading) -> Reading:
        return row._replace(cell_pressure=20.1, back_pressure=10.1, pore_pressure=10.1)

    assert of(spoilt(again)[0], "sensor-fault") == []


def test_a_channel_that_is_read_now_and_then_is_well() -> None:
    assert of(followed(held(), None, CELL), "sensor-fault") == []


def test_a_gauge_that_never_moved_may_stand() -> None:
    rows = [row._replace(axial_displacement=2.0, axial_load=5.0) for row in held(300)]
    assert of(followed(rows, None, CELL), "sensor-fault") == []


@pytest.mark.parametrize("rise", [80.0, 300.0])
def test_a_step_of_pressure_is_no_fault(rise: float) -> None:
    def raised(k: int, row: Reading) -> Reading:
        up = rise * min(max(k - 3, 0) / 3.0, 1.0)
        return row._replace(cell_pressure=row.cell_pressure + up)

    assert of(spoilt(raised)[0], "sensor-fault") == []


def test_a_whole_test_has_no_fault() -> None:
    vented = [
        Reading(whole_test().rows[0].time - 6000.0 + 60.0 * k, 0.0, 0.0, 0.0) for k in range(60)
    ]
    assert of(followed([*vented, *whole_test().rows], None, CELL), "sensor-fault") == []


def test_a_refill_is_no_fault() -> None:
    cell, _ = spoilt(lambda k, row: row._replace(back_volume=40.0 if k > 10 else row.back_volume))
    assert of(cell, "sensor-fault") == []


@pytest.mark.parametrize(("offset", "raised"), [(4.5, True), (-1.2, True), (0.8, False)])
def test_a_zero_is_off_when_vented(offset: float, raised: bool) -> None:
    # Contract: > max(1 kPa, 0.1 % of range), 2 rows; the range here is 1000 kPa.
    script = Script()
    script.phase_word = "setup/vented"
    script.pore = offset
    for _ in range(5):
        script.row(60.0)
    told = of(followed(script.rows, None, CELL), "zero-offset")
    assert [one.about for one in told] == ["pore_pressure"] * raised
    if raised:
        assert told[0].raised_at == script.rows[1].time
        assert "limit 1.0 kPa" in told[0].message
    script.pore = 0.0
    script.row(60.0)
    cleared = of(followed(script.rows, None, CELL), "zero-offset")
    assert [one.cleared_at for one in cleared] == [script.now] * raised
