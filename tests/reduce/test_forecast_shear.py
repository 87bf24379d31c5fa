"""Forecast of shear against invented frames, integrated step by step: speed, drift, resolution."""

from dataclasses import dataclass
from functools import lru_cache
from time import perf_counter

import numpy as np
import pytest

from reduce.errors import ReductionError
from reduce.forecast import Forecast, shear

LIMIT = 0.15


@dataclass(frozen=True)
class Frame:
    """One invented shear."""

    times: np.ndarray
    strains: np.ndarray
    ends: float


def invent(seed: int) -> Frame:
    """A frame whose speed wanders by a few per cent, read by a transducer with noise and counts."""
    rng = np.random.default_rng(seed)
    rate = float(np.exp(rng.uniform(np.log(2e-8), np.log(2e-4))))  # 0.0001 … 1 %/min
    steps = 4000
    step = 1.4 * LIMIT / rate / steps
    # A slow return of the speed to its set value (Ornstein and Uhlenbeck), plus warming up.
    wander, speeds = 0.0, np.empty(steps)
    size = float(rng.uniform(0.0, 0.02))
    memory = float(rng.uniform(50, 800))
    for i in range(steps):
        wander += -wander / memory + size * np.sqrt(2 / memory) * rng.normal()
        speeds[i] = rate * (1 + wander - 0.01 * np.exp(-i / 400))
    clock = 5000.0 + step * np.arange(steps + 1)
    travel = np.concatenate([[0.0], np.cumsum(speeds * step)])
    ends = float(np.interp(LIMIT, travel, clock))
    if rng.random() < 0.5:  # by the clock
        times = 5000.0 + np.arange(1, 300) * LIMIT / rate / 250
    else:  # by strain, every 0.1 %
        times = np.interp(np.arange(1, 200) * 0.001, travel, clock)
    times = times[times < clock[-1]]
    true = np.interp(times, clock, travel)
    count = float(rng.choice([2e-6, 1e-5, 5e-5]))  # 0.2 µm … 5 µm on 100 mm
    strains = np.round((true + rng.normal(0, count, len(true))) / count) * count
    return Frame(times, strains, ends)


@lru_cache(maxsize=1)
def frames() -> tuple[Frame, ...]:
    return tuple(invent(seed) for seed in range(200))


def ask(times: np.ndarray, strains: np.ndarray, **given: float) -> Forecast:
    asked = {"now": 1e12, "limit": LIMIT, "zero_strain_time": 5000.0} | given
    return shear(times, strains, **asked)


@pytest.mark.parametrize(("part", "error"), [(0.1, 0.03), (0.25, 0.03), (0.5, 0.02), (0.8, 0.02)])
def test_coverage(part: float, error: float) -> None:
    inside, errors, widths = [], [], []
    for frame in frames():
        now = 5000 + part * (frame.ends - 5000)
        found = ask(frame.times, frame.strains, now=now)
        assert found.at is not None, found.basis
        inside.append(found.earliest <= frame.ends <= found.latest)
        errors.append(abs(found.at - frame.ends) / (frame.ends - now))
        widths.append((found.latest - found.earliest) / (frame.ends - now))
        assert found.progress == pytest.approx(part, abs=0.08)
    assert 0.70 <= np.mean(inside) <= 0.97
    assert np.median(errors) < error
    assert np.median(widths) < 0.15


STEADY = 5000 + 60.0 * np.arange(1, 101)
STRAIN = 0.0005 * np.arange(1, 101)


def test_a_steady_ram_is_carried_on_exactly() -> None:
    found = ask(STEADY, STRAIN)
    assert found.at == pytest.approx(5000 + 300 * 60)
    assert found.earliest == pytest.approx(found.at, rel=0.01)
    assert found.progress == pytest.approx(1 / 3)
    assert found.basis == "0.05 %/min over the last 29 min, carried on to 15 %"


def test_a_ram_that_stopped_is_said_to_stand() -> None:
    stopped = np.minimum(STRAIN, 0.04)
    rng = np.random.default_rng(0)
    for noise in (0.0, 2e-6):
        found = ask(STEADY, stopped + rng.normal(0, noise, 100) if noise else stopped)
        assert found.at is found.earliest is found.latest is None
        assert "stood still for 20 min at 4.00%" in found.basis
        assert found.progress == pytest.approx(0.04 / 0.15, abs=1e-3)


def test_a_ram_that_never_moved() -> None:
    for strains in (np.zeros(100), np.random.default_rng(1).normal(0, 1e-5, 100)):
        found = ask(STEADY, strains)
        assert found.at is None
        assert found.basis.startswith("cannot say")


def test_a_change_of_speed_is_followed() -> None:
    """Ten times faster since twelve readings: the old speed no longer counts."""
    strains = np.concatenate([STRAIN[:60], STRAIN[59] + 0.005 * np.arange(1, 13)])
    found = ask(STEADY[:72], strains)
    left = (LIMIT - strains[-1]) / (0.005 / 60)
    assert found.at == pytest.approx(STEADY[71] + left, abs=0.05 * left)


def test_wild_readings_do_not_matter() -> None:
    wild = STRAIN.copy()
    wild[[20, 83, 91]] = [0.9, 0.3, -0.5]
    wild[50] = np.nan
    found = ask(STEADY, wild)
    assert found.at == pytest.approx(23000, rel=0.005)


def test_limit_reached() -> None:
    found = ask(STEADY, STRAIN, limit=0.03025)
    assert found.at == found.earliest == found.latest == pytest.approx(5000 + 60.5 * 60)
    assert found.progress == 1.0


def test_what_is_not_shear_yet() -> None:
    assert ask(STEADY[:4], STRAIN[:4]).basis.startswith("cannot say yet: needs 5 readings")
    assert ask(STEADY, STRAIN, zero_strain_time=1e6).at is None
    assert ask([], []).at is None


def test_readings_after_now_are_not_seen() -> None:
    assert ask(STEADY, STRAIN, now=STEADY[49]) == ask(STEADY[:50], STRAIN[:50])


def test_shuffled_and_repeated_readings_are_the_same_readings() -> None:
    order = np.random.default_rng(2).permutation(100)
    again = np.append(order, order[:10])
    assert ask(STEADY[again], STRAIN[again]) == ask(STEADY, STRAIN)


def test_refusals() -> None:
    with pytest.raises(ReductionError, match="one length"):
        ask(STEADY, STRAIN[:-1])


def test_cost_of_a_call() -> None:
    """At most 5 ms with 300 readings; the fastest of ten, as others use this machine too."""
    frame = frames()[0]
    times, strains = np.linspace(5001, 6000, 300), np.linspace(1e-4, 0.1, 300)
    spent = []
    for _ in range(10):
        start = perf_counter()
        ask(times, strains)
        spent.append(perf_counter() - start)
    assert frame.ends > 5000
    assert min(spent) < 0.005
