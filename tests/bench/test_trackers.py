"""The trackers under the phases: pressures that move, drainage that opens, a ram that docks."""

import itertools
from dataclasses import dataclass
from random import Random

import pytest

from tui.bench.bend import Course
from tui.bench.moves import Moves
from tui.bench.ram import Ram
from tui.bench.readings import Reading
from tui.bench.trace import Trace
from tui.bench.valve import Valve


@dataclass(frozen=True)
class Case:
    """Rows of one channel and what is to be made of them."""

    reason: str
    values: tuple[float, ...]
    every_s: float
    first: int | None
    """Row at which a move is said to have begun; None: no move."""
    stands: bool = True


MOVES = [
    Case("a regulator wanders", (100, 100.5, 99.6, 100.4, 99.8), 60, None),
    Case("it creeps away over hours", tuple(100 + 0.3 * k for k in range(40)), 600, None),
    Case("it is set up by one step", (100, 100, 150, 150.2, 150.1), 60, 2),
    Case("it is set up slowly", (100, 100, 101, 102, 103, 104, 104.1, 104, 104), 30, 2),
    Case("it has been set just now", (100, 100, 150), 60, 2, stands=False),
    Case("it falls", (100, 100, 60, 60, 60), 60, 2),
    Case("one reading is missing", (100, float("nan"), 150, 150), 60, 2),
]


@pytest.mark.parametrize("case", MOVES, ids=lambda case: case.reason)
def test_pressures_that_stand_and_move(case: Case) -> None:
    moves = Moves("cell_pressure")
    for k, value in enumerate(case.values):
        moves.add(Reading(k * case.every_s, cell_pressure=value))
    assert (moves.first is None) == (case.first is None)
    if moves.first is not None and case.first is not None:
        assert moves.first.time == case.first * case.every_s
        assert moves.before is not None
        assert moves.before.time < moves.first.time
        assert moves.from_level == pytest.approx(100.0, abs=0.5)
    assert moves.moving != case.stands


OPENINGS = [
    Case("noise", (20.0, 20.01, 19.99, 20.0, 19.98), 60, None),
    Case("drainage opened", (20.0, 20.0, 19.9, 19.7, 19.5), 15, 2),
    Case("a slow drip is creep", tuple(20.0 - 0.015 * k for k in range(30)), 3600, None),
    Case("water goes in", (20.0, 20.1, 20.6, 20.8), 60, None),
    Case("first flow is small", (20.0, 20.0, 19.95, 19.86), 6, 2),
]


@pytest.mark.parametrize("case", OPENINGS, ids=lambda case: case.reason)
def test_drainage_is_seen_to_open_by_its_flow(case: Case) -> None:
    valve = Valve()
    valve.closed(Reading(-60.0, back_volume=20.0))
    for k, value in enumerate(case.values):
        valve.add(Reading(k * case.every_s, back_volume=value), cell_stands=True)
    assert (None if valve.first is None else valve.first.time / case.every_s) == case.first


def test_the_logs_word_comes_before_the_flow() -> None:
    valve = Valve()
    valve.closed(Reading(0.0, back_volume=20.0, drainage="closed"))
    assert not valve.add(Reading(60.0, back_volume=15.0, drainage="closed"), cell_stands=True)
    assert valve.add(Reading(75.0, back_volume=15.0, drainage="open"), cell_stands=True)
    assert valve.before is not None
    assert valve.before.time == 60.0


def test_pore_pressure_tells_where_no_volume_is_measured() -> None:
    valve = Valve()
    valve.closed(Reading(0.0, pore_pressure=300.0))
    for k, pore in enumerate((300.0, 299.8, 298.0, 292.0, 280.0)):
        valve.add(Reading(60.0 * k, pore_pressure=pore), cell_stands=True)
    assert valve.first is not None
    assert valve.first.time == 120.0


def test_a_volume_that_is_missing_is_not_told_by_pore_pressure() -> None:
    """One field that cannot be read is no flow, before it nor after it."""
    valve = Valve()
    valve.closed(Reading(0.0, back_volume=20.0, pore_pressure=300.0))
    for k, volume in enumerate((20.0, float("nan"), 20.0, 20.0, 19.8)):
        pore = 300.0 - 6.0 * k
        valve.add(Reading(60.0 * k, back_volume=volume, pore_pressure=pore), cell_stands=True)
        assert (valve.first is not None) == (k == 4)


