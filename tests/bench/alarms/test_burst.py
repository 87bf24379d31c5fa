"""A membrane that bursts: pore pressure jumps to cell pressure and stays there, and volume goes."""

from scripted import Script
from told_alarms import followed, of, settings

WITH_STROKE = settings(
    log={
        "rows": "scheduled",
        "channels": {
            "cell_pressure": {"column": "c", "unit": "kPa", "range": "0 to 1000 kPa"},
            "pore_pressure": {"column": "u", "unit": "kPa", "range": "0 to 1000 kPa"},
            "back_volume": {"column": "v", "unit": "ml", "stroke": "-20 ml to 20 ml"},
        },
    }
)


def held() -> Script:
    """A hold at rest, 60 kPa in the cell and 10 kPa in the pores, read every quarter of an hour."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.96)
    script.raise_back(20.0)
    for _ in range(8):
        script.row(900.0)
    return script


def burst(script: Script, *, volume_ml: float, rows: int, every_s: float = 900.0) -> None:
    """Readings after the jump: the gauge ran to where it stands before the first of them."""
    script.volume += volume_ml
    for k in range(rows):
        script.pore = script.cell
        script.volume += 0.01 * (k % 2)
        script.row(every_s)


def test_a_jump_that_stays_is_a_burst_though_the_volume_has_gone_before_the_first_reading() -> None:
    script = held()
    met = script.now + 900.0
    burst(script, volume_ml=-80.0, rows=3)
    cell = followed(script.rows, cell=WITH_STROKE)
    (found,) = of(cell, "membrane-burst")
    assert (found.since, found.raised_at, found.held_back) == (met, met + 900.0, None)
    # The gauge is beyond what it can show as well; that hides nothing.
    assert of(cell, "sensor-fault")


def test_a_burst_is_told_the_same_however_the_rows_come() -> None:
    script = held()
    burst(script, volume_ml=-80.0, rows=3)
    seen = [followed(script.rows, cell=WITH_STROKE, every=every).spells for every in (1, 7, 10_000)]
    assert seen[0] == seen[1] == seen[2]


def test_pressures_that_meet_while_nothing_flows_are_no_burst() -> None:
    script = held()
    burst(script, volume_ml=0.0, rows=3)
    # Water that flows hours later did not rush out when they met.
    for _ in range(12):
        script.volume -= 2.0
        script.row(900.0)
    assert of(followed(script.rows, cell=WITH_STROKE), "membrane-burst") == []


def test_one_reading_that_jumps_and_comes_back_is_no_burst() -> None:
    script = held()
    pore, volume = script.pore, script.volume
    burst(script, volume_ml=-80.0, rows=1)
    script.pore, script.volume = pore, volume
    script.row(900.0)
    script.row(900.0)
    assert of(followed(script.rows, cell=WITH_STROKE), "membrane-burst") == []
