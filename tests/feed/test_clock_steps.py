"""A clock that is set back keeps the rows in their order; late rows take their place in time."""

from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from one_cell_bench import OneCell, one_cell

from tui.bench.look import look
from tui.bench.one_test import read_test
from tui.feed.cell_clock import MOST_STEPS
from tui.feed.clock_steps import ClockStep, ClockWatch
from tui.settings.places import read_layout

START = 1927872000  # 2031-02-03T08:00Z
HEADER = "Time,cell_pressure_kPa\n"


def stepped(stamps: list[float], sizes: list[int] | None = None) -> list[ClockStep]:
    """The steps that are found when the stamps come in portions of these sizes."""
    watch = ClockWatch(counts=False)
    times = np.array(stamps, float)
    edges = [0, *np.cumsum(sizes or []).tolist(), len(times)]
    return [
        step
        for a, b in pairwise(sorted({min(edge, len(times)) for edge in edges}))
        for step in watch.add(times[a:b])
    ]


def text(stamps: list[float], first: int = 0) -> str:
    """Rows with these stamps, numbered by their pressure."""
    return "".join(
        f"{datetime.fromtimestamp(START + stamp, UTC):%Y-%m-%dT%H:%M:%S},{first + k}\n"
        for k, stamp in enumerate(stamps)
    )


def in_time(cell: OneCell) -> list[tuple[float, float]]:
    """(time since the start, number) of all rows, by time."""
    told = cell.told
    pairs = zip(told.times, told.values["cell_pressure"], strict=True)
    return sorted((time - START, value) for time, value in pairs)


LATE = {
    "one row": [0, 10, 20, 40, 30, 50, 60, 70],
    "one row by another beat": [0, 10, 20, 30, 40, 25, 50, 60, 70],
    "a block for a gap": [0, 10, 20, 70, 80, 90, 30, 40, 50, 60, 100, 110],
    "a block for a gap that goes no further": [0, 10, 20, 70, 80, 90, 30, 40, 50, 60],
    "several, each for itself": [0, 20, 10, 40, 30, 60, 50, 80, 70, 90],
    "out of order in the block": [0, 10, 60, 70, 50, 30, 40, 20, 80, 90],
    "an older stretch pasted behind": [100, 110, 120, 130, 140, 0, 10, 20, 30, 40, 50],
    "one row from a far future": [0, 10, 20, 9e7, 30, 40, 50, 60, 70, 80],
    "gaps in the block": [0, 10, 90, 100, 20, 25, 60, 80, 110],
    "none": [0, 10, 10, 20, 30],
}


@pytest.mark.parametrize("stamps", LATE.values(), ids=LATE.keys())
def test_late_rows_are_no_step(tmp_path: Path, stamps: list[float]) -> None:
    assert stepped(stamps) == []
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text(stamps))
    told = cell.read()
    assert [time - START for time in told.times] == stamps
    assert told.problems == ()


@pytest.mark.parametrize(
    ("every_s", "by_s"), [(1.0, 6.0), (1.0, 60.0), (1.0, 900.0), (10.0, 3600.0), (10.0, 7200.0)]
)
def test_rows_of_a_clock_that_is_set_back_keep_their_order(
    tmp_path: Path, by_s: float, every_s: float
) -> None:
    before = [every_s * k for k in range(1000)]
    after = [every_s * k - by_s for k in range(1000, 2000)]
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text(before + after))
    told = cell.read()
    # Right is the clock as it is now: what came before is counted back by what it was wrong.
    assert in_time(cell) == [(every_s * k - by_s, float(k)) for k in range(2000)]
    assert [time - START for time in told.times][1000:] == after
    note = told.said("its clock went back")
    assert note.severity == "note"
    assert "daylight saving" in note.remedy


