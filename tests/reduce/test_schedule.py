"""Counting of readings: the wording of the rule as an oracle, two ways of counting as equals."""

import itertools
import math
import random
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce.due_times import continued
from reduce.errors import ReductionError
from reduce.schedule import (
    Count,
    Schedule,
    Tally,
    count,
    every_schedule,
    log_schedule,
    root_schedule,
    strain_schedule,
    times_schedule,
)

SCHEDULES = some.one_of(
    some.builds(root_schedule, some.sampled_from([0.5, 0.7, 1.0]), some.integers(1, 12)),
    some.builds(
        log_schedule,
        some.sampled_from([0.1, 0.25]),
        some.sampled_from([1.5, 2.0]),
        some.integers(1, 10),
    ),
    some.builds(every_schedule, some.sampled_from([10.0, 60.0]), some.integers(1, 20)),
    some.builds(
        times_schedule,
        some.lists(some.integers(1, 3000), min_size=1, max_size=9, unique=True).map(
            lambda times: tuple(sorted(times))
        ),
    ),
)
# Whole and half seconds, so that ties and due times are hit exactly
OFFSETS = some.lists(some.integers(-20, 7000).map(lambda half: half / 2.0), max_size=60)
NOW = some.integers(0, 8000).map(lambda half: half / 2.0)


def by_the_wording(schedule: Schedule, offsets: list[float], now: float) -> Count:
    """Scheduled rows, slot by slot and row by row, as the rule is worded."""
    due = schedule.due
    gaps = [b - a for a, b in zip((0.0, *due), due, strict=False)]
    gaps.append(gaps[-1])
    rows_of: list[list[float]] = [[] for _ in due]
    extra = 0
    for offset in offsets:
        if offset <= 0.0:
            continue
        slot = min(range(len(due)), key=lambda k: (abs(offset - due[k]), k))
        gap = gaps[slot] if offset < due[slot] else gaps[slot + 1]
        if abs(offset - due[slot]) <= gap / 2.0:
            rows_of[slot].append(offset)
        else:
            extra += 1
    letters = ""
    for slot, at in enumerate(due):
        extra += max(0, len(rows_of[slot]) - 1)
        if now < at:
            letters += "d"
        elif rows_of[slot]:
            letters += "t"
        else:
            letters += "m" if now >= at + gaps[slot + 1] / 2.0 else "d"
    upcoming = [at for at in due if at > now]
    return Count(
        slots=len(due),
        taken=letters.count("t"),
        missed=letters.count("m"),
        extra=extra,
        left=letters.count("d"),
        next_offset=upcoming[0] if upcoming else None,
        last_offset=due[-1],
        ticks=letters,
    )


def steadily_by_the_wording(
    schedule: Schedule, offsets: list[float], now: float, interval: float
) -> str:
    """Steady rows: the letters, each slot on its own."""
    due = (0.0, *schedule.due, schedule.due[-1] + (schedule.due[-1] - ([0.0, *schedule.due])[-2]))
    letters = ""
    for k in range(1, len(due) - 1):
        near = max(1.5 * interval, 0.05 * due[k])
        early = min(near, (due[k] - due[k - 1]) / 2.0)
        late = min(near, (due[k + 1] - due[k]) / 2.0)
        served = False
        for offset in offsets:
            tied_with_earlier = k > 1 and offset - due[k - 1] == due[k] - offset
            if offset > 0.0 and due[k] - early <= offset <= due[k] + late and not tied_with_earlier:
                served = True
        if now < due[k]:
            letters += "d"
        else:
            letters += "t" if served else "m" if now >= due[k] + late else "d"
    return letters


@given(SCHEDULES, OFFSETS, NOW)
def test_scheduled_rows_are_counted_by_the_wording(
    schedule: Schedule, offsets: list[float], now: float
) -> None:
    # Halving and adding in another order moves a border by an ulp where due times are no halves
    exact = all(float(at * 4).is_integer() for at in schedule.due)
    counted = count(schedule, np.array(offsets), now)
    assert counted.taken + counted.missed + counted.left == counted.slots
    if exact:
        assert counted == by_the_wording(schedule, offsets, now)


@given(SCHEDULES, OFFSETS, NOW, some.sampled_from([1.0, 5.0, 10.0, 60.0]))
def test_steady_rows_are_counted_by_the_wording(
    schedule: Schedule, offsets: list[float], now: float, interval: float
) -> None:
    counted = count(schedule, np.array(offsets), now, "steady", interval)
    assert counted.taken + counted.missed + counted.left == counted.slots
    assert counted.extra == 0
    if all(float(at * 4).is_integer() for at in schedule.due):
        assert counted.ticks == steadily_by_the_wording(schedule, offsets, now, interval)


