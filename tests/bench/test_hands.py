"""What a cell asks for in each step of its test, when, and for how long it can wait."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from made_bench import arrived, layout, shown
from scripted import START, settings, whole_test

from tui.bench.advance import advance, empty_bench
from tui.bench.as_json import status_json
from tui.bench.attended import Attended
from tui.bench.hands import LIMIT_WAITS_S, PHASE_WAITS_S, STEP_WAITS_S, when_attended
from tui.bench.picture import Bench, Hand
from tui.bench.readings import Reading
from tui.journal.acts import Act
from tui.settings.bench_toml import BenchToml
from tui.settings.places import Layout, Place

H = 3600.0
SCRIPT = whole_test()


def until(step: str, number: int = 0, before_s: float = 1.0) -> list[Reading]:
    """The rows before a step begins."""
    begins = [time for _, name, time in SCRIPT.begins if name == step]
    return [row for row in SCRIPT.rows if row.time < begins[number] - before_s]


def asked(rows: list[Reading]) -> tuple[Hand, ...]:
    return shown(rows, rows[-1].time).hands


def test_setting_up_goes_on_whenever_somebody_likes() -> None:
    (hand,) = asked(until("raise"))
    assert (hand.what, hand.at, hand.good_until) == ("go on with setting up", None, None)


def test_a_settled_check_asks_for_back_pressure_from_then_on() -> None:
    rows = until("raise", 1)
    cell = shown(rows, rows[-1].time)
    (hand,) = cell.hands
    assert hand.what == "B check has settled: raise back pressure"
    assert hand.at == cell.checks[-1].at
    assert hand.good_until == cell.checks[-1].at + STEP_WAITS_S


def test_a_check_that_runs_settles_when_those_before_it_did() -> None:
    first, *_, running = [time for _, step, time in SCRIPT.begins if step == "b-check"]
    rows = [row for row in SCRIPT.rows if row.time < running + 120.0]
    cell = shown(rows, rows[-1].time)
    took = [check.at - check.began for check in cell.checks[:-1]]
    (hand,) = cell.hands
    assert hand.what == "B check: wait until pore pressure settles"
    assert hand.at is not None
    assert min(took) <= hand.at - cell.checks[-1].began <= max(took)
    alone = asked([row for row in SCRIPT.rows if row.time < first + 120.0])
    assert alone[0].at is None


def test_drainage_is_opened_once_pore_pressure_has_settled_in_the_build_up() -> None:
    rows = until("drained")
    cell = shown(rows, rows[-1].time)
    (hand,) = cell.hands
    assert hand.what == "pore pressure has settled: open drainage"
    assert hand.at == cell.checks[-1].at
    (before,) = asked([row for row in rows if row.time < cell.checks[-1].at])
    assert (before.what, before.at) == ("open drainage once pore pressure has settled", None)


@pytest.mark.parametrize(
    ("step", "what", "waits"),
    [
        ("dock", "consolidation ends: dock and shear", PHASE_WAITS_S),
        ("", "strain limit: stop, save, let pressures down", LIMIT_WAITS_S),
    ],
)
def test_the_end_of_a_phase_is_that_of_its_projection(step: str, what: str, waits: float) -> None:
    rows = until(step)
    cell = shown(rows, rows[-1].time)
    hand, aim = cell.hands[0], cell.projection
    assert (hand.what, hand.at, hand.earliest, hand.latest) == (
        what,
        aim.at,
        aim.earliest,
        aim.latest,
    )
    assert hand.at is not None
    assert hand.good_until == hand.at + waits


@pytest.mark.parametrize("has_reading", [True, False])
def test_a_planned_hold_asks_for_nothing_before_its_end(has_reading: bool) -> None:
    rows = until("b-check", 1, 60.0)
    now = rows[-1].time
    held = now - 300.0 if has_reading else now + 10.0
    act = Act(
        1, "mark", "C1", "T1", held, now, "ada", "host",
        phase="saturation", step="hold", until=now + 9 * H,
    )  # fmt: skip
    bench = advance(empty_bench(layout(), START), now=now, arrivals=[arrived(rows)])
    before = bench.hands
    assert before[0].what == "B check 2"
    held_bench = advance(bench, now=now + 60.0, acts=(act,))
    assert [(hand.what, hand.at) for hand in held_bench.hands] == [
        ("planned hold ends", now + 9 * H)
    ]
    assert advance(held_bench, now=now + 60.0, acts=()).hands == before


def test_a_hold_that_the_readings_have_left_is_over() -> None:
    rows = until("raise", 1)
    began = next(time for _, step, time in SCRIPT.begins if step == "b-check")
    now = rows[-1].time
    act = Act(
        1, "mark", "C1", "T1", began - 600.0, now, "ada", "host",
        phase="saturation", step="hold", until=now + 9 * H,
    )  # fmt: skip
    bench = advance(empty_bench(layout(), START), now=now, arrivals=[arrived(rows)])
    (hand,) = advance(bench, now=now, acts=(act,)).hands
    assert hand.what == "B check has settled: raise back pressure"


def at(text: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("ready", "now", "comes"),
    [
        # 5 February 2031 is a Wednesday
        ("2031-02-06T02:10", "2031-02-05T14:00", "2031-02-06T07:30"),
        ("2031-02-06T08:00", "2031-02-05T14:00", None),
        ("2031-02-05T13:00", "2031-02-05T14:00", None),
        # what nobody has done goes to the next who comes
        ("2031-02-05T13:00", "2031-02-05T17:00", "2031-02-06T07:30"),
        ("2031-02-05T02:10", "2031-02-05T09:00", None),
        (None, "2031-02-05T17:00", None),
    ],
)
def test_when_somebody_is_there(ready: str | None, now: str, comes: str | None) -> None:
    hand = Hand("C1", "B check 2", None if ready is None else at(ready), None, None)
    attended = Attended.of("Mon-Fri 07:30-16:00", UTC)
    (found,) = when_attended((hand,), attended, at(now))
    assert found == replace(hand, attended_at=None if comes is None else at(comes))
    assert when_attended((found,), attended, at("2031-02-05T01:00"))[0].at == hand.at


def attended_bench(rows: list[Reading], now: float, attended: str) -> Bench:
    made = layout(Place("C1", "C1", Path("bench/C1"), settings()))
    lies = Layout(
        made.root, BenchToml.model_validate({"attended": attended}), made.zone, made.places
    )
    return advance(empty_bench(lies, START), now=now, arrivals=[arrived(rows)])


def test_the_bench_moves_what_is_asked_for_to_attended_hours_and_says_both() -> None:
    rows = until("raise", 1)
    now = rows[-1].time
    there = Attended.of("Mon-Sun 22:00-23:00", UTC)
    assert there is not None
    bench = attended_bench(rows, now, "Mon-Sun 22:00-23:00")
    (hand,) = bench.hands
    assert hand.at is not None
    assert hand.attended_at == there.next(now) > now >= hand.at
    (visit,) = bench.visits
    assert (visit.at, visit.hands) == (hand.attended_at, (hand,))
    told = status_json(bench)
    assert told["hands"][0]["attended_at"] == datetime.fromtimestamp(visit.at, UTC).isoformat()
    assert told["visits"] == [
        {
            "at": datetime.fromtimestamp(visit.at, UTC).isoformat(),
            "until": datetime.fromtimestamp(visit.until, UTC).isoformat(),
            "hands": told["hands"],
        }
    ]
    assert set(told["hands"][0]) == {
        "cell", "what", "at", "earliest", "latest", "attended_at", "good_until",
    }  # fmt: skip
    assert advance(bench, now=now + 1.0).cells[0] is bench.cells[0]
