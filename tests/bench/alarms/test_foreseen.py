"""Alarms that rest on a forecast: phase-complete, schedule-ends-early (contract section 7)."""

from math import exp, pi, sqrt

import pytest
from told_alarms import SCHEDULED, Script, followed, of, settings

from tui.bench.alarms.complete import KIND, first_met
from tui.bench.alarms.spells import Spell

CLOCKED = settings(log={"rows": "scheduled"}, plan={"consolidation_end": "6 h"})


def saturating(b: float) -> Script:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(b)
    return script


def test_a_check_at_the_target_completes_saturation() -> None:
    script = saturating(0.96)
    cell = followed(script.rows)
    (told,) = of(cell, "phase-complete")
    assert (told.priority, told.since, told.cleared_at) == ("note", cell.checks[-1].at, None)
    assert "B 0.96" in told.message and "0.95" in told.message
    assert of(followed(saturating(0.94).rows), "phase-complete") == []
    assert of(followed(saturating(1.04).rows), "phase-complete") == []


def test_it_ends_with_the_phase() -> None:
    script = saturating(0.96)
    script.check(0.97, 140.0, build_up=True)
    script.drain()
    told = of(followed(script.rows), "phase-complete")
    saturation = next(one for one in told if one.about == "saturation")
    assert saturation.by_phase
    assert saturation.cleared_at is not None
    assert saturation.cleared_at <= script.begins[-2][2]


def drained() -> Script:
    script = saturating(0.96)
    script.check(0.97, 140.0, build_up=True)
    script.drain(t90_min=60.0)
    return script


def test_by_the_clock_consolidation_is_complete_to_the_second() -> None:
    script = drained()
    zero = script.begins[-1][2] - 15.0
    early = [row for row in script.rows if row.time < zero + 5.5 * 3600.0]
    before, after = (
        of(followed(early, zero + at, CLOCKED), "phase-complete")[1:] for at in (21599.0, 21600.0)
    )
    assert before == []
    assert [(one.about, one.since) for one in after] == [("consolidation", zero + 21600.0)]


def test_by_flow_consolidation_is_complete() -> None:
    flow = settings(log={"rows": "scheduled"}, plan={"consolidation_end": "flow 0.1 %/h"})
    script = drained()
    told = of(followed(script.rows[:-1], None, flow), "phase-complete")
    (met,) = [one.since for one in told if one.about == "consolidation"]
    zero = script.begins[-1][2] - 15.0
    assert met > zero + 60.0 * 80.0
    early = [row for row in script.rows if row.time < zero + 60.0 * 80.0]
    assert of(followed(early, None, flow), "phase-complete")[1:] == []


def test_the_first_moment_is_found_in_few_steps() -> None:
    asked: list[float] = []

    def progress(at: float) -> float:
        asked.append(at)
        return at / 700.5

    assert first_met([float(k) for k in range(1000)], progress) == 701.0
    assert len(asked) <= 10


def test_slots_that_end_early_are_told_an_hour_after_the_begin() -> None:
    few = settings(
        log={"rows": "scheduled"},
        schedule={"consolidation": {"kind": "root", "step": 0.5, "slots": 14}},
    )
    script = drained()
    zero = script.begins[-1][2] - 15.0
    rows = [row for row in script.rows if row.time <= zero + 60.0 * 49.0]
    before = of(followed(rows, zero + 3599.0, few), "schedule-ends-early")
    (told,) = of(followed(rows, zero + 3600.0, few), "schedule-ends-early")
    assert before == []
    assert (told.priority, told.since, told.raised_at) == ("warning", zero, zero + 3600.0)
    assert "add" in told.message
    assert of(followed(rows, zero + 3600.0, SCHEDULED), "schedule-ends-early") == []


def blocked(drainage: str, after_min: float, pore: str) -> list[Spell]:
    """Consolidation told as complete though its stone blocked so soon after drainage opened."""
    script = drained()
    zero = script.begins[-1][2] - 15.0
    last = next(row for row in reversed(script.rows) if row.time <= zero + 60.0 * after_min)
    rows = [
        row._replace(
            back_volume=last.back_volume,
            pore_pressure=last.pore_pressure if pore == "stands" else row.back_pressure,
        )
        if row.time > last.time
        else row
        for row in script.rows
    ]
    both = settings(specimen={"drainage": drainage}, log={"rows": "scheduled"})
    return [one for one in of(followed(rows, None, both), KIND) if one.about == "consolidation"]


@pytest.mark.parametrize("after_min", [0.3, 1.1, 4.1, 16.5])
def test_flow_that_stops_at_once_is_no_end_where_both_ends_drain(after_min: float) -> None:
    assert blocked("both ends", after_min, "stands") == []
    fallen = blocked("both ends", after_min, "has fallen at the drained end")
    zero = drained().begins[-1][2] - 15.0
    assert all(one.since >= zero + 3600.0 for one in fallen)


def test_flow_that_slows_down_is_an_end_where_both_ends_drain() -> None:
    both = settings(specimen={"drainage": "both ends"}, log={"rows": "scheduled"})
    told = of(followed(drained().rows, None, both), KIND)
    assert [one.about for one in told] == ["saturation", "consolidation"]


def read_each_minute(t90_s: float, blocks_s: float = 1e9) -> tuple[list[Spell], float]:
    """What is told of a consolidation by both ends, its pore pressure gone at once; its zero.

    T50 0.197 and T95 1.129 for both ends (textbook, from memory).
    """
    script = saturating(0.96)
    script.check(0.97, 140.0, build_up=True)
    script.row(10)
    zero, volume = script.now, script.volume
    script.begin("consolidation", "drained", 15.0)
    for k in range(58):
        script.now = zero + 25.0 + 60.0 * k
        t = 0.848 * min(script.now - zero, blocks_s) / t90_s
        degree = sqrt(4.0 * t / pi) if t < 0.2 else 1.0 - 0.8106 * exp(-2.4674 * t)
        script.volume, script.pore = volume - 20.0 * degree, script.back
        script.row()
    both = settings(specimen={"drainage": "both ends"}, log={"rows": "steady"})
    told = of(followed(script.rows, None, both), KIND)
    return [one for one in told if one.about == "consolidation"], zero


@pytest.mark.parametrize("t90_s", [130.0, 300.0, 600.0])
def test_a_quick_sand_is_complete_as_soon_as_its_flow_was_seen_to_fade(t90_s: float) -> None:
    (told,), zero = read_each_minute(t90_s)
    t95 = 1.129 / 0.848 * t90_s
    assert zero + 0.9 * t95 < told.since < zero + 1.1 * t95 + 120.0


@pytest.mark.parametrize("blocks_s", [70.0, 110.0, 200.0, 400.0, 700.0])
@pytest.mark.parametrize("t90_s", [1200.0, 3600.0])
def test_flow_that_is_seen_to_stop_has_not_faded(t90_s: float, blocks_s: float) -> None:
    assert read_each_minute(t90_s, blocks_s)[0] == []
