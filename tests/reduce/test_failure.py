"""Failure by each criterion and moduli, on curves that are known in closed form and on bad ones."""

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.record import Kind, Membrane, SideDrains
from reduce.shearing.failure import BACK as GONE_BACK
from reduce.shearing.failure import (
    MINOR_BOUNDS_KPA,
    Failures,
    FailureState,
    failure_states,
    minutes_to,
)
from reduce.shearing.stiffness import initial_modulus, secant_modulus_50, tangent_modulus_50
from reduce.shearing.table import ShearSetting, ShearTable, shear_table

CELL, BACK = 450.0, 300.0


def table_of(
    strain: Column, q: Column, excess: Column | None = None, kind: Kind = "CU"
) -> ShearTable:
    """A specimen without corrections that has exactly this deviator and pore pressure."""
    setting = ShearSetting(kind, "ASTM D4767", 1000.0, 100.0, 100.0, zero_pore_kPa=BACK)
    channels = {
        "axial_displacement": strain * 100.0,
        "axial_load": q / (1.0 - strain),
        "cell_pressure": np.full(len(strain), CELL),
    }
    if excess is not None:
        channels["pore_pressure"] = BACK + excess
    return shear_table(setting, channels)


def plain(strain: Column) -> Column:
    """A parabola with its top, 100 kPa, at 6 %."""
    return 100.0 - 100.0 * (strain / 0.06 - 1.0) ** 2


EVEN = np.linspace(0.0, 0.2, 201)


def test_peak_ratio_and_limit_of_a_curve_with_a_top() -> None:
    excess = 60.0 * np.minimum(EVEN / 0.03, 1.0)
    found = failure_states(table_of(EVEN, plain(EVEN), excess), 0.10)
    peak, ratio, limit = found.peak_deviator, found.peak_ratio, found.at_strain_limit
    assert peak is not None
    assert ratio is not None
    assert limit is not None
    assert (peak.axial_strain, peak.row) == (pytest.approx(0.06), 60)
    assert peak.deviator_kPa == pytest.approx(100.0)
    assert peak.pore_kPa == pytest.approx(360.0)
    assert peak.excess_pore_kPa == pytest.approx(60.0)
    assert peak.sigma3_effective_kPa == pytest.approx(90.0)
    assert peak.sigma1_effective_kPa == pytest.approx(190.0)
    assert peak.ratio == pytest.approx(190.0 / 90.0)
    assert pytest.approx(0.6) == peak.A
    assert peak.mean_effective_kPa == pytest.approx(90.0 + 100.0 / 3.0)
    assert peak.centre_effective_kPa == pytest.approx(140.0)
    assert peak.shear_stress_kPa == pytest.approx(50.0)
    assert ratio.row == 60
    assert limit.axial_strain == pytest.approx(0.10)
    assert limit.deviator_kPa == pytest.approx(100.0 - 400.0 / 9.0)
    assert not found.still_rising
    assert found.why is None


def test_criteria_differ_where_pore_pressure_says_so() -> None:
    """Dilating: pore pressure is highest at 3 %, the ratio peaks before the deviator."""
    excess = 100.0 - 150.0 * np.abs(EVEN - 0.03) / 0.06
    q = 100.0 * np.minimum(EVEN / 0.03, 1.0) + 400.0 * np.maximum(EVEN - 0.03, 0.0)
    found = failure_states(table_of(EVEN, q, excess), 0.09)
    assert found.peak_ratio is not None
    assert found.peak_deviator is not None
    assert found.peak_ratio.axial_strain == pytest.approx(0.03)
    assert found.peak_deviator.axial_strain == pytest.approx(0.09)


def test_a_peak_beyond_the_limit_is_none() -> None:
    found = failure_states(table_of(EVEN, plain(EVEN)), 0.03)
    assert found.peak_deviator is not None
    assert found.peak_deviator.axial_strain == pytest.approx(0.03)
    assert found.still_rising


@given(some.floats(0.011, 0.149), some.integers(3, 60))
def test_the_limit_is_met_between_two_readings(limit: float, count: int) -> None:
    """Deviator and pore pressure are straight lines here, so that any spacing meets them."""
    strain = np.linspace(0.0, 0.15, count)
    found = failure_states(table_of(strain, 1000.0 * strain, 400.0 * strain), limit)
    state = found.at_strain_limit
    assert state is not None
    assert state.axial_strain == pytest.approx(limit)
    assert state.deviator_kPa == pytest.approx(1000.0 * limit)
    assert state.excess_pore_kPa == pytest.approx(400.0 * limit)
    assert pytest.approx(0.4) == state.A
    minor = CELL - BACK - 400.0 * limit
    assert state.ratio == pytest.approx(1.0 + 1000.0 * limit / minor)


