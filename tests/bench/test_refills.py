"""A jump of a gauge is a refill or flow: what is flow is never taken out."""

from dataclasses import replace
from math import nan

import numpy as np
import pytest
from gauged import (
    ONE_TRANSDUCER,
    PRESSURES,
    REFILLS,
    SAMPLES,
    SEEN,
    as_reading,
    cell_with,
    only,
    standing,
    told,
    volumes_of,
)
from scripted import START, settings

from tui.bench.advance import fold_of
from tui.bench.readings import in_time_order
from tui.bench.rebasing import Rebasing
from tui.bench.refills import Jump, Point
from tui.bench.zeros import ZeroMove
from tui.feed.rows import Rows
from tui.feed.watch import read_all
from tui.settings.cell_toml import CellToml
from tui.settings.places import read_layout


def test_a_jump_while_pressures_stand_is_no_flow() -> None:
    rows = standing([1.0, 1.1, 49.4, 49.5, nan, 1.2, 1.3])
    fold = Rebasing(REFILLS)
    goes_on, shown = fold.take(rows)
    assert goes_on.channels["back_volume"] == pytest.approx(
        [1.0, 1.1, 1.1, 1.2, nan, 1.2, 1.3], nan_ok=True
    )
    assert shown["back_volume"] is rows.channels["back_volume"]
    up, down = fold.moves
    assert (up.before, up.at, up.by) == (START + 10.0, START + 20.0, "refill")
    assert up.size == pytest.approx(48.3)
    assert (down.before, down.at) == (START + 30.0, START + 50.0)
    assert down.size == pytest.approx(-48.3)


def test_without_refill_nothing_is_changed_but_a_jump_over_the_stroke_is_told() -> None:
    rows = standing([1.0, 1.1, 49.4, 49.5])
    assert Rebasing(cell_with()).take(rows)[0] is rows
    doubting = Rebasing(cell_with(stroke="0 to 60 ml"))
    goes_on, shown = doubting.take(rows)
    assert goes_on is rows
    assert shown == {}
    assert [move.by for move in doubting.moves] == ["doubt"]
    script = [as_reading(rows, k) for k in range(4)]
    (note,) = [
        p for p in only(told(script, cell_with(stroke="0 to 60 ml"))).problems if "jump" in p.what
    ]
    assert note.severity == "note"
    assert "back_volume jumped by +48.3 ml" in note.what
    assert "porewatch rebase C1 back_volume" in note.remedy


BEFORE = Point(0.0, 10.0, 310.0, 160.0, 160.0, None)
FLOWS = {
    "cell pressure was raised": (BEFORE, {"cell": 360.0, "pore": 208.0}, 0.0),
    "back pressure was raised": (BEFORE, {"back": 210.0}, 0.0),
    "no pressure is known": (BEFORE._replace(cell=nan, back=nan), {}, 0.0),
    "a burst membrane": (BEFORE._replace(pore=200.0), {"pore": 309.0}, 0.0),
    "as fast as before": (BEFORE, {}, -0.1),
}


@pytest.mark.parametrize("name", FLOWS)
def test_what_may_be_flow_is_flow(name: str) -> None:
    before, changes, pace = FLOWS[name]
    after = before._replace(time=60.0, volume=4.0, **changes)
    assert not Jump(before, after, pace, 1, 196.0).is_no_flow()


def test_a_valve_that_opens_lets_water_go_one_way() -> None:
    """Excess pore pressure drives water out, not in, and not half a specimen of it."""
    before = BEFORE._replace(pore=300.0)
    out = before._replace(time=6.0, volume=6.0)
    assert not Jump(before, out, 0.0, 1, 196.0).is_no_flow()
    assert Jump(before, out._replace(volume=14.0), 0.0, 1, 196.0).is_no_flow()
    assert Jump(before, out._replace(volume=-38.3), 0.0, 1, 196.0).is_no_flow()
    # The gauge of the cell volume rises when the specimen shrinks.
    assert not Jump(before, out._replace(volume=14.0), 0.0, -1, 196.0).is_no_flow()


def test_water_that_pore_pressure_answers_to_is_flow() -> None:
    """Over a long gap pore pressure sinks by 60 kPa and 6 ml leave; nothing enters meanwhile."""
    before = BEFORE._replace(pore=260.0)
    after = before._replace(time=7200.0, volume=4.0, pore=200.0)
    assert not Jump(before, after, 0.0, 1, 196.0).is_no_flow()
    assert Jump(before, after._replace(volume=16.0), 0.0, 1, 196.0).is_no_flow()


