"""Every fault does what its truth says, from its onset on and not before."""

import json
import tomllib
from functools import cache
from typing import Any

import numpy as np
import pytest

from reduce.rehearsal.readings import scheduled_times
from reduce.rehearsal.sensors import Readings, sense
from tui.rehearsed.compose import Order, compose
from tui.rehearsed.faults import FAULTS, NOT_REHEARSED, read_fault
from tui.rehearsed.orders import WrongOrderError
from tui.rehearsed.scenario import ferry_quay
from tui.rehearsed.sets import one_soil
from tui.rehearsed.striking import Begun, begin_tests, undisturbed
from tui.settings.cell_toml import CellToml

BENCH_S = 52 * 3600.0


@cache
def struck(text: str) -> tuple[Begun, float]:
    """The first cell that a fault strikes, and how long the bench shows it. [s]"""
    cells, end = begin_tests(ferry_quay(6, 0), (read_fault(text),), 0.0, lambda _need: BENCH_S)
    begun = next(one for one in cells if one.strikes)
    return begun, min(end - begun.started, begun.run.end_s)


@cache
def seen(text: str) -> tuple[Readings, float]:
    """What the logger has, and the onset. [s]"""
    begun, shown = struck(text)
    strike = begun.strikes[0]
    onset = strike.here.onset_s
    times = scheduled_times(
        begun.run, begun.setup.reading, tuple(onset + s for s in strike.kind.extra_s)
    )
    readings = sense(begun.run, times[times <= shown], begun.setup.made, 8.0)
    if strike.kind.spoil is not None:
        strike.kind.spoil(strike.here, strike.size, readings)
    return readings, onset


def after(text: str, channel: str) -> Any:
    readings, onset = seen(text)
    return readings.values[channel][readings.seconds > onset]


def before(text: str, channel: str) -> Any:
    readings, onset = seen(text)
    return readings.values[channel][readings.seconds <= onset]


ALARM_KINDS = {
    "over-pressure", "effective-stress-low", "effective-stress-high", "membrane-burst",
    "saturation-stalled", "pressure-drift", "pressure-unsteady", "supply-lost", "leak-membrane",
    "leak-cell", "leak-drainage", "drainage-state", "volume-gauge-end", "log-silent",
    "watch-sparse", "reading-missed", "schedule-ends-early", "sensor-fault", "zero-offset",
    "consolidation-overdue", "rate-too-fast", "shear-stopped", "load-not-taken", "travel-limit",
    "strain-limit", "phase-complete", "temperature-swing", "clock-jump", "disk-low",
}  # fmt: skip
"""Section 7 of the contract."""


def test_every_alarm_kind_can_be_rehearsed_or_says_why_not() -> None:
    assert set(FAULTS) | set(NOT_REHEARSED) == ALARM_KINDS
    assert not set(FAULTS) & set(NOT_REHEARSED)


@pytest.mark.parametrize("kind", sorted(FAULTS))
def test_a_fault_is_in_the_truth_and_its_settings_are_valid(kind: str) -> None:
    composed = compose(Order(faults=(read_fault(kind),)))
    found = []
    for number in range(1, 7):
        truth = json.loads(composed.truth[f"C{number}.json"])
        found += [(number, fault, truth) for fault in truth["faults"]]
        CellToml.model_validate(tomllib.loads(composed.files[f"C{number}/cell.toml"].decode()))
    assert found
    for _, fault, truth in found:
        assert fault["kind"] == kind
        assert truth["started"] <= fault["onset"]
        if kind not in ("log-silent",):
            assert fault["onset"] <= fault["first_reading"] <= truth["last_reading"]
        assert all(isinstance(value, float) for value in fault["size"].values())


@pytest.mark.parametrize("kind", sorted(k for k, f in FAULTS.items() if f.process is not None))
def test_nothing_is_wrong_before_the_onset(kind: str) -> None:
    begun, _ = struck(kind)
    onset = begun.strikes[0].here.onset_s
    well = undisturbed(begun.setup.plan)
    seconds = np.linspace(0.0, onset, 500)
    for name in ("cell_kPa", "back_kPa", "pore_kPa", "back_ml", "travel_mm", "load_N"):
        # The traces have other points near the onset: what lies between differs a little.
        a, b = begun.run.trace.at(name, seconds), well.trace.at(name, seconds)
        assert np.allclose(a, b, rtol=1e-3, atol=0.02), name


def test_over_pressure_comes_near_the_rating() -> None:
    begun, _ = struck("over-pressure")
    assert after("over-pressure", "cell_pressure").max() > 0.98 * begun.setup.plan.rating_kPa
    assert before("over-pressure", "cell_pressure").max() < 0.6 * begun.setup.plan.rating_kPa


def test_effective_stress_goes_to_nothing_or_beyond_the_plan() -> None:
    low = after("effective-stress-low", "cell_pressure") - after(
        "effective-stress-low", "pore_pressure"
    )
    assert low.min() < 1.0
    begun, _ = struck("effective-stress-high")
    high = after("effective-stress-high", "cell_pressure") - after(
        "effective-stress-high", "pore_pressure"
    )
    assert high.max() > begun.setup.plan.effective_kPa + 5.0