def test_a_limit_on_a_reading_takes_the_reading() -> None:
    found = failure_states(table_of(EVEN, plain(EVEN)), 0.1)
    assert found.at_strain_limit is not None
    assert found.at_strain_limit.row == 100


def test_lost_readings_are_passed_over() -> None:
    q = plain(EVEN)
    q[58:63] = np.nan
    strain = EVEN.copy()
    strain[99:102] = np.nan
    found = failure_states(table_of(strain, q), 0.1)
    assert found.peak_deviator is not None
    assert found.peak_deviator.row in (57, 63)
    assert found.at_strain_limit is not None
    assert found.at_strain_limit.deviator_kPa == pytest.approx(
        (plain(np.array([0.098])) + plain(np.array([0.102])))[0] / 2.0
    )


@pytest.mark.parametrize(
    ("scale", "rising"), [(0.3, True), (0.05, True), (0.002, False), (0.0005, False)]
)
def test_rising_up_to_the_end(scale: float, rising: bool) -> None:
    """A hyperbola is still rising when its knee is far, and has its plateau when it is near."""
    noise = np.random.default_rng(5).normal(0.0, 0.05, len(EVEN))
    found = failure_states(table_of(EVEN, 200.0 * EVEN / (scale + EVEN) + noise), 0.15)
    assert found.still_rising is rising


def test_a_ratio_of_soil_that_liquefies_is_not_taken_from_noise() -> None:
    """σ′3 falls to nothing within 2 %; from there on it is noise about zero."""
    random = np.random.default_rng(6)
    excess = 150.0 * np.minimum(EVEN / 0.02, 1.0) + random.normal(0.0, 0.3, len(EVEN))
    q = np.where(EVEN < 0.02, 90.0 * np.sin(np.pi * EVEN / 0.02), 0.0) + 3.0
    found = failure_states(table_of(EVEN, q, excess), 0.15)
    assert found.peak_ratio is not None
    assert found.peak_ratio.sigma3_effective_kPa is not None
    assert found.peak_ratio.sigma3_effective_kPa > MINOR_BOUNDS_KPA[1]
    assert found.peak_ratio.axial_strain is not None
    assert found.peak_ratio.axial_strain < 0.02


def test_a_floor_in_kilopascals_for_soft_soil() -> None:
    setting = ShearSetting("CU", "ASTM D4767", 1000.0, 100.0, 100.0)
    minor = np.array([10.0, 5.0, 0.9])
    table = shear_table(
        setting,
        {
            "axial_displacement": np.array([0.0, 1.0, 2.0]),
            "axial_load": np.array([0.0, 8.0, 8.0]),
            "cell_pressure": minor,
            "pore_pressure": np.zeros(3),
        },
    )
    assert minor[2] < MINOR_BOUNDS_KPA[0]
    found = failure_states(table, 0.15).peak_ratio
    assert found is not None
    assert found.row == 1


BEFORE = np.array([2.0 * GONE_BACK, 3.0 * GONE_BACK, 2.0 * GONE_BACK])
"""Strain while the ram was not there yet: it counts from the end of dock."""


def test_before_the_end_of_dock_nothing_fails() -> None:
    """A piston that sticks shows a load that no specimen carries: neither peak, nor ratio, nor
    modulus is taken from there, and all is as if those readings were not."""
    strain, q = np.append(BEFORE, EVEN), np.append([400.0, 500.0, 30.0], plain(EVEN))
    excess = np.append([149.0, 149.0, 149.0], 60.0 * np.minimum(EVEN / 0.03, 1.0))
    table, bare = table_of(strain, q, excess), table_of(EVEN, q[3:], excess[3:])
    found, wanted = failure_states(table, 0.10), failure_states(bare, 0.10)
    assert found.peak_deviator is not None and wanted.peak_deviator is not None
    assert found.peak_deviator.row == 63 and wanted.peak_deviator.row == 60
    for one, other in zip(states(found), states(wanted), strict=True):
        assert one.axial_strain == other.axial_strain
        assert (one.deviator_kPa, one.ratio) == (other.deviator_kPa, other.ratio)
    for modulus in (secant_modulus_50, tangent_modulus_50, initial_modulus):
        told = modulus(table, found.peak_deviator)
        assert told is not None
        assert told == modulus(bare, wanted.peak_deviator)


def test_a_gauge_that_reads_a_little_below_zero_costs_no_reading() -> None:
    """Brittle soil fails within a tenth of a per cent: its peak may come with a strain that the
    noise of the gauge puts below zero."""
    strain = np.array([0.0, -0.0001, -0.0002, 0.0008, 0.002, 0.004])
    found = failure_states(table_of(strain, np.array([0.0, 60.0, 90.0, 40.0, 30.0, 30.0])), 0.15)
    assert found.peak_deviator is not None
    assert found.peak_deviator.row == 2