def test_behind_a_closed_valve_nothing_flows() -> None:
    before = BEFORE._replace(pore=300.0, drainage="closed")
    after = before._replace(time=6.0, volume=6.0)
    assert Jump(before, after, 0.0, 1, 196.0).is_no_flow()
    assert not Jump(before, after._replace(drainage="open"), 0.0, 1, 196.0).is_no_flow()


def judged(rows: Rows, cell: CellToml, least: float) -> Rebasing:
    """A test's own volume gauges with another `refill`."""
    channels = {
        name: tuple(
            gauge.model_copy(update={"refill": f"{least} ml"} if name.endswith("volume") else {})
            for gauge in gauges
        )
        for name, gauges in cell.log.channels.items()
    }
    fold = Rebasing(
        cell.model_copy(update={"log": cell.log.model_copy(update={"channels": channels})})
    )
    fold.take(in_time_order(rows))
    return fold


def taken_out(fold: Rebasing) -> list[ZeroMove]:
    return [move for move in fold.moves if move.by == "refill"]


@pytest.mark.parametrize("name", ["C2", "C3", "C4", "C5", "C6"])
def test_no_flow_of_a_whole_test_is_taken_for_a_refill(name: str) -> None:
    """Clay, silt and sand, by scheduled readings hours apart: a third of the usual `refill`."""
    where = read_layout(SAMPLES)
    place = next(one for one in where.places if one.name == name)
    (one,) = read_all(replace(where, places=(place,)))
    assert place.settings is not None
    assert one.rows is not None
    assert taken_out(judged(one.rows, place.settings, 1.0)) == []
    # What is told as flow that might be a refill is the opening of drainage, and only by a limit
    # far below the usual one.
    assert len(judged(one.rows, place.settings, 1.0).moves) <= 2
    assert judged(one.rows, place.settings, 3.0).moves == ()
    # The same rows with a refill in them are not blind to it.
    moved = one.rows.channels["back_volume"].copy()
    middle = len(moved) // 2
    moved[middle:] += 48.3
    rows = replace(one.rows, channels=one.rows.channels | {"back_volume": moved})
    (found,) = taken_out(judged(rows, place.settings, 1.0))
    assert (found.at, round(found.size, 0)) == (rows.times[middle], 48.0)


# Over several readings


def slowly(every_s: float, steps: list[float], flow_ml_s: float = -0.002) -> Rows:
    """Twenty minutes of slow, steady outflow; in their middle the gauge is moved by steps."""
    count = int(1200.0 / every_s)
    moved = np.zeros(count)
    first = count // 2
    moved[first : first + len(steps)] = steps
    rows = standing((10.0 + np.cumsum(moved)).tolist(), every_s)
    volumes = rows.channels["back_volume"] + flow_ml_s * (rows.times - START)
    return replace(rows, channels=rows.channels | {"back_volume": volumes})


SYRINGES = {
    "drawn up at a millilitre a second": (1.0, [1.0] * 40),
    "in three rows, the last of them short": (10.0, [15.0, 15.0, 1.3]),
    "in ten rows": (10.0, [4.0] * 10),
    "pushed out": (1.0, [-2.0] * 10),
    "slow at first and at last": (1.0, [0.4, 1.5, 3.0, 3.0, 3.0, 0.8, 0.2]),
    "a row a minute": (60.0, [3.5, 20.0]),
}


@pytest.mark.parametrize("name", SYRINGES)
def test_a_refill_of_several_rows_is_one_and_only_real_flow_is_left(name: str) -> None:
    every_s, steps = SYRINGES[name]
    rows = slowly(every_s, steps)
    fold = Rebasing(SEEN, ())
    volumes = fold.take(rows)[0].channels["back_volume"]
    first, last = len(rows) // 2 - 1, len(rows) // 2 + len(steps) - 1
    (move,) = fold.moves
    assert (move.by, move.before, move.at) == ("refill", rows.times[first], rows.times[last])
    assert move.size == pytest.approx(sum(steps) - 0.002 * every_s * len(steps))
    # Before and after it nothing is added and nothing lost; what flowed meanwhile is estimated.
    flowed = rows.times - START
    assert volumes[: first + 1] == pytest.approx(10.0 - 0.002 * flowed[: first + 1])
    assert volumes[last:] - volumes[first] == pytest.approx(-0.002 * (flowed[last:] - flowed[last]))
    assert move.unknown == pytest.approx(-0.002 * every_s * len(steps))
    # In between it stands still or is held back.
    between = volumes[first + 1 : last]
    assert np.all(np.isnan(between) | np.isclose(between, volumes[first]))


