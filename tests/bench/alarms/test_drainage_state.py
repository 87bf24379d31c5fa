"""A valve that stands the other way, and drainage through which nothing flows.

B below 0.1 while volume flows, ten minutes: contract section 7. That a closed valve lets no volume
through, and that an excess pore pressure drives water out, is common practice, no source.
"""

from math import sqrt

import pytest
from drained_rows import consolidating, spells
from scripted import Script, settings, whole_test

from tui.bench.readings import NAN, Reading

KIND = "drainage-state"


def _checked(b: float, squeezed_ml: float) -> tuple[list[Reading], float]:
    """A log that names its steps: a check after which some volume has flowed."""
    script = Script(phase_word="setup")
    script.set_up()
    script.phase_word = "saturation/hold"
    script.raise_back(10.0)
    script.phase_word = "saturation/b-check"
    script.row(10)
    began = script.now
    script.check(b)
    rows = [
        row._replace(
            back_volume=row.back_volume - squeezed_ml * min(1.0, (row.time - began) / 900.0)
        )
        if row.time > began
        else row
        for row in script.rows
    ]
    return rows, began


def test_a_check_with_the_valve_open() -> None:
    rows, began = _checked(0.02, 1.0)
    (spell,) = spells(rows, KIND)
    assert (spell.reason, spell.priority) == ("open", "urgent")
    assert began < spell.since < began + 600.0
    assert spell.raised_at == spell.since + 600.0
    assert "limit 0.1" in spell.message


def test_where_the_reading_before_tells_no_volume_the_first_of_the_check_counts() -> None:
    rows, began = _checked(0.02, 1.0)
    live = [row._replace(back_volume=NAN) if row.time == began else row for row in rows]
    (spell,) = spells(live, KIND)
    assert (spell.reason, spell.priority) == ("open", "urgent")


@pytest.mark.parametrize(("b", "squeezed_ml"), [(0.02, 0.03), (0.3, 1.0), (0.95, 0.0)])
def test_a_small_b_or_a_flow_alone_is_none(b: float, squeezed_ml: float) -> None:
    rows, _ = _checked(b, squeezed_ml)
    assert not spells(rows, KIND)


def _consolidated(flows: float, falls: float) -> tuple[list[Reading], float]:
    """A log whose word says that drainage is open, with a share of the flow that ought to be."""
    script = consolidating()
    opened = script.begins[-1][2] - 15.0
    zero = next(row for row in reversed(script.rows) if row.time <= opened)
    rows = [
        row._replace(
            back_volume=zero.back_volume + flows * (row.back_volume - zero.back_volume),
            pore_pressure=zero.pore_pressure + falls * (row.pore_pressure - zero.pore_pressure),
            drainage="open",
        )
        if row.time > opened
        else row._replace(drainage="closed")
        for row in script.rows
    ]
    return rows, opened


def test_a_consolidation_without_flow() -> None:
    rows, opened = _consolidated(0.0, 0.0)
    (spell,) = spells(rows, KIND)
    assert (spell.reason, spell.priority) == ("closed", "urgent")
    assert opened < spell.since < opened + 120.0
    assert spell.raised_at == spell.since + 600.0


@pytest.mark.parametrize("flows", [1.0, 0.2])
def test_a_consolidation_that_flows_is_none(flows: float) -> None:
    rows, _ = _consolidated(flows, 1.0)
    assert not spells(rows, KIND)


def test_a_stone_that_is_blocked_behind_the_water_of_its_line() -> None:
    rows, opened = _consolidated(0.0, 0.0)
    rows = [
        row._replace(back_volume=row.back_volume - 0.2) if row.time > opened else row
        for row in rows
    ]
    (spell,) = spells(rows, KIND)
    assert spell.reason == "closed"
    assert opened < spell.since < opened + 120.0
    assert spell.raised_at == spell.since + 600.0


def test_what_flows_while_a_gauge_is_refilled_has_not_stopped() -> None:
    rows, opened = _consolidated(1.0, 1.0)
    kept = [row for row in rows if not opened + 900.0 < row.time < opened + 1400.0]
    rows = [
        row._replace(back_volume=row.back_volume + 30.0) if row.time >= opened + 1400.0 else row
        for row in kept
    ]
    log = {"channels": {"back_volume": {"column": "back_volume", "unit": "ml", "refill": "12 ml"}}}
    assert not spells(rows, KIND, of=settings(log=log))


def test_what_flows_slowly_behind_a_refill_goes_on_since_drainage_was_opened() -> None:
    """A thick clay drains by its top: at its base all of the excess is left for a day."""
    rows, opened = _consolidated(1.0, 0.0)
    zero = next(row for row in reversed(rows) if row.time <= opened)
    drained = [
        zero._replace(
            time=opened + 60.0 * k,
            drainage="open",
            back_volume=zero.back_volume - 0.02 * sqrt(60.0 * k) + (30.0 if k >= 300 else 0.0),
        )
        for k in range(1, 480)
    ]
    log = {"channels": {"back_volume": {"column": "back_volume", "unit": "ml", "refill": "12 ml"}}}
    rows = [row for row in rows if row.time <= opened] + drained
    assert not spells(rows, KIND, of=settings(log=log))


def test_flow_that_stops_while_excess_is_left() -> None:
    rows, opened = _consolidated(1.0, 1.0)
    stops = opened + 700.0
    held = next(row for row in reversed(rows) if row.time <= stops)
    rows = [
        row._replace(back_volume=held.back_volume, pore_pressure=held.pore_pressure)
        if row.time > stops
        else row
        for row in rows
    ]
    (spell,) = spells(rows, KIND)
    assert spell.reason == "closed"
    assert stops < spell.since < stops + 7200.0
    assert "stopped" in spell.message


@pytest.mark.parametrize(("out_ml", "is_open"), [(1.5, True), (0.05, False), (-0.2, False)])
def test_an_undrained_shear_that_drains(out_ml: float, is_open: bool) -> None:
    script = whole_test()
    shear = next(start for _, step, start in script.begins if step == "shear")
    ends = next(start for name, _, start in script.begins if name == "ended")
    rows = [
        row._replace(
            back_volume=row.back_volume - out_ml * min(1.0, (row.time - shear) / (ends - shear))
        )
        if row.time > shear
        else row
        for row in script.rows
    ]
    found = spells(rows, KIND)
    assert bool(found) == is_open
    if found:
        assert found[0].reason == "open" and found[0].since > shear


def test_a_drained_shear_is_not_judged() -> None:
    script = whole_test()
    rows = [replace_volume(row, k) for k, row in enumerate(script.rows)]
    assert not [
        spell
        for spell in spells(rows, KIND, of=settings(test={"kind": "CD", "standard": "BS 1377-8"}))
        if spell.reason == "open"
    ]


def replace_volume(row: Reading, place: int) -> Reading:
    """Volume that goes on and on, slowly."""
    return row._replace(back_volume=row.back_volume - 0.0005 * place)


def test_drainage_that_is_opened_after_pore_pressure_has_answered_is_no_open_valve() -> None:
    # A stiff specimen loses its pressure before a tenth of a millilitre has flowed.
    rows, _ = _checked(0.9, 0.0)
    last = rows[-1]
    opened = [
        last._replace(
            time=last.time + 60.0 * k,
            pore_pressure=last.back_pressure,
            back_volume=last.back_volume - 0.04 * k,
        )
        for k in range(1, 20)
    ]
    assert not spells(rows + opened, KIND)