def test_deviators_that_no_load_gives_are_passed_over() -> None:
    q = plain(EVEN)
    q[[10, 20]] = -1e200, 1e200
    table = table_of(EVEN, q)
    found = failure_states(table, 0.15)
    assert found.peak_deviator is not None
    assert found.peak_deviator.row == 60
    assert tangent_modulus_50(table, found.peak_deviator) == pytest.approx(
        tangent_modulus_50(table_of(EVEN, plain(EVEN)), found.peak_deviator), rel=0.05
    )


def test_mohrs_circles_at_failure() -> None:
    """A circle reaches from σ3 to σ1, whichever stresses it is of; the load alone gives what
    membrane and side drains are still part of."""
    setting = ShearSetting(
        "CU", "ASTM D4767", 1000.0, 100.0, 100.0, zero_pore_kPa=BACK,
        membrane=Membrane(0.3, 1400.0), side_drains=SideDrains(60.0, 0.19),
    )  # fmt: skip
    channels = {
        "axial_displacement": 100.0 * EVEN,
        "axial_load": plain(EVEN) / (1.0 - EVEN),
        "cell_pressure": np.full(len(EVEN), CELL),
        "pore_pressure": BACK + 60.0 * np.minimum(EVEN / 0.03, 1.0),
    }
    for state in states(failure_states(shear_table(setting, channels), 0.1005)):
        assert state.centre_kPa is not None and state.shear_stress_kPa is not None
        assert state.centre_effective_kPa is not None and state.mean_kPa is not None
        assert state.deviator_kPa is not None and state.pore_kPa is not None
        for centre, minor, major in (
            (state.centre_kPa, state.sigma3_kPa, state.sigma1_kPa),
            (state.centre_effective_kPa, state.sigma3_effective_kPa, state.sigma1_effective_kPa),
        ):
            assert centre - state.shear_stress_kPa == pytest.approx(minor)
            assert centre + state.shear_stress_kPa == pytest.approx(major)
        assert state.mean_kPa == pytest.approx(CELL + state.deviator_kPa / 3.0)
        assert state.mean_effective_kPa == pytest.approx(state.mean_kPa - state.pore_kPa)
        assert state.membrane_kPa and state.side_drains_kPa
        carried = state.membrane_kPa + state.side_drains_kPa
        assert state.uncorrected_deviator_kPa == pytest.approx(state.deviator_kPa + carried)


@given(some.floats(0.011, 0.149), some.floats(0.001, 5.0))
def test_time_to_failure_is_strain_over_rate(limit: float, percent_per_min: float) -> None:
    """At a steady rate, whatever readings are lost and wherever the clock stood."""
    strain = EVEN.copy()
    strain[[40, 41, 75, 120]] = np.nan
    times = 1e6 + 6000.0 * EVEN / percent_per_min
    table = table_of(strain, plain(EVEN))
    found = failure_states(table, limit)
    for state in states(found):
        assert state.axial_strain is not None
        assert minutes_to(table, times, state) == pytest.approx(
            100.0 * state.axial_strain / percent_per_min, rel=1e-6
        )
    assert len(states(found)) == 2
    assert minutes_to(table, times, None) is None


NAN = np.full(5, np.nan)
FIVE = np.linspace(0.0, 0.04, 5)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (table_of(FIVE, -50.0 * FIVE / 0.04, 10.0 * FIVE), "the deviator is negative"),
        (table_of(FIVE, np.array([0.0, 0.5, -0.3, 0.8, 0.1])), "no load was taken"),
        (table_of(FIVE, NAN), "no reading up to the strain limit"),
        (table_of(NAN, FIVE), "no reading up to the strain limit"),
        (table_of(FIVE[4:], np.array([50.0])), "only one reading"),
        (table_of(FIVE[:0], FIVE[:0]), "no reading up to the strain limit"),
        (table_of(FIVE + 0.3, np.full(5, 50.0)), "no reading up to the strain limit"),
    ],
    ids=["extension", "no load", "no deviator", "no strain", "one row", "no rows", "beyond"],
)
def test_what_has_not_failed_says_why(table: ShearTable, words: str) -> None:
    found = failure_states(table, 0.15)
    assert (found.peak_deviator, found.peak_ratio, found.at_strain_limit) == (None, None, None)
    assert not found.still_rising
    assert found.why is not None
    assert f"no peak_deviator: {words}" in found.why or words in found.why
    assert "no peak_ratio: " in found.why
    assert "no at_strain_limit: " in found.why
    assert secant_modulus_50(table, None) is None
    assert tangent_modulus_50(table, None) is None
    assert initial_modulus(table, None) is None


