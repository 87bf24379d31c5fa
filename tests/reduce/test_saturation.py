"""B checks: when they have settled, what they can reach, and when they are accepted."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from reduce import (
    Acceptance,
    Check,
    ReductionError,
    b_part_saturated,
    b_saturated,
    b_value,
    back_pressure_to_saturate,
    judge_checks,
    saturation_after_back_pressure,
    settled_index,
)

# Readings of a scheduled check, at (0.5 k)² min
SCHEDULED = np.array([15.0 * k * k for k in range(13)])


def rise(times: np.ndarray, of: float, over: float) -> np.ndarray:
    """Pore pressure that rises by `of` with a time constant `over`."""
    return 300.0 + of * (1.0 - np.exp(-times / over))


def literally(times: np.ndarray, pore: np.ndarray, held_since: float) -> int | None:
    """The definition word by word, for readings a minute apart or more."""
    for i in range(len(times)):
        if times[i] < held_since + 120.0:
            continue
        for j in range(i + 1, len(times)):
            if abs(pore[j] - pore[j - 1]) / (times[j] - times[j - 1]) >= 1.0 / 600.0:
                break
            if j - i + 1 >= 3 or times[j] - times[i] >= 600.0:
                return i
    return None


@given(
    some.lists(some.integers(60, 1200), min_size=2, max_size=15),
    some.lists(some.integers(-30, 30), min_size=16, max_size=16),
    some.integers(0, 300),
)
@settings(max_examples=300)
def test_sparse_readings_are_judged_word_by_word(
    gaps: list[int], changes: list[int], held_since: int
) -> None:
    times = np.concatenate(([0.0], np.cumsum(np.array(gaps, dtype=float))))
    # 0.09 kPa a change: no rate lies on the limit itself
    pore = 300.0 + np.cumsum(0.09 * np.array(changes[: len(times)]))
    assert settled_index(times, pore, float(held_since)) == literally(times, pore, held_since)


@given(
    some.lists(some.integers(1, 200), min_size=3, max_size=60),
    some.lists(some.floats(-0.4, 0.4), min_size=61, max_size=61),
)
def test_later_readings_never_change_what_was_found(gaps: list[int], noise: list[float]) -> None:
    times = np.concatenate(([0.0], np.cumsum(np.array(gaps, dtype=float))))
    pore = rise(times, 40.0, 90.0) + np.array(noise[: len(times)])
    whole = settled_index(times, pore, 0.0)
    found = None
    for until in range(1, len(times) + 1):
        now = settled_index(times[:until], pore[:until], 0.0)
        assert found is None or now == found
        found = now
    assert found == whole


def test_a_scheduled_check_settles_when_its_rate_has_fallen() -> None:
    pore = rise(SCHEDULED, 47.5, 60.0)
    index = settled_index(SCHEDULED, pore, 0.0)
    assert index is not None
    # |du/dt| = 47.5/60 · exp(−t/60) falls below 1/600 after 370 s
    assert 200.0 < SCHEDULED[index] < 400.0
    assert b_value(float(pore[index] - 300.0), 50.0) == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("pace", [1.0, 5.0, 10.0, 30.0])
@pytest.mark.parametrize("resolution", [0.0, 0.1])
def test_a_noisy_logger_settles_where_the_soil_does(pace: float, resolution: float) -> None:
    times = np.arange(0.0, 2400.0, pace)
    pore = rise(times, 47.5, 60.0) + np.random.default_rng(7).normal(0.0, 0.03, len(times))
    if resolution:
        pore = np.round(pore / resolution) * resolution
    index = settled_index(times, pore, 0.0)
    assert index is not None
    assert 200.0 < times[index] < 700.0
    assert b_value(float(pore[index] - 300.0), 50.0) == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("pace", [1.0, 10.0, 60.0, 300.0])
def test_a_creeping_pore_pressure_never_settles(pace: float) -> None:
    times = np.arange(0.0, 7200.0, pace)
    creeping = 340.0 + 2.0 * times / 600.0
    assert settled_index(times, creeping, 0.0) is None
    # three equal readings in a row are the resolution of the logger, not the soil
    assert settled_index(times, np.round(creeping, 1), 0.0) is None


def test_cell_pressure_must_have_held_two_minutes() -> None:
    times = np.arange(0.0, 1800.0, 60.0)
    flat = np.full(len(times), 345.0)
    assert settled_index(times, flat, 0.0) == 2
    assert settled_index(times, flat, 300.0) == 7
    assert settled_index(times, flat, 1700.0) is None


def test_two_readings_ten_minutes_apart_do() -> None:
    times = np.array([0.0, 60.0, 180.0, 800.0])
    pore = np.array([300.0, 330.0, 345.0, 345.5])
    assert settled_index(times, pore, 0.0) == 2
    assert settled_index(times[:3], pore[:3], 0.0) is None


def test_unread_pore_pressures_are_passed_over() -> None:
    times = np.array([0.0, 120.0, 240.0, 360.0, 480.0, 600.0])
    pore = np.array([300.0, np.nan, 345.0, np.nan, 345.0, 345.0])
    assert settled_index(times, pore, 0.0) == 2
    assert settled_index(times, np.full(6, np.nan), 0.0) is None
    assert settled_index(np.array([]), np.array([]), 0.0) is None


def test_columns_of_a_check_must_belong_together() -> None:
    with pytest.raises(ReductionError, match="each reading needs both"):
        settled_index(np.array([0.0, 1.0]), np.array([0.0]), 0.0)
    with pytest.raises(ReductionError, match="order of time"):
        settled_index(np.array([0.0, 2.0, 1.0]), np.zeros(3), 0.0)


SHARES = some.floats(0.5, 0.999)


@given(SHARES, SHARES, some.booleans())
def test_back_pressure_and_saturation_invert_each_other(
    one: float, other: float, inflow: bool
) -> None:
    start, target = sorted((one, other))
    back = back_pressure_to_saturate(start, target, inflow=inflow)
    assert back >= 0.0
    again = saturation_after_back_pressure(start, back, inflow=inflow)
    assert again == pytest.approx(target, rel=1e-9)


@given(some.floats(0.5, 0.995))
def test_inflow_saves_back_pressure_and_full_saturation_has_its_rule(start: float) -> None:
    full = back_pressure_to_saturate(start)
    assert full == pytest.approx(49.0 * 101.325 * (1.0 - start), rel=1e-9)
    assert full < back_pressure_to_saturate(start, inflow=False)
    assert saturation_after_back_pressure(start, 2.0 * full) == 1.0


@given(some.floats(0.2, 0.8), some.floats(1e-6, 1e-2), some.floats(0.9, 0.9999))
def test_gas_lowers_b_and_pressure_raises_it(n: float, compressible: float, s: float) -> None:
    full = b_saturated(n, compressible)
    low, high = (b_part_saturated(n, compressible, s, at) for at in (200.0, 600.0))
    assert 0.0 < low < high < full < 1.0
    assert b_part_saturated(n, compressible, 1.0, 300.0) == pytest.approx(full, rel=1e-12)


def checks(*values: tuple[float, float], settled: bool = True) -> list[Check]:
    return [Check(b, settled, back) for b, back in values]


STIFF = checks((0.905, 100.0), (0.910, 150.0), (0.912, 200.0), (0.911, 250.0))
SOFT = checks((0.875, 100.0), (0.880, 150.0), (0.882, 200.0), (0.881, 250.0))


@pytest.mark.parametrize(
    ("made", "standard", "accepted", "ground", "why"),
    [
        ([], "ASTM D4767", False, "no check", "nothing was measured"),
        (checks((0.96, 300.0)), None, True, "target", "B reached its target"),
        (checks((0.96, 300.0), settled=False), None, False, "not settled", "still moving"),
        (checks((1.03, 300.0)), "BS 1377-8", False, "too high", "a leak is no pass"),
        (checks((0.96, 250.0), (0.94, 300.0)), None, False, "below target", "the last one counts"),
        (STIFF, "ASTM D4767", True, "unchanged", "B stands still over two increments"),
        (STIFF[1:], "ASTM D4767", True, "unchanged", "two increments are three checks"),
        (STIFF[2:], "ASTM D4767", False, "below target", "one increment is not enough"),
        (STIFF, "BS 1377-8", True, "unchanged", "three successive increments"),
        (STIFF[1:], "BS 1377-8", False, "below target", "two are not three"),
        (STIFF, None, False, "below target", "no standard knows the rule"),
        (SOFT, "ASTM D4767", False, "below target", "under the floor a person must accept"),
        (
            checks((0.90, 100.0), (0.911, 150.0), (0.922, 200.0)),
            "ASTM D4767",
            False,
            "below target",
            "B still rises",
        ),
        (
            checks((0.910, 200.0), (0.911, 200.0), (0.912, 200.0)),
            "ASTM D4767",
            False,
            "below target",
            "repeats at one back pressure prove nothing",
        ),
        (
            [Check(0.91, True, None), *STIFF[2:]],
            "ASTM D4767",
            False,
            "below target",
            "an unknown back pressure proves nothing",
        ),
    ],
)
def test_acceptance(
    made: list[Check], standard: str | None, accepted: bool, ground: str, why: str
) -> None:
    assert judge_checks(made, standard=standard) == Acceptance(accepted, ground), why  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "refused",
    [
        lambda: b_value(10.0, 0.0),
        lambda: b_value(10.0, -5.0),
        lambda: b_saturated(0.0, 1e-4),
        lambda: b_saturated(0.4, 0.0),
        lambda: b_part_saturated(0.4, 1e-4, 1.2, 300.0),
        lambda: b_part_saturated(0.4, 1e-4, 0.9, 0.0),
        lambda: back_pressure_to_saturate(0.0),
        lambda: back_pressure_to_saturate(0.95, 0.90),
        lambda: back_pressure_to_saturate(0.95, 1.01),
        lambda: back_pressure_to_saturate(math.nan),
        lambda: saturation_after_back_pressure(0.95, -1.0),
        lambda: saturation_after_back_pressure(0.95, 100.0, henry=0.0),
    ],
)
def test_out_of_bounds_is_refused(refused: Callable[[], object]) -> None:
    with pytest.raises(ReductionError):
        refused()
