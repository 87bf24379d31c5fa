"""Forecast of saturation against invented cells whose B comes from volumes of gas and water.

The cells below keep volumes and amounts of gas (Boyle, Henry, a lag of dissolving) and solve the
balance of an undrained rise of cell pressure with scipy. They know no formula for B.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pytest
from scipy import optimize

from reduce.errors import ReductionError
from reduce.forecast import SaturationForecast, saturation

ATMOSPHERE = 101.325


@dataclass(frozen=True)
class Cell:
    """The checks of one invented cell, up to the first that passes or the limit."""

    times: np.ndarray
    pressures: np.ndarray
    b: np.ndarray
    paces: np.ndarray
    limit: float
    passes: int | None
    """Index of the first passing check."""

    def forecast(self, known: int, **given: object) -> SaturationForecast:
        asked = {"limit": self.limit, "now": self.times[known - 1]} | given
        return saturation(
            self.times[:known],
            self.pressures[:known],
            self.b[:known],
            now=asked["now"],
            target=0.95,
            cell_step_kPa=50.0,
            back_pressure_limit_kPa=asked["limit"],
            since=0.0,
            began=self.times[:known] - 60.0,  # its checks are made at once
            prior_step_s=21600.0,
        )


def invent(seed: int) -> Cell:
    rng = np.random.default_rng(seed)
    voids, air = 40.0, float(rng.uniform(0.01, 0.2))
    skeleton = 86.0 * float(np.exp(rng.normal(np.log(3e-4), 1.0)))  # ml/kPa
    lag = float(rng.uniform(0.3, 1.0))  # part of the way to Henry's balance in each step
    limit = float(rng.choice([400.0, 600.0, 800.0]))
    pace = float(np.exp(rng.normal(np.log(7200), 0.6)))
    free = voids * air * ATMOSPHERE  # kPa ml
    dissolved = 0.02 * voids * (1 - air) * ATMOSPHERE
    pressure, time = 0.0, 0.0
    times, pressures, b, paces = [], [], [], []
    passes = None
    while pressure < limit - 1 and passes is None:
        pressure += 50.0
        gas = free / (ATMOSPHERE + pressure)
        water = voids - gas
        holds = 0.02 * water * (ATMOSPHERE + pressure)
        moved = min(lag * max(holds - dissolved, 0.0), free)
        free, dissolved = free - moved, dissolved + moved

        def left_over(
            rise: float, free: float = free, water: float = water, p: float = pressure
        ) -> float:
            at_rest = free / (ATMOSPHERE + p)
            squeezed = free / (ATMOSPHERE + p + rise)
            return skeleton * (50.0 - rise) - (at_rest - squeezed) - water * 4.59e-7 * rise

        rise = optimize.brentq(left_over, 0.0, 50.0)
        paces.append(pace * float(np.exp(rng.normal(0, 0.15))))
        time += paces[-1]
        times.append(time)
        pressures.append(pressure)
        b.append(rise / 50.0 + rng.normal(0, 0.006))
        if b[-1] >= 0.95:
            passes = len(b) - 1
    return Cell(*(np.array(x) for x in (times, pressures, b, paces[1:])), limit, passes)


@lru_cache(maxsize=1)
def cells() -> tuple[Cell, ...]:
    return tuple(invent(seed) for seed in range(300))


@pytest.mark.parametrize(("known", "error"), [(1, 0.6), (2, 0.25), (3, 0.2), (5, 0.2)])
def test_coverage(known: int, error: float) -> None:
    """Cells that do pass, some time later: the interval is meant for 80 %.

    One check gives a level and no trend: gas or a stiff skeleton? It may miss by half.
    """
    inside, errors, untold = [], [], 0
    for cell in cells():
        if cell.passes is None or cell.passes < known:
            continue
        found = cell.forecast(known)
        if found.at is None:
            untold += 1
            continue
        truth = cell.times[cell.passes]
        assert cell.times[known - 1] < found.earliest <= found.at <= found.latest
        inside.append(found.earliest <= truth <= found.latest)
        errors.append(abs(found.at - truth) / (truth - cell.times[known - 1]))
    assert len(inside) >= 50
    assert 0.70 <= np.mean(inside) <= 0.97
    assert np.median(errors) < error
    assert untold <= 0.2 * (untold + len(inside))


@pytest.mark.parametrize("known", [2, 4, 6])
def test_chance_of_passing_is_meant(known: int) -> None:
    """Where it says a chance, about so many do pass."""
    told = [
        (cell.forecast(known).reach, cell.passes is not None)
        for cell in cells()
        if len(cell.b) > known and (cell.passes is None or cell.passes >= known)
    ]
    chances, passed = np.array(told, dtype=float).T
    assert np.mean(passed) == pytest.approx(np.mean(chances), abs=0.1)
    assert np.mean(passed[chances > 0.9]) > 0.9
    assert np.mean(passed[chances < 0.1]) < 0.1


def test_out_of_reach_is_said() -> None:
    said = 0
    for cell in cells():
        if cell.passes is None and len(cell.b) > 4 and cell.b[3] < 0.6:
            found = cell.forecast(4)
            said += "out of reach" in found.basis
            assert found.at is None or found.reach < 0.9
    assert said >= 3


def hand(b: list[float], **given: object) -> SaturationForecast:
    pressures = 50.0 * np.arange(1, len(b) + 1)
    asked = {
        "now": 1e9, "target": 0.95, "cell_step_kPa": 50.0, "back_pressure_limit_kPa": 600.0,
        "since": 0.0,
    } | given  # fmt: skip
    pace = asked.pop("pace", 7200.0)
    return saturation(pace * np.arange(1, len(b) + 1), pressures, b, **asked)


def test_a_stalled_cell() -> None:
    """B stays at 0.88 whatever the back pressure: a stiff skeleton or a soft line."""
    found = hand([0.80, 0.865, 0.88, 0.882, 0.879, 0.881])
    assert found.at is found.earliest is found.latest is None
    assert found.basis.startswith("out of reach")
    assert found.reach < 0.1
    assert "even without gas B would be about 0.89" in found.basis
    assert dict(found.curve)[max(dict(found.curve))] == pytest.approx(0.885, abs=0.015)


def test_a_limit_that_is_too_low_is_told_from_soft_lines() -> None:
    """B still rises, but the limit is near: gas is left, and what would dissolve it is said."""
    found = hand([0.55, 0.70, 0.79, 0.85], now=4 * 7200.0, back_pressure_limit_kPa=250.0)
    assert found.at is None
    needs = float(found.basis.split("needs about ")[1].split(" kPa")[0])
    assert 300.0 <= needs <= 600.0


def test_a_passed_check() -> None:
    found = hand([0.8, 0.9, 0.96, 0.97])
    assert found.at == found.earliest == found.latest == 3 * 7200.0
    assert found.progress == 1.0


def test_a_leak_is_no_pass() -> None:
    found = hand([1.05])
    assert found.at is None
    assert "leak" in found.basis
    with_leak, without = (hand(b, now=3 * 7200.0) for b in ([0.7, 0.82, 1.10], [0.7, 0.82]))
    assert with_leak.at != with_leak.earliest
    assert dict(with_leak.curve)[50.0] == pytest.approx(dict(without.curve)[50.0])
    assert 150.0 not in dict(with_leak.curve)


def test_b_that_sinks_is_not_carried_on() -> None:
    found = hand([0.85, 0.75, 0.62, 0.5])
    assert found.at is None
    assert "cannot say yet, because B sinks" in found.basis


def test_pace_of_this_cell_and_the_plan() -> None:
    b = [0.6, 0.75, 0.85]
    slow, fast = (hand(b, pace=pace, now=3 * pace) for pace in (12000.0, 4000.0))
    assert slow.at - 36000 == pytest.approx(3 * (fast.at - 12000), rel=0.3)
    long, short = (hand([0.75], now=7200.0, prior_step_s=hours * 3600.0) for hours in (12, 3))
    assert long.at > short.at > 7200.0


def test_nobody_comes_at_night() -> None:
    """Ready in the evening, the next check is made in the morning, and the interval says so."""
    morning = 30 * 3600.0
    hours = ((0.0, 8 * 3600.0), (morning, morning + 8 * 3600.0), (54 * 3600.0, 62 * 3600.0))
    b, now = [0.6, 0.75, 0.88, 0.94], 4 * 7200.0
    found = hand(b, now=now, attended=hours)
    assert morning < found.earliest <= found.at < morning + 2 * 3600.0
    assert "in attended hours" in found.basis
    assert hand(b, now=now).at < now + 4 * 3600.0


def test_what_has_not_happened_by_now_lies_ahead() -> None:
    """A step that takes longer than those before it is not told as over."""
    b = [0.6, 0.75, 0.88, 0.94]
    for late in (1.5, 3.0, 10.0):
        found = hand(b, now=(4 + late) * 7200.0)
        assert found.earliest > (4 + late) * 7200.0


def test_a_check_that_runs_is_the_next() -> None:
    b, now = [0.6, 0.75, 0.88, 0.93], 4 * 7200.0 + 4000.0
    runs = hand(b, now=now, running_since=now - 100.0, level_kPa=250.0)
    assert now < runs.earliest < now + 1800.0
    assert runs.back_pressure_kPa == 250.0
    low = hand(b, now=now, running_since=now - 3000.0, running_b=0.90, level_kPa=250.0)
    assert low.at > now + 3600.0  # its own B says that it does not pass


def test_more_checks_narrow_the_interval() -> None:
    ratios = []
    for cell in cells():
        if cell.passes is not None and cell.passes >= 6:
            early, late = cell.forecast(1), cell.forecast(5)
            if early.at is not None and late.at is not None:
                ratios.append((late.latest - late.earliest) / (early.latest - early.earliest))
    assert len(ratios) >= 20
    assert np.median(ratios) < 0.5


def test_before_the_first_check() -> None:
    found = saturation([], [], [], now=0.0, target=0.95, cell_step_kPa=50.0, since=0.0)
    assert found.at is not None
    assert "prior: no check yet" in found.basis
    assert found.latest - found.earliest > 2 * (found.at - found.earliest) > 0


def test_checks_after_now_are_not_seen() -> None:
    assert hand([0.6, 0.75, 0.97], now=2 * 7200.0) == hand([0.6, 0.75], now=2 * 7200.0)


def test_curve_rises_and_passes_the_checks() -> None:
    b = [0.60, 0.72, 0.81, 0.87]
    at, curve = np.array(hand(b, now=4 * 7200.0).curve).T
    assert np.all(np.diff(curve) > 0)
    assert at[-1] == pytest.approx(600.0)
    np.testing.assert_allclose(np.interp(50.0 * np.arange(1, 5), at, curve), b, atol=0.02)


def test_refusals() -> None:
    with pytest.raises(ReductionError, match="one length"):
        saturation([0.0], [50.0, 100.0], [0.5], now=0.0, target=0.95, cell_step_kPa=50.0, since=0.0)
    with pytest.raises(ReductionError, match="cell step is 0 kPa"):
        hand([0.5], cell_step_kPa=0.0)