def test_a_burst_membrane_brings_pore_to_cell_pressure_and_load_to_nothing() -> None:
    cell = after("membrane-burst", "cell_pressure")[-1]
    assert after("membrane-burst", "pore_pressure")[-1] == pytest.approx(cell, abs=1.0)
    assert (
        after("membrane-burst", "axial_load")[-1] < 0.1 * before("membrane-burst", "axial_load")[-1]
    )


def test_a_blocked_drainage_lets_nothing_in() -> None:
    gap = after("saturation-stalled", "back_pressure") - after(
        "saturation-stalled", "pore_pressure"
    )
    assert gap[-1] > 2.5
    assert np.ptp(after("saturation-stalled", "back_volume")) < 0.05
    readings, onset = seen("saturation-stalled")
    assert readings.seconds[-1] - onset > 3600.0
    assert readings.open_[-1]


def test_drift_and_swing_of_cell_pressure() -> None:
    drift = after("pressure-drift", "cell_pressure")
    assert drift[-1] - before("pressure-drift", "cell_pressure")[-1] == pytest.approx(-8.0, abs=0.5)
    assert after("pressure-unsteady", "cell_pressure").std() > 1.5
    assert before("pressure-unsteady", "cell_pressure")[-5:].std() < 0.2


def test_a_lost_supply_strikes_all_cells_in_the_same_two_minutes() -> None:
    cells, end = begin_tests(
        ferry_quay(6, 0), (read_fault("supply-lost"),), 0.0, lambda _need: BENCH_S
    )
    moments = [begun.started + begun.strikes[0].here.onset_s for begun in cells]
    assert len(moments) == 6
    assert max(moments) - min(moments) <= 1.0
    for begun in cells:
        onset = begun.strikes[0].here.onset_s
        fall = begun.run.trace.one("cell_kPa", onset) - begun.run.trace.one(
            "cell_kPa", onset + 60.0
        )
        assert fall > 10.0
        assert onset < end - begun.started


def test_leaks_are_linear_in_time_and_in_their_own_gauges() -> None:
    def flow(kind: str, channel: str) -> float:
        readings, onset = seen(kind)
        late = readings.seconds > onset
        hours = readings.seconds[late] / 3600.0
        warm = readings.values["temperature"][late]
        table = np.column_stack([hours, warm, np.ones_like(hours)])
        fitted = np.linalg.lstsq(table, readings.values[channel][late], rcond=None)[0]
        return float(fitted[0])

    quiet_back, quiet_cell = flow("leak-cell", "back_volume"), flow("leak-drainage", "cell_volume")
    assert abs(quiet_back) < 0.15, "secondary compression alone"
    assert flow("leak-cell", "cell_volume") - quiet_cell == pytest.approx(0.4, abs=0.05)
    assert flow("leak-drainage", "back_volume") - quiet_back == pytest.approx(0.4, abs=0.05)
    assert flow("leak-membrane", "back_volume") - quiet_back == pytest.approx(-0.4, abs=0.05)
    assert flow("leak-membrane", "cell_volume") - quiet_cell == pytest.approx(0.4, abs=0.05)


def test_a_leaking_membrane_raises_pore_pressure_when_drainage_is_closed() -> None:
    text = "leak-membrane:C4@51"
    begun, _ = struck(text)
    well = undisturbed(begun.setup.plan)
    onset = begun.strikes[0].here.onset_s
    more = begun.run.trace.one("pore_kPa", onset + 3600.0) - well.trace.one(
        "pore_kPa", onset + 3600.0
    )
    assert more > 3.0


def test_the_forgotten_valve_of_consolidation_check_and_shear() -> None:
    assert np.ptp(after("drainage-state:C3", "back_volume")) < 0.1
    begun, shown = struck("drainage-state:C1")
    onset = begun.strikes[0].here.onset_s
    check = next(c for c in begun.run.checks if c.began_s == onset)
    rise = begun.run.trace.one("pore_kPa", check.ended_s) - begun.run.trace.one("pore_kPa", onset)
    flow = begun.run.trace.one("back_ml", check.ended_s) - begun.run.trace.one("back_ml", onset)
    assert rise / check.delta_cell_kPa < 0.1
    assert flow < -0.1
    readings, _ = seen("drainage-state:C4")
    volume = readings.values["back_volume"][readings.seconds > begun.run.contact_s]
    assert np.ptp(volume) > 0.5
    assert shown > onset


def test_gauges_come_to_their_ends() -> None:
    begun, _ = struck("volume-gauge-end")
    column = next(c for c in begun.setup.dialect.columns if c.channel == "back_volume")
    raw = column.sign * after("volume-gauge-end", "back_volume") + column.zero
    low, high = column.stroke or (0.0, 0.0)
    assert min(raw.min() - low, high - raw.max()) < 0.05 * (high - low)
    travel = after("travel-limit", "axial_displacement") / 25.4
    assert travel.max() > 0.9 * 2.0