def ram_after(rows: list[tuple[float, float, float]]) -> Ram:
    """Rows of (travel, load, volume), a minute apart."""
    ram = Ram(height_mm=100.0, volume_ml=200.0)
    for k, (travel, load, volume) in enumerate(rows):
        ram.add(
            Reading(60.0 * k, axial_displacement=travel, axial_load=load, back_volume=volume),
            pressures_stand=True,
            undrained=True,
        )
    return ram


def test_a_ram_that_follows_consolidation_has_not_moved() -> None:
    ram = ram_after([(2.0 + 0.1 * k, 5.0, -0.6 * k) for k in range(12)])
    assert ram.first is None


def test_a_ram_that_docks_moves_without_load() -> None:
    ram = ram_after([(2.0, 5.0, 0.0)] * 3 + [(2.0 + 0.3 * k, 5.0, 0.0) for k in range(1, 4)])
    assert ram.first is not None
    assert ram.first.time == 180.0
    assert ram.load.first is None


def test_a_slow_shear_is_told_by_its_load() -> None:
    ram = ram_after(
        [(2.0, 5.0, 0.0)] * 3 + [(2.0 + 0.02 * k, 5.0 + 4.0 * k, 0.0) for k in range(1, 9)]
    )
    assert ram.load.first is not None
    assert ram.load.first.time == 180.0
    assert ram.first is not None


def test_a_ram_that_goes_back_is_seen() -> None:
    ram = ram_after([(2.0 + 0.5 * k, 5.0 + 20.0 * k, 0.0) for k in range(10)])
    assert not ram.went_back(Reading(600.0, axial_displacement=6.45))
    assert ram.went_back(Reading(600.0, axial_displacement=6.2))


def test_a_trace_stays_small_and_keeps_its_ends() -> None:
    trace = Trace(limit=64)
    for k in range(10_000):
        trace.add(float(k), float(k * k))
    points = trace.points()
    assert len(points) <= 66
    assert points[0] == (0.0, 0.0)
    assert points[-1] == (9999.0, 9999.0**2)
    gaps = [b[0] - a[0] for a, b in itertools.pairwise(points[:-1])]
    assert max(gaps) <= 2.1 * min(gaps)


def test_a_copied_trace_grows_alone() -> None:
    trace = Trace()
    trace.add(0.0, 1.0)
    other = trace.copy()
    other.add(1.0, 2.0)
    assert (len(trace.points()), len(other.points())) == (1, 2)


def test_one_stray_reading_is_no_move() -> None:
    moves = Moves("back_pressure")
    for k, value in enumerate((100.0, 100.1, 103.0, 100.0, 99.9, 100.1)):
        moves.add(Reading(60.0 * k, back_pressure=value))
    assert moves.first is None
    assert not moves.moving


def test_a_slow_shear_after_a_fast_approach_is_no_mere_contact() -> None:
    """0.8 µm a minute is lost in single readings; the line through twenty minutes is not."""
    approach = [(2.0 + 0.3 * k, 5.0, 0.0) for k in range(1, 7)]
    slow = [(3.8 + 0.0008 * k + 0.001 * (k % 2), 5.0, 0.0) for k in range(1, 60)]
    left = [(3.8 + 0.001 * (k % 2), 5.0, 0.0) for k in range(1, 60)]
    for rows, alone in ((slow, False), (left, True)):
        ram = Ram(height_mm=76.0, volume_ml=86.0)
        found = []
        for k, (travel, load, volume) in enumerate([(2.0, 5.0, 0.0)] * 3 + approach + rows):
            reading = Reading(
                60.0 * k, axial_displacement=travel, axial_load=load, back_volume=volume
            )
            ram.add(reading, pressures_stand=True, undrained=True)
            found.append(ram.first is not None and ram.left_alone(reading, 1200.0))
        assert any(found) == alone