@given(
    SCHEDULES,
    OFFSETS,
    NOW,
    some.one_of(some.none(), some.floats(0.1, 100.0)),
    some.lists(some.integers(0, 60), max_size=5),
    some.randoms(use_true_random=False),
)
def test_any_portions_in_any_order_give_the_same_count(
    schedule: Schedule,
    offsets: list[float],
    now: float,
    interval: float | None,
    looks: list[int],
    chance: random.Random,
) -> None:
    whole = count(schedule, np.array(offsets), now, "steady" if interval else "scheduled", interval)
    shuffled = list(offsets)
    chance.shuffle(shuffled)
    tally = Tally(schedule)
    for number, offset in enumerate(shuffled):
        if number in looks:  # a look, and going on from a copy, change nothing
            tally.at(offset)
            tally = tally.copy()
        tally.add(offset)
    assert tally.at(now, interval) == whole


@given(SCHEDULES, OFFSETS, some.lists(NOW, min_size=2, max_size=6))
def test_nothing_that_was_counted_is_taken_back(
    schedule: Schedule, offsets: list[float], moments: list[float]
) -> None:
    counted = [
        count(schedule, np.array([x for x in offsets if x <= now]), now) for now in sorted(moments)
    ]
    for before, later in itertools.pairwise(counted):
        assert later.taken >= before.taken
        assert later.extra >= before.extra
        for was, became in zip(before.ticks, later.ticks, strict=True):
            # A row on the very border of a slot given up still takes it, at that same moment only
            assert became in {"t": "t", "m": "mt", "d": "tmd"}[was]


@given(
    some.lists(some.tuples(some.floats(-5.0, 60.0), some.booleans(), some.booleans()), max_size=60),
    some.sampled_from([None, 0.5, 2.0, 20.0]),
)
def test_a_count_stands_only_while_nothing_could_have_changed(
    turns: list[tuple[float, bool, bool]], row_interval: float | None
) -> None:
    schedule = every_schedule(10.0, 4)
    tally, offsets = Tally(schedule), []
    for at, comes, at_once in turns:
        if comes and at_once:
            tally.add_all(np.array([at]))
        elif comes:
            tally.add(at)
        offsets += [at] if comes else []
        fresh = Tally(schedule)
        fresh.add_all(np.array(offsets, dtype=float))
        for now in (at, at + 1.0, at):
            assert tally.at(now, row_interval) == fresh.at(now, row_interval)
        assert tally.at(at) == fresh.copy().at(at)


def test_a_copy_does_not_touch_its_original() -> None:
    tally = Tally(every_schedule(10.0, 3))
    twin = tally.copy()
    twin.add(10.0)
    assert (tally.at(12.0).ticks, twin.at(12.0).ticks) == ("ddd", "tdd")
    assert (tally.at(12.0).extra, twin.at(12.0).extra) == (0, 0)


# due 10, 20, 40: borders at 5, 15, 30, 50
TELLING = times_schedule((10.0, 20.0, 40.0))


@pytest.mark.parametrize(
    ("offsets", "now", "ticks", "extra", "upcoming", "why"),
    [
        ([], 0.0, "ddd", 0, 10.0, "nothing is due"),
        ([0.0], 9.9, "ddd", 0, 10.0, "the zero reading takes no slot"),
        ([-3.0, 0.0, float("nan")], 9.9, "ddd", 0, 10.0, "nor does anything before it"),
        ([9.0], 9.5, "ddd", 0, 10.0, "taken early counts from the due time on"),
        ([9.0], 10.0, "tdd", 0, 20.0, "at its due time a slot is due"),
        ([9.0, 9.2], 9.5, "ddd", 1, 10.0, "a surplus row is extra at once"),
        ([4.9], 10.0, "ddd", 1, 20.0, "nearer to zero than to the first slot"),
        ([5.0], 10.0, "tdd", 0, 20.0, "within half the first gap, which reaches to 0"),
        ([15.0], 20.0, "tdd", 0, 40.0, "a tie goes to the earlier slot"),
        ([15.1], 20.0, "mtd", 0, 40.0, "beyond the tie: the first slot passed without a row"),
        ([], 14.9, "ddd", 0, 20.0, "due, but not yet given up"),
        ([], 15.0, "mdd", 0, 20.0, "given up half the gap after"),
        ([10.0, 20.0, 50.0], 50.0, "ttt", 0, None, "the last gap repeats its predecessor"),
        ([10.0, 20.0, 50.1], 50.1, "ttm", 1, None, "after the schedule's end rows are extra"),
        ([10.0, 11.0, 12.0, 20.0], 21.0, "ttd", 2, 40.0, "surplus rows take no neighbour's slot"),
    ],
)
def test_cases_of_scheduled_rows(
    offsets: list[float], now: float, ticks: str, extra: int, upcoming: float | None, why: str
) -> None:
    counted = count(TELLING, np.array(offsets), now)
    assert (counted.ticks, counted.extra, counted.next_offset) == (ticks, extra, upcoming), why
    assert (counted.taken, counted.missed) == (ticks.count("t"), ticks.count("m"))
    assert counted.last_offset == 40.0