def test_a_strain_limit_must_be_one() -> None:
    with pytest.raises(ReductionError, match="strain limit is 0"):
        failure_states(table_of(FIVE, FIVE), 0.0)


def states(found: Failures) -> list[FailureState]:
    of = (found.peak_deviator, found.peak_ratio, found.at_strain_limit)
    return [state for state in of if state is not None]


@given(
    some.lists(
        some.tuples(
            some.floats(-0.5, 1.5) | some.just(np.nan),
            some.floats(-500.0, 500.0) | some.just(np.nan),
            some.floats(-300.0, 600.0) | some.just(np.nan),
        ),
        max_size=12,
    ),
    some.floats(0.001, 0.5),
)
def test_no_readings_give_a_number_that_is_none(
    rows: list[tuple[float, float, float]], limit: float
) -> None:
    strain, q, excess = np.array(rows).reshape(-1, 3).T
    usable = np.where(strain < 1.0, strain, np.nan)
    table = table_of(usable, q, excess)
    found = failure_states(table, limit)
    for state in states(found):
        for one in fields(state):
            value = getattr(state, one.name)
            assert value is None or np.isfinite(value)
        assert state.axial_strain is not None
        assert state.axial_strain <= limit * (1 + 1e-9)
    if found.peak_deviator is not None:
        inside = q[(usable >= GONE_BACK) & (usable <= limit * (1 + 1e-9))]
        assert found.peak_deviator.deviator_kPa == pytest.approx(np.nanmax(inside))
    moduli = [
        modulus(table, found.peak_deviator)
        for modulus in (secant_modulus_50, tangent_modulus_50, initial_modulus)
    ]
    assert all(one is None or (np.isfinite(one) and one > 0.0) for one in moduli)


def hyperbola(strain: Column) -> Column:
    """Kondner's: 20 MPa at the begin, 250 kPa at infinite strain."""
    return strain / (1.0 / 20000.0 + strain / 250.0)


def test_moduli_of_a_hyperbola() -> None:
    """In closed form: E = Ei (1 − q/250)², secant Ei (1 − q/250); q at 15 % is 230.8 kPa."""
    strain = np.concatenate([np.linspace(0.0, 0.01, 400), np.linspace(0.0101, 0.15, 400)])
    table = table_of(strain, hyperbola(strain))
    peak = failure_states(table, 0.15).peak_deviator
    share = float(hyperbola(np.array([0.15]))[0]) / 2.0 / 250.0
    assert secant_modulus_50(table, peak) == pytest.approx(20.0 * (1.0 - share), rel=1e-3)
    assert tangent_modulus_50(table, peak) == pytest.approx(20.0 * (1.0 - share) ** 2, rel=0.02)
    # a chord over the first fifth of the peak lies below the tangent at the origin
    assert initial_modulus(table, peak) == pytest.approx(20.0, rel=0.2)


def test_moduli_of_a_straight_line() -> None:
    strain = np.linspace(0.0, 0.01, 51)
    table = table_of(strain, 8000.0 * strain)
    peak = failure_states(table, 0.15).peak_deviator
    for modulus in (secant_modulus_50, tangent_modulus_50, initial_modulus):
        assert modulus(table, peak) == pytest.approx(8.0)


def test_the_first_crossing_counts() -> None:
    """Unloaded and reloaded before the peak: half of it was reached at 1 % first."""
    strain = np.array([0.0, 0.01, 0.02, 0.03, 0.04, 0.05])
    table = table_of(strain, np.array([0.0, 60.0, 20.0, 70.0, 100.0, 120.0]))
    peak = failure_states(table, 0.15).peak_deviator
    assert secant_modulus_50(table, peak) == pytest.approx(6.0)


def test_readings_that_bear_no_modulus() -> None:
    begun_late = table_of(np.array([0.01, 0.02]), np.array([80.0, 100.0]))
    peak = failure_states(begun_late, 0.15).peak_deviator
    assert peak is not None
    assert secant_modulus_50(begun_late, peak) is None
    assert tangent_modulus_50(begun_late, peak) is None
    few = table_of(FIVE, np.array([0.0, 10.0, 80.0, 100.0, 99.0]))
    peak = failure_states(few, 0.15).peak_deviator
    assert tangent_modulus_50(few, peak) == pytest.approx(7.0)
    assert initial_modulus(few, peak) is None
    strain = np.linspace(0.0, 0.04, 201)
    bedding = table_of(strain, np.where(strain < 0.01, 0.0, 100.0 * (strain - 0.01) / 0.03))
    peak = failure_states(bedding, 0.15).peak_deviator
    assert initial_modulus(bedding, peak) is None  # flat, then steep: no one line