def test_the_touch_of_a_slow_shear_is_the_end_of_its_approach() -> None:
    """Its load leaves the noise eight rows later."""
    rows = [(2.0, 5.0, 0.0)] * 3 + [(2.0 + 0.3 * k, 5.0, 0.0) for k in range(1, 7)]
    rows += [(3.8 + 0.002 * k, 5.0 + 0.4 * k, 0.0) for k in range(1, 40)]
    ram = ram_after(rows)
    touch = ram.touch(Reading(3000.0, axial_displacement=3.88))
    assert touch is not None
    assert touch[0].time == 540.0
    assert ram.load.first is not None
    assert ram.load.first.time >= 960.0


def test_a_ram_that_stopped_too_early_touches_with_the_load() -> None:
    rows = [(2.0, 5.0, 0.0)] * 3 + [(2.0 + 0.3 * k, 5.0, 0.0) for k in range(1, 7)]
    rows += [(3.8 + 0.02 * k, 5.0, 0.0) for k in range(1, 20)]
    rows += [(4.2 + 0.02 * k, 5.0 + 6.0 * k, 0.0) for k in range(1, 20)]
    touch = ram_after(rows).touch(Reading(3000.0, axial_displacement=4.6))
    assert touch is not None
    assert touch[0].time == 28 * 60.0


@pytest.mark.parametrize("step_mm", [0.002, 0.0025, 0.004, 0.008])
def test_a_ram_that_stopped_stands_since_then_whatever_noise_does_later(step_mm: float) -> None:
    running = [2.0 + step_mm * k for k in range(41)]
    stop = running[-1]
    # Noise of a gauge of 0.6 µm: one late reading lies furthest of all.
    after = [stop + 0.0003 * (-1) ** k for k in range(30)] + [stop + 0.0025]
    ram = ram_after([(travel, 50.0, 0.0) for travel in (*running, *after)])
    assert ram.still_since is not None
    rows_early = 40 - ram.still_since.time / 60.0
    assert -1 <= rows_early <= 0.01 / step_mm, "as near as the travel of 0.01 mm can tell"


@pytest.mark.parametrize("every_s", [10.0, 60.0])
def test_where_a_slow_ram_stopped_is_told_from_the_line_it_went(every_s: float) -> None:
    """2 µm a minute under a noise of a micrometre and more: told to two minutes."""
    course, chance = Course(), Random("a slow ram")
    rows = round(7200.0 / every_s)
    for k in range(rows):
        time = every_s * k
        travel = 0.002 / 60.0 * min(time, 6000.0) + chance.gauss(0.0, 0.0012)
        course.add(time, travel)
    found = course.stands_from(0.0, 5400.0)
    assert found is not None
    assert abs(found - 6000.0) <= 120.0


def test_a_ram_that_runs_on_has_no_bend() -> None:
    course, chance = Course(), Random("it runs")
    for k in range(400):
        course.add(30.0 * k, 0.001 * k + chance.gauss(0.0, 0.0012))
    assert course.stands_from(0.0, 11000.0) is None


def test_drainage_of_a_large_clay_specimen_opens_slowly() -> None:
    """A hundredth of a millilitre a row is flow, however large the specimen."""
    valve = Valve()
    valve.closed(Reading(-10.0, back_volume=7.42))
    for k in range(40):
        volume = 7.42 - 0.01 * max(0, k - 10)
        valve.add(Reading(10.0 * k, back_volume=volume), cell_stands=True)
    assert valve.first is not None
    assert 110.0 <= valve.first.time <= 150.0


def test_a_piston_that_goes_in_is_seen_by_the_water_it_drives_out() -> None:
    """A cell without axial gauges: 0.1 ml a minute for six minutes, then next to nothing."""
    ram = Ram(height_mm=100.0, volume_ml=196.0)
    volumes = [3.6] * 10 + [3.6 - 0.1 * k for k in range(1, 7)]
    volumes += [3.0 - 0.001 * k for k in range(30)]
    for k, volume in enumerate(volumes):
        ram.add(Reading(60.0 * k, cell_volume=volume), pressures_stand=True, undrained=False)
    assert ram.first is not None
    assert ram.first.time == 600.0
    touch = ram.touch(Reading(60.0 * len(volumes), cell_volume=2.97))
    assert touch is not None
    assert abs(touch[0].time - 960.0) <= 60.0


