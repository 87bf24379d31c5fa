"""Step and noise of a gauge from its readings."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from reduce import ReductionError
from reduce.resolution import noise_of, resolution_of

SEEDS = some.integers(0, 2**32 - 1)
STEPS = some.sampled_from([0.001, 0.01, 0.05, 0.1, 0.25, 0.5, 1.0, 0.06894757])
OFFSETS = some.floats(-500.0, 1500.0)


def random(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


@given(SEEDS, some.floats(1e-4, 50.0), OFFSETS, some.integers(3000, 20000))
@settings(max_examples=60, deadline=None)
def test_gaussian_noise_is_found(seed: int, sigma: float, offset: float, count: int) -> None:
    times = np.arange(float(count))
    read = offset + random(seed).normal(0.0, sigma, count)
    assert noise_of(times, read) == pytest.approx(sigma, rel=0.15)


@given(SEEDS, some.floats(0.02, 2.0), some.floats(-5.0, 5.0), some.floats(-20.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_a_slow_trend_and_steps_do_not_count(
    seed: int, sigma: float, slope: float, bend: float
) -> None:
    count = 6000
    draw = random(seed)
    times = np.cumsum(draw.uniform(0.5, 2.0, count))  # a pace that wavers
    share = times / times[-1]
    trend = slope * times + bend * np.sqrt(share) * 100.0 + 50.0 * np.floor(8.0 * share)
    read = trend + draw.normal(0.0, sigma, count)
    # Pace and slope: the line between neighbours takes both out
    assert noise_of(times, read) == pytest.approx(sigma, rel=0.15)


@given(SEEDS, STEPS, some.floats(0.8, 20.0), OFFSETS)
@settings(max_examples=60, deadline=None)
def test_step_and_noise_of_a_gauge_that_rounds(
    seed: int, step: float, steps_of_noise: float, offset: float
) -> None:
    sigma = steps_of_noise * step
    read = np.round((offset + random(seed).normal(0.0, sigma, 5000)) / step) * step
    found = resolution_of(read)
    assert found == pytest.approx(step, rel=1e-6)
    rounded = np.hypot(sigma, step / np.sqrt(12.0))
    assert noise_of(np.arange(5000.0), read) == pytest.approx(rounded, rel=0.15)


@given(STEPS, OFFSETS, some.integers(40, 3000))
def test_a_ramp_has_no_noise_beyond_its_step(step: float, start: float, count: int) -> None:
    times = np.arange(float(count))
    read = np.round((start + 0.37 * step * times) / step) * step
    noise = noise_of(times, read)
    assert noise is not None
    assert noise <= 0.5 * step
    if np.ptp(read) > 40 * step:
        assert resolution_of(read) == pytest.approx(step, rel=1e-6)
    exact = noise_of(times, start + 0.37 * step * times)
    assert exact is None or exact == 0.0


@given(OFFSETS, some.integers(12, 3000))
def test_a_constant_has_no_noise_and_tells_no_step(value: float, count: int) -> None:
    read = np.full(count, value)
    assert noise_of(np.arange(float(count)), read) == 0.0
    assert resolution_of(read) is None


def test_a_gauge_that_flickers_by_its_last_digit() -> None:
    read = np.full(1000, 300.0)
    read[::37] += 0.1
    assert resolution_of(read) == pytest.approx(0.1)
    assert noise_of(np.arange(1000.0), read) == 0.0


@pytest.mark.parametrize(
    "read",
    [
        np.repeat([100.0, 150.0, 200.0, 250.0, 300.0, 350.0], 200),  # set points
        np.repeat([300.0, 350.0, 300.0], 100),  # one check, and back
        300.0 + random(1).normal(0.0, 0.2, 4000),  # more digits than the gauge has
        np.geomspace(1.0, 500.0, 700),
        np.array([301.37, 345.98]),
        np.array([300.0]),
        np.array([]),
        np.full(50, np.nan),
        np.zeros(50),
    ],
)
def test_a_step_that_cannot_be_told_is_none(read: np.ndarray) -> None:
    assert resolution_of(read) is None


def test_a_course_that_bends_tells_no_noise() -> None:
    minutes = np.arange(0.0, 3000.0, 10.0)
    course = 4.0 * (1.0 - np.exp(-minutes / 300.0))
    assert noise_of(minutes * 60.0, course) is None
    # readings of a root-time schedule
    assert noise_of(np.arange(40.0) ** 2 * 15.0, np.exp(-np.arange(40.0) / 9.0)) is None


@given(SEEDS, some.floats(0.01, 0.3), some.floats(4.0, 12.0))
@settings(max_examples=60, deadline=None)
def test_noise_is_told_where_a_course_bends_after_every_step(
    seed: int, sigma: float, settling: float
) -> None:
    # Pore pressure of eight checks, each settling and then at rest, as scheduled rows show them
    since = np.arange(60.0)
    course = [50.0 * (step + 1.0 - np.exp(-since / settling)) for step in range(8)]
    times = np.arange(480.0) * 20.0
    found = noise_of(times, np.concatenate(course) + random(seed).normal(0.0, sigma, 480))
    assert found is not None
    assert 0.75 * sigma < found < 2.0 * sigma  # a bend that ends within a stretch counts with it


@pytest.mark.parametrize("count", [0, 1, 2, 5])
def test_few_readings_tell_no_noise(count: int) -> None:
    assert noise_of(np.arange(float(count)), random(2).normal(300.0, 1.0, count)) is None


def test_gaps_and_times_that_stand_still_are_passed_over() -> None:
    times = np.repeat(np.arange(3000.0), 2)
    read = 300.0 + random(3).normal(0.0, 0.5, 6000)
    read[random(4).random(6000) < 0.4] = np.nan
    assert noise_of(times, read) == pytest.approx(0.5, rel=0.15)
    assert noise_of(np.zeros(6000), read) is None
    assert noise_of(np.arange(6000.0), np.full(6000, np.nan)) is None
    rare = np.full(6000, np.nan)
    rare[::600] = 300.0
    assert noise_of(times, rare) is None
    with pytest.raises(ReductionError, match="each reading needs both"):
        noise_of(times, read[:-1])


def test_a_column_of_600000_takes_no_time() -> None:
    count = 600_000
    read = np.round(300.0 + random(5).normal(0.0, 0.2, count), 2)
    times = np.arange(float(count))
    resolution_of(read)
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        assert resolution_of(read) == pytest.approx(0.01)
        assert noise_of(times, read) == pytest.approx(0.2, rel=0.15)
        taken.append(time.perf_counter() - begin)
    assert min(taken) < 0.05