@pytest.mark.parametrize(
    ("offsets", "now", "interval", "ticks", "why"),
    [
        (np.arange(0, 60, 2.0), 60.0, 2.0, "ttt", "rows at a pace serve every slot"),
        (np.array([12.9]), 60.0, 2.0, "tmm", "within 1.5 row intervals"),
        (np.array([13.1]), 60.0, 2.0, "mmm", "beyond 1.5 row intervals"),
        (np.array([13.1]), 12.9, 2.0, "ddd", "not yet given up"),
        (np.array([15.1]), 60.0, 60.0, "mtm", "never beyond half the gap"),
        (np.array([38.1]), 60.0, 0.1, "mmt", "within 5 % of the due time"),
    ],
)
def test_cases_of_steady_rows(
    offsets: np.ndarray, now: float, interval: float, ticks: str, why: str
) -> None:
    counted = count(TELLING, offsets, now, "steady", interval)
    assert (counted.ticks, counted.extra) == (ticks, 0), why


def test_the_pace_of_steady_rows_is_their_median() -> None:
    offsets = np.array([0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 30.0])
    told = count(every_schedule(20.0, 2), offsets, 50.0, "steady")
    assert told == count(every_schedule(20.0, 2), offsets, 50.0, "steady", 3.0)
    assert count(every_schedule(20.0, 1), np.array([20.5]), 50.0, "steady").ticks == "t"
    assert count(every_schedule(20.0, 1), np.array([21.5]), 50.0, "steady").ticks == "m"


def test_strain_slots_are_counted_at_the_present_strain() -> None:
    schedule = strain_schedule(0.001, 220)
    strains = np.arange(0, 31) * 0.001
    counted = count(schedule, strains, float(strains[-1]))
    assert (counted.taken, counted.missed, counted.left, counted.extra) == (30, 0, 190, 0)
    assert counted.next_offset == 0.031
    assert counted.last_offset == 0.22


def test_due_times_are_the_decimals_that_were_written() -> None:
    assert strain_schedule(0.001, 3).due == (0.001, 0.002, 0.003)
    assert every_schedule(0.1, 7).due[6] == 0.7
    assert log_schedule(0.1, 2.0, 3).due == (6.0, 12.0, 24.0)
    assert root_schedule(0.7, 2).due == (29.4, 117.6)


@pytest.mark.parametrize(
    "make",
    [
        lambda: root_schedule(0.0, 4),
        lambda: root_schedule(math.nan, 4),
        lambda: root_schedule(0.5, 0),
        lambda: root_schedule(0.5, 10**9),
        lambda: root_schedule(1e200, 4),
        lambda: log_schedule(0.1, 1.0, 4),
        lambda: log_schedule(0.1, 10.0, 400),
        lambda: log_schedule(math.inf, 2.0, 4),
        lambda: times_schedule(()),
        lambda: times_schedule((10.0, 10.0)),
        lambda: times_schedule((0.0, 10.0)),
        lambda: times_schedule((10.0, math.nan)),
        lambda: every_schedule(-1.0, 4),
        lambda: strain_schedule(math.inf, 4),
        lambda: count(every_schedule(1, 2), np.array([1.0]), math.nan),
        lambda: count(every_schedule(1, 2), np.array([1.0]), 3.0, "steady", 0.0),
    ],
)
def test_what_makes_no_schedule_is_refused(make: Callable[[], object]) -> None:
    with pytest.raises(ReductionError):
        make()


@given(
    schedule=some.sampled_from(
        [root_schedule(0.5, 40), log_schedule(0.1, 1.5, 26), every_schedule(10.0, 9)]
    ),
    kept=some.integers(2, 8),
)
def test_a_schedule_cut_short_goes_on_as_it_was_meant(schedule: Schedule, kept: int) -> None:
    begun = Schedule(schedule.kind, schedule.due[:kept])
    more = continued(begun, 0.0, schedule.due[-1] * (1 - 1e-9))
    assert more == pytest.approx(schedule.due[kept:])
    assert continued(begun, begun.due[-1], begun.due[-1]) == ()


def test_a_list_goes_on_at_the_ratio_of_its_end() -> None:
    assert continued(times_schedule([60.0, 120.0, 360.0]), 0.0, 2000.0) == (1080.0, 3240.0)
    assert continued(times_schedule([60.0]), 130.0, 400.0) == (240.0, 480.0)