def test_nothing_is_lost_at_the_begin_of_the_test_when_the_clock_is_set_back(
    tmp_path: Path,
) -> None:
    cell = one_cell(tmp_path)
    stamps = [10.0 * k for k in range(400)] + [10.0 * k - 3600.0 for k in range(400, 800)]
    cell.write("a.csv", HEADER + text(stamps))
    assert look(cell.root).cells[0].rows_used == 800  # the test started with the first of them


def test_every_row_keeps_its_own_stamp(tmp_path: Path) -> None:
    """For whoever hands them on: in file order, as the logger wrote them."""
    stamps = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 15.0, 25.0, 35.0, 45.0, 55.0, 65.0]
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text(stamps))
    layout = read_layout(cell.root)
    record = read_test(layout, layout.places[0]).record
    assert record.stamps_s is not None
    assert (record.stamps_s - START).tolist() == stamps
    assert record.channels["cell_pressure"].tolist() == list(range(12))
    assert (np.diff(record.times_s) > 0).all()


def test_stamps_are_the_times_where_no_clock_was_set(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text([0.0, 10.0, 30.0, 20.0, 40.0]))
    layout = read_layout(cell.root)
    assert read_test(layout, layout.places[0]).record.stamps_s is None


def test_files_before_the_step_are_counted_back_too(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    cell.write("1.csv", HEADER + text([10.0 * k for k in range(100)]))
    mixed = [10.0 * k for k in range(100, 150)] + [10.0 * k - 300.0 for k in range(150, 200)]
    cell.write("2.csv", HEADER + text(mixed, 100))
    cell.write("3.csv", HEADER + text([10.0 * k - 300.0 for k in range(200, 250)], 200))
    cell.read()
    assert in_time(cell) == [(10.0 * k - 300.0, float(k)) for k in range(250)]


def test_two_files_that_grow_together_are_no_step(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text([10.0 * k for k in range(100)]))
    cell.write("b.csv", HEADER + text([10.0 * k + 5.0 for k in range(100)], 1000))
    told = cell.read()
    assert told.problems == ()
    assert len(told.times) == 200


def test_a_clock_that_is_reset_goes_on_where_it_stood(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    long_ago = -31 * 365 * 86400.0
    lost = [long_ago + 10.0 * k for k in range(50)]
    right = [1500.0 + 10.0 * k for k in range(50)]
    cell.write("a.csv", HEADER + text([10.0 * k for k in range(100)] + lost + right))
    told = cell.read()
    assert in_time(cell) == [(10.0 * k, float(k)) for k in range(200)]
    assert "until it is right again" in told.said("its clock went back").what


def test_a_count_that_begins_again_goes_on_where_it_stood(tmp_path: Path) -> None:
    log = '[log]\ntime = { kind = "elapsed s", start = "2031-02-03T08:00" }\n'
    cell = one_cell(tmp_path, log)
    counts = [*range(100), *range(60), *range(30)]
    rows = "".join(f"{count},{number}\n" for number, count in enumerate(counts))
    cell.write("a.csv", "Elapsed,cell_pressure_kPa\n" + rows)
    told = cell.read()
    assert in_time(cell) == [(float(k), float(k)) for k in range(190)]
    assert told.said("its count of time went back")


def test_a_clock_set_back_twice(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    stamps = [10.0 * k - 600.0 * (k >= 200) - 900.0 * (k >= 400) for k in range(600)]
    cell.write("a.csv", HEADER + text(stamps))
    cell.read()
    assert in_time(cell) == [(10.0 * k - 1500.0, float(k)) for k in range(600)]


def test_stamps_that_jump_all_the_time_are_sorted_and_none_is_lost(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    stamps = [10.0 * k - 100.0 * (k // 20) for k in range(2000)]
    cell.write("a.csv", HEADER + text(stamps))
    told = cell.read()
    assert sorted(told.values["cell_pressure"]) == list(range(2000))
    assert sum("went back" in problem.what for problem in told.problems) == MOST_STEPS


def test_what_a_file_showed_is_forgotten_with_it(tmp_path: Path) -> None:
    cell = one_cell(tmp_path)
    cell.write("a.csv", HEADER + text([10.0 * k - 600.0 * (k >= 200) for k in range(400)]))
    assert cell.read().said("its clock went back")
    cell.write("a.csv", HEADER + text([10.0 * k for k in range(300)]))
    told = cell.read()
    assert in_time(cell) == [(10.0 * k, float(k)) for k in range(300)]
    assert not any("went back" in problem.what for problem in told.problems)


def test_a_step_far_behind_is_known_by_every_128th_row() -> None:
    long = [float(k) for k in range(20_000)]
    back = [float(k) + 0.5 for k in range(100, 400)]
    steps = stepped(long + back)
    assert [(step.row, step.after) for step in steps] == [(20_000, 100.5)]


@seed(4)
@settings(max_examples=60, deadline=None, database=None)
@given(
    chance=st.randoms(use_true_random=False),
    sizes=st.lists(st.integers(1, 40), max_size=12),
)
def test_steps_are_the_same_in_any_portions(chance: Random, sizes: list[int]) -> None:
    stamps, now = [], 0.0
    for _ in range(150):
        now += chance.choice([1.0, 1.0, 1.0, 10.0, -3.0, -20.0, 0.0])
        stamps.append(now)
    at_once = stepped(stamps)
    assert stepped(stamps, sizes) == at_once
    assert stepped(stamps, [1] * len(stamps)) == at_once


@seed(6)
@settings(max_examples=25, deadline=None, database=None)
@given(
    begun=st.integers(-120, 0),
    every=st.sampled_from([20, 60, 450, 1800]),
    cuts=st.lists(st.integers(1, 12_000), max_size=8),
)
def test_the_doubled_hour_is_no_step_in_any_portions(
    tmp_path_factory: pytest.TempPathFactory, begun: int, every: int, cuts: list[int]
) -> None:
    # In Oslo clocks go back at 01:00 UTC of 2031-10-26 (directive 2000/84/EC).
    first = datetime(2031, 10, 26, tzinfo=UTC).timestamp() + 60.0 * begun
    moments = [first + every * k for k in range(int(6 * 3600 / every))]
    oslo = ZoneInfo("Europe/Oslo")
    rows = "".join(
        f"{datetime.fromtimestamp(moment, oslo):%Y-%m-%dT%H:%M:%S},{k}\n"
        for k, moment in enumerate(moments)
    )
    content = (HEADER + rows).encode()
    cell = one_cell(tmp_path_factory.mktemp("night"), zone="Europe/Oslo")
    for a, b in pairwise(sorted({0, *(cut for cut in cuts if cut < len(content)), len(content)})):
        cell.append("a.csv", content[a:b])
        cell.read(thorough=False)
    assert cell.read().times == moments
    assert cell.told.problems == ()


@seed(5)
@settings(max_examples=25, deadline=None, database=None)
@given(
    at=st.integers(10, 70),
    by=st.integers(6, 40),
    late=st.integers(2, 90),
    cuts=st.lists(st.integers(1, 1500), max_size=8),
)
def test_rows_are_the_same_in_any_portions(
    tmp_path_factory: pytest.TempPathFactory, at: int, by: int, late: int, cuts: list[int]
) -> None:
    stamps = [10.0 * k - 10.0 * by * (k >= at) for k in range(100)]
    moved = stamps.pop(late)
    stamps.insert(late + 2, moved)
    content = (HEADER + text(stamps)).encode()
    whole = one_cell(tmp_path_factory.mktemp("whole"))
    whole.write("a.csv", content)
    whole.read()
    parts = one_cell(tmp_path_factory.mktemp("parts"))
    for a, b in pairwise(sorted({0, *cuts, len(content)})):
        parts.append("a.csv", content[a:b])
        parts.read(thorough=False)
    parts.read()
    assert in_time(parts) == in_time(whole)
    assert parts.told.problems == whole.told.problems
    assert len(in_time(whole)) == 100
