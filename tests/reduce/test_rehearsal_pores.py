"""Boyle, Henry and Skempton in the pores of a rehearsed specimen."""

from itertools import pairwise

import pytest

from reduce.rehearsal.pores import ATMOSPHERE_KPA, Pores

HOUR_S = 3600.0


def made(saturation: float, **other: float) -> Pores:
    return Pores(
        volume_ml=200.0, porosity=0.5, saturation=saturation,
        skeleton_per_kPa=other.pop("skeleton_per_kPa", 1.5e-4), dissolving_s=60.0, **other,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("void_ratio", "skeleton_per_kPa", "printed", "digits"),
    [(2.0, 1.45e-3, 0.9998, 1e-4), (0.6, 1.45e-4, 0.9988, 1e-4), (0.6, 1.45e-5, 0.9877, 1e-3),
     (0.4, 1.45e-6, 0.9130, 6e-3)],
)  # fmt: skip
def test_saturated_b_after_black_and_lee(
    void_ratio: float, skeleton_per_kPa: float, printed: float, digits: float
) -> None:
    """Black & Lee (1973), column S = 100 %, from memory; their water is a little softer than ours,
    which shows in the stiffest soils."""
    porosity = void_ratio / (1.0 + void_ratio)
    pores = Pores(100.0, porosity, 1.0, skeleton_per_kPa, 60.0)
    assert pores.b_value == pytest.approx(printed, abs=digits)


@pytest.mark.parametrize(("s0", "printed"), [(0.90, 562.9), (0.95, 266.6), (0.98, 103.4)])
def test_pressure_that_dissolves_all_gas_at_constant_water(s0: float, printed: float) -> None:
    """pa (1 - S0) / (H S0), H = 0.02, pa = 101.3 kPa: Boyle and Henry, after Lowe & Johnson."""
    pores = made(s0)
    cell = 0.0
    while pores.free_ml > 1e-9:
        cell += 0.25
        for _ in range(12):
            pores.step(HOUR_S, cell)
    assert pores.pore_kPa == pytest.approx(printed, rel=0.005)


@pytest.mark.parametrize(("s0", "printed"), [(0.90, 496.5), (0.95, 248.2), (0.98, 99.3)])
def test_back_pressure_that_saturates_with_water_let_in(s0: float, printed: float) -> None:
    """pa (1 - S0)(1 - H) / H; Lowe & Johnson (1960) as their formula is remembered."""
    pores = made(s0, skeleton_per_kPa=1e-9)
    back = 0.0
    while pores.free_ml > 1e-9:
        back += 0.25
        for _ in range(12):
            pores.step(HOUR_S, back + 10.0, back, conductance_ml_kPa_s=1.0)
    assert back == pytest.approx(printed, rel=0.005)


def test_a_step_with_the_valve_closed_gives_b_times_the_step() -> None:
    pores = made(0.96)
    expected = pores.b_value
    pores.step(1e-6, 0.01)
    assert pores.pore_kPa / 0.01 == pytest.approx(expected, rel=1e-3)


def test_b_rises_with_back_pressure_and_soft_lines_bound_it() -> None:
    plain, soft = made(0.96), made(0.96, line_ml_kPa=0.004)
    seen: list[float] = []
    for pressure in range(0, 900, 50):
        for pores in (plain, soft):
            for _ in range(100):
                pores.step(HOUR_S, pressure + 10.0, float(pressure), 0.01)
        seen.append(plain.b_value)
    # Once saturated, B stands still but for the water that the skeleton makes room for.
    assert all(later > earlier - 1e-5 for earlier, later in pairwise(seen))
    assert seen[0] < 0.6
    assert plain.b_value > 0.99
    bound = 200.0 * 1.5e-4 / (200.0 * 1.5e-4 + 0.004)
    assert soft.b_value == pytest.approx(bound, abs=0.004)


def test_volumes_balance_at_any_time() -> None:
    pores = made(0.95)
    for cell, back, valve in ((60.0, 0.0, 0.0), (60.0, 50.0, 0.002), (110.0, 50.0, 0.0)):
        for _ in range(50):
            pores.step(20.0, cell, back, valve)
            skeleton = pores.volume_ml * pores.skeleton_per_kPa * (cell - pores.pore_kPa)
            water = pores.water_ml * (1.0 - 4.59e-7 * pores.pore_kPa)
            assert pores.void_ml - skeleton == pytest.approx(water + pores.gas_ml, abs=1e-6)


def test_gas_is_neither_made_nor_lost() -> None:
    pores = made(0.93)
    at_first = pores.free_ml + pores.dissolved_ml
    for _ in range(200):
        pores.step(30.0, 310.0, 300.0, 0.001)
    assert pores.free_ml + pores.dissolved_ml == pytest.approx(at_first, rel=1e-12)
    assert pores.gas_ml == pytest.approx(
        pores.free_ml * ATMOSPHERE_KPA / (ATMOSPHERE_KPA + pores.pore_kPa)
    )


def test_dissolving_takes_its_time() -> None:
    slow = Pores(200.0, 0.5, 0.95, 1.5e-4, dissolving_s=10.0 * HOUR_S)
    slow.step(1.0, 400.0)
    at_once = slow.dissolved_ml
    for _ in range(600):
        slow.step(60.0, 400.0)
    share = (slow.dissolved_ml - at_once) / (
        0.02 * slow.water_ml * (ATMOSPHERE_KPA + slow.pore_kPa) / ATMOSPHERE_KPA - at_once
    )
    assert 0.4 < share < 0.9