def test_water_that_gets_warm_is_no_piston() -> None:
    ram = Ram(height_mm=100.0, volume_ml=196.0)
    for k in range(300):
        volume = 3.6 - 0.004 * k  # 1.2 ml in five hours
        ram.add(Reading(60.0 * k, cell_volume=volume), pressures_stand=True, undrained=False)
    assert ram.first is None


def test_gas_that_dissolves_opens_no_drainage() -> None:
    """Pore pressure and the specimen shrink a little, faster and faster for half an hour."""
    valve = Valve()
    valve.closed(Reading(-10.0, pore_pressure=50.0, cell_volume=1.3, back_pressure=10.0))
    for k in range(40):
        reading = Reading(
            60.0 * k,
            back_pressure=10.0,
            pore_pressure=50.0 - 0.004 * k * k,
            cell_volume=1.3 + 0.014 * k,
        )
        assert not valve.add(reading, cell_stands=True), k


def test_a_cell_that_draws_water_shows_that_drainage_is_open() -> None:
    """One end is drained, so that pore pressure at the other does not move yet."""
    valve = Valve()
    valve.closed(Reading(-60.0, pore_pressure=250.0, cell_volume=1.3, back_pressure=100.0))
    for k in range(20):
        reading = Reading(
            30.0 * k,
            back_pressure=100.0,
            pore_pressure=250.0,
            cell_volume=1.3 + 0.05 * max(0, k - 10),
        )
        valve.add(reading, cell_stands=True)
    assert valve.first is not None
    assert abs(valve.first.time - 330.0) <= 60.0


def test_a_drained_shear_that_squeezes_water_out_is_no_ram_that_follows() -> None:
    """The volume that leaves explains travel only as far as it left before the ram moved."""
    ram = Ram(height_mm=76.0, volume_ml=86.0)
    rows = [(2.0, 0.0)] * 60
    rows += [(2.0 + 0.3 * k, 0.0) for k in range(1, 7)]
    rows += [(3.8 + 0.003 * k, -0.0034 * k) for k in range(1, 90)]
    left = False
    for k, (travel, volume) in enumerate(rows):
        reading = Reading(
            60.0 * k, axial_displacement=travel, axial_load=5.0, back_volume=20.0 + volume
        )
        ram.add(reading, pressures_stand=True, undrained=False)
        left |= ram.first is not None and ram.left_alone(reading, 1200.0)
    assert ram.first is not None
    assert not left


def test_load_that_comes_slowly_is_load_in_the_end() -> None:
    """2 N an hour, on a ram that goes on by 10 µm an hour after mere contact."""
    ram = Ram(height_mm=76.0, volume_ml=86.0)
    for k in range(1200):
        reading = Reading(120.0 * k, axial_displacement=3.8 + k / 3000.0, axial_load=5.0 + k / 15.0)
        ram.add(reading, pressures_stand=True, undrained=False)
    assert ram.load.first is not None
    assert ram.first is ram.load.first


def test_a_gauge_that_drifts_under_a_ram_at_rest_is_no_load() -> None:
    ram = Ram(height_mm=76.0, volume_ml=86.0)
    for k in range(1200):
        reading = Reading(120.0 * k, axial_displacement=3.8, axial_load=5.0 + k / 30.0)
        ram.add(reading, pressures_stand=True, undrained=False)
    assert ram.load.first is None


def test_a_ram_too_slow_to_be_seen_to_stop_is_told_by_the_load_that_relaxes() -> None:
    course, chance = Course(), Random("it relaxes")
    for k in range(47):
        run, stood = 300.0 * min(k, 40), 300.0 * max(0, k - 40)
        load = 100.0 + run / 3000.0 - 4.0 * (1.0 - 2.0 ** (-stood / 900.0))
        course.add(300.0 * k, load + chance.gauss(0.0, 0.2))
    found = course.falls_from(0.0, 11_000.0)
    assert found is not None
    assert abs(found - 12_300.0) <= 300.0