def test_loggers_fall_silent_miss_rows_say_over_and_jump() -> None:
    readings, onset = seen("log-silent")
    assert readings.seconds[-1] <= onset
    missed, onset = seen("reading-missed")
    begun, shown = struck("reading-missed")
    whole = scheduled_times(begun.run, begun.setup.reading)
    assert len(missed.seconds) == len(whole[whole <= shown]) - 2
    over, onset = seen("sensor-fault")
    rows = np.flatnonzero(over.seconds > onset).tolist()
    assert len(rows) > 3
    assert {row for row, _ in over.texts} == set(rows)
    jumped, onset = seen("clock-jump")
    assert set(np.diff(jumped.clock_s[jumped.seconds > onset]).tolist()) == {0.0}
    assert jumped.clock_s[-1] == -1500.0


def test_a_zero_that_is_off_shows_while_vented() -> None:
    begun, _ = struck("zero-offset")
    assert begun.setup.plan.cell == "C6"
    readings, onset = seen("zero-offset")
    vented = (readings.seconds > onset) & (readings.seconds < onset + 600.0)
    assert readings.values["pore_pressure"][vented].mean() == pytest.approx(4.5, abs=0.3)
    assert begun.setup.dialect.phase_header is not None


def test_the_schedule_ends_before_the_phase() -> None:
    begun, _ = struck("schedule-ends-early")
    reading = begun.setup.reading
    assert reading.strain_slots * reading.strain_step < 0.5 * begun.setup.plan.strain_limit


def test_a_clogged_stone_makes_consolidation_late() -> None:
    begun, shown = struck("consolidation-overdue")
    waited = shown - begun.run.opened_s
    assert waited > 2.0 * begun.run.dissipation.time_of(0.95)
    lost = begun.run.trace.one("back_ml", begun.run.opened_s) - begun.run.trace.one(
        "back_ml", shown
    )
    assert lost < 0.92 * begun.run.compression.primary_ml


def test_shear_too_fast_stopped_or_untouched() -> None:
    fast, _ = struck("rate-too-fast")
    size = fast.strikes[0].size
    assert fast.run.rate_percent_min > 1.1 * size["advised_percent_per_min"]
    assert np.ptp(after("shear-stopped", "axial_displacement")[3:]) < 0.01
    assert len(after("shear-stopped", "axial_displacement")) > 15
    assert np.abs(after("load-not-taken", "axial_load")).max() < 4.0
    assert np.ptp(after("load-not-taken", "axial_displacement")) > 0.002 * 100.0


def test_the_room_warms_by_what_the_truth_says() -> None:
    warm = after("temperature-swing", "temperature")
    assert warm.max() - before("temperature-swing", "temperature")[-1] > 4.0


def test_hours_count_from_the_begin_of_the_bench() -> None:
    begun, _ = struck("pressure-drift:C4@50")
    assert begun.started + begun.strikes[0].here.onset_s == pytest.approx(50.0 * 3600.0, abs=1.0)


def test_a_fault_that_needs_time_moves_its_test_earlier() -> None:
    late, _ = struck("leak-membrane")
    usual, _ = struck("pressure-drift:C3")
    assert late.started < usual.started - 8.0 * 3600.0


def test_several_faults_at_once() -> None:
    composed = compose(
        Order(faults=(read_fault("pressure-drift:C4"), read_fault("temperature-swing:C4"),
                      read_fault("log-silent:C1")))
    )  # fmt: skip
    kinds = [
        [fault["kind"] for fault in json.loads(composed.truth[f"C{n}.json"])["faults"]]
        for n in (1, 4)
    ]
    assert kinds == [["log-silent"], ["pressure-drift", "temperature-swing"]]


@pytest.mark.parametrize("kind", sorted(FAULTS))
def test_faults_also_strike_a_bench_of_one_soil(kind: str) -> None:
    cells, end = begin_tests(
        one_soil("soft-clay", 1, 4), (read_fault(kind),), 0.0, lambda need: need + 60.0
    )
    strike = cells[0].strikes[0]
    assert 0.0 <= strike.here.onset_s < end


@pytest.mark.parametrize("kind", ["membrane-burst", "volume-gauge-end", "drainage-state"])
def test_what_an_unconsolidated_test_does_not_read_cannot_go_wrong(kind: str) -> None:
    with pytest.raises(WrongOrderError, match="no UU test reads"):
        compose(Order(cells=2, soil="silt", kind="UU", faults=(read_fault(kind),)))


@pytest.mark.parametrize("kind", ["shear-stopped", "travel-limit", "pressure-drift", "log-silent"])
def test_the_rest_strikes_an_unconsolidated_test(kind: str) -> None:
    composed = compose(Order(cells=2, soil="silt", kind="UU", faults=(read_fault(kind),)))
    struck_by = [
        fault["kind"]
        for number in (1, 2)
        for fault in json.loads(composed.truth[f"C{number}.json"])["faults"]
    ]
    assert struck_by == [kind]