def test_a_gauge_that_moves_a_little_is_held_back_no_longer_than_it_moves() -> None:
    rows = standing([10.0, 10.0, 10.6, 11.2, 11.2, 11.2], every_s=1.0)
    assert volumes_of(rows, SEEN) == pytest.approx([10, 10, nan, nan, 11.2, 11.2], nan_ok=True)


AMBIGUOUS = {
    "one transducer does not see what drives water": (ONE_TRANSDUCER, {}),
    "no pressure in the pores is known": (SEEN, {"pore_pressure": nan}),
    "pore pressure drives it, but this is too much": (SEEN, {"pore_pressure": 200.0}),
}


@pytest.mark.parametrize("name", AMBIGUOUS)
def test_what_may_be_flow_over_several_rows_is_flow_and_told_once(name: str) -> None:
    cell, changes = AMBIGUOUS[name]
    rows = slowly(1.0, [-1.0] * 40)
    channels = {key: np.full(len(rows), value) for key, value in changes.items()}
    rows = replace(rows, channels=rows.channels | channels)
    fold = Rebasing(cell)
    assert fold.take(rows)[0] is rows
    (move,) = fold.moves
    assert (move.by, move.before, move.at) == ("flow", START + 599.0, START + 639.0)
    assert move.size == pytest.approx(-40.08)


def test_a_refill_while_pressures_move_is_flow_and_told() -> None:
    rows = standing([10.0, 10.0, 10.0, 50.0, 50.0])
    back = np.array([160.0, 160.0, 160.0, 210.0, 210.0])
    rows = replace(rows, channels=rows.channels | {"back_pressure": back, "pore_pressure": back})
    assert volumes_of(rows, SEEN)[-1] == 50.0
    bench = told([as_reading(rows, k) for k in range(5)], SEEN)
    (note,) = [p for p in only(bench).problems if "taken as flow" in p.what]
    assert note.severity == "note"
    assert note.what.startswith("back_volume jumped by +40 ml at ")
    assert "porewatch rebase C1 back_volume --from TIME --to TIME" in note.remedy
    fold = fold_of(bench, "C1")
    assert fold is not None
    assert fold.record().moved_zeros == (note.what,)


def test_flow_as_before_is_worth_no_word() -> None:
    assert moves_of(standing([-4.0 * k for k in range(30)])) == ["flow"]  # where it begins
    assert moves_of(standing([-0.01 * k for k in range(30)])) == []


def moves_of(rows: Rows) -> list[str]:
    raised = rows.channels | {"pore_pressure": np.full(len(rows), 260.0)}
    fold = Rebasing(SEEN)
    fold.take(replace(rows, channels=raised))
    return [move.by for move in fold.moves]


def test_a_cell_put_under_pressure_takes_water() -> None:
    rows = standing([0.0] * 4)
    more = {
        "cell_volume": np.array([0.0, 0.0, 6.0, 6.0]),
        "cell_pressure": np.array([20.0, 20.0, 310.0, 310.0]),
    }
    cell = settings(
        log={
            "channels": PRESSURES | {"cell_volume": {"column": "W", "unit": "ml", "refill": "3 ml"}}
        }
    )
    fold = Rebasing(cell)
    fold.take(replace(rows, channels=rows.channels | more))
    assert fold.moves == ()


def test_jumps_that_count_as_flow_are_told_by_a_few() -> None:
    rows = [as_reading(standing([20.0 * (k % 2) for k in range(200)]), k) for k in range(200)]
    moving = [row._replace(back_pressure=160.0 + 20.0 * (k % 2)) for k, row in enumerate(rows)]
    notes = [p.what for p in only(told(moving, SEEN)).problems if "flow" in p.what]
    assert len(notes) < 10
    assert notes[-1] == "and 15 earlier jumps count as flow too"


def test_what_flowed_meanwhile_is_told_at_the_pace_before() -> None:
    rows = slowly(10.0, [40.0])
    script = [as_reading(rows, k) for k in range(len(rows))]
    bench = told(script, SEEN)
    (note,) = [p.what for p in only(bench).problems if "refilled" in p.what]
    assert note.endswith("is not counted; at the pace before that is about −0.02 ml")
    fold = fold_of(bench, "C1")
    assert fold is not None
    assert fold.record().moved_zeros == (note,)
    (early,) = [p.what for p in only(told(script[59:], SEEN)).problems if "refilled" in p.what]
    assert early.endswith("how much that is cannot be told: too few readings before")


# By a person
