"""Constructions on curves whose truth is known, on scaled ones, and on bad ones."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from reduce.construction import Construction
from reduce.drainage import DRAINAGES, degree, t100, time_for
from reduce.early_line import series_line
from reduce.errors import ReductionError
from reduce.leak_by_height import late_slopes
from reduce.log_time import casagrande
from reduce.root_time import root_time_to_t100, taylor
from reduce.series_fit import SeriesFit, fit_series

Column = NDArray[np.float64]
Draw = Callable[..., Construction]
METHODS: tuple[Draw, ...] = (taylor, root_time_to_t100, casagrande)
BY_TIME: tuple[tuple[Draw, str, float], ...] = (
    (taylor, "t90_min", 0.9), (casagrande, "t50_min", 0.5),
)  # fmt: skip
CV = 5.0
CELL = {"height_mm": 76.0, "diameter_mm": 38.0}
TIMES = {
    "root of time": lambda end: np.arange(1, 45) ** 2 * end / 100.0,
    "log of time": lambda end: end * np.geomspace(0.003, 30.0, 18),
    "steady": lambda end: np.arange(1, 8000) * end / 400.0,
}


def made(
    drainage: str, times: str, *, creep: float = 0.0, noise: float = 0.0, start: float = 0.3
) -> tuple[Column, Column, float]:
    """Minutes, change and t100 of a specimen with 5 ml of primary consolidation."""
    end = t100(drainage, cv_m2_year=CV, **CELL) / 60.0
    minutes = TIMES[times](end)
    degrees = degree(drainage, 60.0 * minutes, cv_m2_year=CV, **CELL)
    change = start + 5.0 * degrees + creep * degrees * np.log10(1.0 + minutes / end)
    scatter = noise * np.random.default_rng(3).standard_normal(len(minutes))
    return np.append(0.0, minutes), np.append(0.0, change + scatter), end


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("times", TIMES)
@pytest.mark.parametrize(
    ("method", "name", "share"), BY_TIME, ids=lambda v: getattr(v, "__name__", v)
)
def test_times_of_theory(drainage: str, times: str, method: Draw, name: str, share: float) -> None:
    """Within 2 %: the usual 1.15 alone makes t90 1.5 % short."""
    minutes, change, _ = made(drainage, times)
    found = method(minutes, change, drainage=drainage, **CELL)
    true = time_for(drainage, share, cv_m2_year=CV, **CELL) / 60.0
    assert getattr(found, name) == pytest.approx(true, rel=0.02)
    assert found.cv_m2_per_year == pytest.approx(CV, rel=0.02)
    assert found.start_change == pytest.approx(0.3, abs=0.035)
    assert found.final_change == pytest.approx(5.3, rel=0.01)
    assert found.drainage == drainage and found.assumption and drainage in found.assumption


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("times", TIMES)
def test_t100_of_theory(drainage: str, times: str) -> None:
    minutes, change, end = made(drainage, times)
    found = root_time_to_t100(minutes, change, drainage=drainage, **CELL)
    assert found.t100_min == pytest.approx(end, rel=0.01)
    assert found.cv_m2_per_year == pytest.approx(CV, rel=0.01)


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("method", METHODS)
def test_scatter_and_creep_cost_little(drainage: str, method: Draw) -> None:
    """Scatter of 0.1 % and creep of 2 % per log cycle.

    The constructions take the creep within primary for primary, up to a tenth of cv. t100 to the
    last reading, more than a log cycle on, would take all of it: it is given the true end.
    """
    minutes, change, _ = made(drainage, "log of time", creep=0.1, noise=0.005)
    if method is root_time_to_t100:
        found = method(minutes, change, drainage=drainage, **CELL, final_change=5.3)
    else:
        found = method(minutes, change, drainage=drainage, **CELL)
    assert found.cv_m2_per_year == pytest.approx(CV, rel=0.10)
    assert 0.0 < found.relative_uncertainty["cv_m2_per_year"] < 0.2


@pytest.mark.parametrize("drainage", ["radial", "radial + one end", "radial + both ends"])
def test_the_rule_for_ends_is_not_used_beside_side_drains(drainage: str) -> None:
    minutes, change, _ = made(drainage, "steady")
    found = taylor(minutes, change, drainage=drainage, **CELL)
    for_ends = taylor(minutes, change, drainage="both ends", **CELL)
    assert for_ends.offset == 1.15 and found.offset is not None and found.offset > 1.3
    assert found.t90_min is not None and for_ends.t90_min is not None
    assert for_ends.t90_min < 0.75 * found.t90_min
    first, last = found.first_index, found.last_index
    assert first is not None and last is not None
    assert 1 <= first < last < len(minutes)
    assert (change[last] - 0.3) / 5.0 <= 0.25


def test_bedding_at_the_first_reading_is_left_out() -> None:
    minutes, change, _ = made("both ends", "root of time")
    change[1:3] -= (0.25, 0.08)  # the first two lag behind
    found = taylor(minutes, change, drainage="both ends", **CELL)
    assert found.first_index is not None and found.first_index >= 2
    assert found.start_change == pytest.approx(0.3, abs=0.03)
    assert found.cv_m2_per_year == pytest.approx(CV, rel=0.03)


def test_the_lines_meet_where_the_answer_says() -> None:
    minutes, change, _ = made("both ends", "root of time")
    found = taylor(minutes, change, drainage="both ends", **CELL)
    assert found.t90_min is not None and found.start_change is not None
    assert found.final_change is not None
    early, second, final = found.lines
    assert {line.axis for line in found.lines} == {"root time"}
    (x0, d0), (x1, d1) = second.points
    assert (x0, d0) == early.points[0] == (0.0, found.start_change)
    at = d0 + (d1 - d0) * math.sqrt(found.t90_min) / x1
    assert at == pytest.approx(d0 + 0.9 * (found.final_change - d0), rel=1e-9)
    assert at == pytest.approx(float(np.interp(found.t90_min, minutes, change)), rel=0.003)
    assert final.points[0][1] == final.points[1][1] == found.final_change

    found = casagrande(minutes, change, drainage="both ends", **CELL)
    lines = {line.name: line.points for line in found.lines}
    assert lines["steepest tangent"][1] == lines["tail"][0]
    assert lines["tail"][0] == (
        pytest.approx(math.log10(found.t100_min or 0.0)), pytest.approx(found.final_change)
    )  # fmt: skip


SCALES = st.floats(1e-3, 1e3)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("drainage", ["both ends", "radial + one end"])
@given(time=SCALES, change=SCALES)
def test_units_do_not_matter(method: Draw, drainage: str, time: float, change: float) -> None:
    """Time k times as long: cv a k-th. Change k times as large: the same cv."""
    minutes, values, _ = made(drainage, "log of time", creep=0.1, noise=0.004)
    base = method(minutes, values, drainage=drainage, **CELL)
    found = method(time * minutes, change * values, drainage=drainage, **CELL)
    assert base.cv_m2_per_year is not None and base.final_change is not None
    assert found.cv_m2_per_year == pytest.approx(base.cv_m2_per_year / time, rel=1e-6)
    assert found.final_change == pytest.approx(base.final_change * change, rel=1e-6)


@pytest.mark.parametrize("method", METHODS)
def test_both_ends_are_one_end_of_half_the_height(method: Draw) -> None:
    minutes, change, _ = made("both ends", "root of time", noise=0.004)
    whole = method(minutes, change, drainage="both ends", height_mm=76.0, diameter_mm=38.0)
    half = method(minutes, change, drainage="one end", height_mm=38.0, diameter_mm=38.0)
    assert whole.cv_m2_per_year == pytest.approx(half.cv_m2_per_year, rel=1e-9)
    assert whole.relative_uncertainty == pytest.approx(half.relative_uncertainty, rel=1e-6)


def finite(found: Construction) -> bool:
    numbers = [
        found.start_change, found.final_change, found.t50_min, found.t90_min, found.t100_min,
        found.cv_m2_per_year, *found.relative_uncertainty.values(),
        *(n for line in found.lines for point in line.points for n in point),
    ]  # fmt: skip
    return all(number is None or math.isfinite(number) for number in numbers)


GOOD_MINUTES, GOOD_CHANGE, GOOD_END = made("both ends", "root of time")
BAD: dict[str, tuple[Column, Column, str]] = {
    "empty": (np.array([]), np.array([]), "0 readings"),
    "one row": (np.array([1.0]), np.array([1.0]), "1 readings"),
    "nothing but NaN": (GOOD_MINUTES, np.full_like(GOOD_CHANGE, np.nan), "0 readings"),
    "constant": (GOOD_MINUTES, np.full_like(GOOD_CHANGE, 2.0), "constant"),
    "only scatter": (
        GOOD_MINUTES, np.random.default_rng(1).standard_normal(len(GOOD_MINUTES)), "scatter",
    ),
    "falling": (GOOD_MINUTES, -GOOD_CHANGE, "does not rise"),
    "turning back": (
        GOOD_MINUTES, np.where(GOOD_MINUTES > GOOD_END, GOOD_CHANGE - 2.0, GOOD_CHANGE), "falls",
    ),
    "all at once": (np.full(20, 5.0), np.linspace(0, 1, 20), "too short"),
}  # fmt: skip


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("bad", BAD)
def test_what_cannot_be_told_says_why(method: Draw, bad: str) -> None:
    minutes, change, word = BAD[bad]
    found = method(minutes, change, drainage="both ends", **CELL)
    assert found.cv_m2_per_year is None and found.t50_min is found.t90_min is found.t100_min is None
    assert found.why is not None and word in found.why
    assert finite(found)


HOSTILE: dict[str, tuple[Column, Column]] = {
    "nothing of a millilitre": (GOOD_MINUTES, 1e-308 * GOOD_CHANGE),
    "nothing, and then all of it": (
        np.arange(12.0) ** 2, np.array([0.0, 0.0, 1e-308, 2e-308, 3e-308, *np.arange(1.0, 8.0)]),
    ),
    "more than the sea": (GOOD_MINUTES, 1e300 * GOOD_CHANGE),
    "one reading of a faulty logger": (
        GOOD_MINUTES, np.where(GOOD_MINUTES[7] == GOOD_MINUTES, 1e300, GOOD_CHANGE),
    ),
    "older than the world": (1e200 * GOOD_MINUTES, GOOD_CHANGE),
    "over at once": (1e-200 * GOOD_MINUTES, GOOD_CHANGE),
}  # fmt: skip


@pytest.mark.parametrize("method", [*METHODS, fit_series])
@pytest.mark.parametrize("drainage", ["both ends", "radial"])
@pytest.mark.parametrize("hostile", HOSTILE)
def test_what_no_instrument_gives_has_an_answer_or_a_reason(
    method: Callable[..., Construction | SeriesFit], drainage: str, hostile: str
) -> None:
    """Squares of such numbers are beyond all numbers; warnings are errors here."""
    minutes, change = HOSTILE[hostile]
    found = method(minutes, change, drainage=drainage, **CELL)
    assert (found.why is None) == (found.cv_m2_per_year is not None)


@pytest.mark.parametrize("method", METHODS)
def test_a_fault_of_the_logger_costs_its_reading_alone(method: Draw) -> None:
    """As a row without a number does."""
    minutes, change = HOSTILE["one reading of a faulty logger"]
    found = method(minutes, change, drainage="both ends", **CELL)
    lost = np.where(change > 1e299, np.nan, change)
    assert found == method(minutes, lost, drainage="both ends", **CELL)
    assert found.cv_m2_per_year == pytest.approx(CV, rel=0.02)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("drainage", DRAINAGES)
def test_unfinished_consolidation_is_noticed(method: Draw, drainage: str) -> None:
    minutes, change, _ = made(drainage, "root of time")
    half = minutes <= time_for(drainage, 0.7, cv_m2_year=CV, **CELL) / 60.0
    found = method(minutes[half], change[half], drainage=drainage, **CELL)
    assert found.cv_m2_per_year is None and found.why


@pytest.mark.parametrize("method", METHODS)
def test_rows_without_numbers_are_left_out(method: Draw) -> None:
    minutes, change, _ = made("both ends", "root of time")
    holed = np.insert(change, [3, 8], np.nan), np.insert(minutes, [3, 8], minutes[[3, 8]])
    found = method(holed[1], holed[0], drainage="both ends", **CELL)
    assert (
        found.cv_m2_per_year == method(minutes, change, drainage="both ends", **CELL).cv_m2_per_year
    )


@pytest.mark.parametrize("method", METHODS)
def test_what_is_refused(method: Draw) -> None:
    minutes, change, _ = made("both ends", "root of time")
    with pytest.raises(ReductionError, match="must not run backwards"):
        method(minutes[::-1], change, drainage="both ends", **CELL)
    with pytest.raises(ReductionError, match="of one length"):
        method(minutes[1:], change, drainage="both ends", **CELL)
    with pytest.raises(ReductionError, match="drainage is 'sideways'"):
        method(minutes, change, drainage="sideways", **CELL)
    with pytest.raises(ReductionError, match="diameter is 0 mm"):
        method(minutes, change, drainage="both ends", height_mm=76.0, diameter_mm=0.0)
    with pytest.raises(ReductionError, match="height is 7e\\+307 mm"):
        method(minutes, change, drainage="both ends", height_mm=7e307, diameter_mm=38.0)


@pytest.mark.parametrize("degrees", [[0.5, 0.5], [0.9, 0.99]])
def test_no_early_line_through_alike_or_late_degrees(degrees: list[float]) -> None:
    with pytest.raises(ReductionError, match="no early line"):
        series_line("both ends", 2.0, degrees)


@pytest.mark.parametrize("final", [math.nan, math.inf, 0.3, -5.0])
def test_a_final_change_below_the_readings_is_refused(final: float) -> None:
    minutes, change, _ = made("both ends", "root of time")
    with pytest.raises(ReductionError, match="final change is"):
        root_time_to_t100(minutes, change, drainage="both ends", **CELL, final_change=final)


@given(
    st.lists(st.tuples(st.floats(0.01, 1e4), st.floats(-10, 10)), max_size=40),
    st.sampled_from(METHODS),
    st.sampled_from(DRAINAGES),
)
def test_no_answer_is_ever_nan(
    rows: list[tuple[float, float]], method: Draw, drainage: str
) -> None:
    minutes = sorted(row[0] for row in rows)
    found = method(minutes, [row[1] for row in rows], drainage=drainage, **CELL)
    assert finite(found)
    assert found.why is not None or found.cv_m2_per_year is not None


@given(st.lists(st.floats(0.0, 1.0), min_size=6, max_size=40), st.sampled_from(METHODS))
def test_any_rising_curve_has_an_answer_or_a_reason(steps: list[float], method: Draw) -> None:
    change = np.cumsum(steps)
    found = method(np.arange(1, len(steps) + 1) ** 2, change, drainage="radial", **CELL)
    assert finite(found)
    assert (found.why is None) == (found.cv_m2_per_year is not None)


def late(leak_ml_h: float, noise: float = 0.0) -> tuple[Column, Column, Column]:
    """Isotropic secondary compression of 0.2 % per log cycle on 38 × 76 mm, and a leak."""
    minutes = np.geomspace(100.0, 3000.0, 30)
    strain = 0.04 + 0.002 * np.log10(minutes / 100.0)
    scatter = noise * np.random.default_rng(5).standard_normal((2, 30))
    volume = 86.19 * (strain + scatter[0]) + leak_ml_h * minutes / 60.0
    return minutes, volume, 76.0 * (strain + scatter[1]) / 3.0


@pytest.mark.parametrize(("leak_ml_h", "diverge"), [(0.0, False), (0.002, False), (0.02, True)])
def test_a_leak_moves_volume_without_height(leak_ml_h: float, diverge: bool) -> None:
    minutes, volume, height = late(leak_ml_h, noise=2e-5)
    found = late_slopes(minutes, volume, height, volume_ml=86.19, height_mm=76.0, from_min=100.0)
    assert found.height == pytest.approx(0.002, rel=0.1)
    assert found.volume is not None and found.volume >= 0.0019
    assert found.diverge is diverge


def test_isotropic_slopes_agree_to_the_last_digit() -> None:
    minutes, volume, height = late(0.0)
    found = late_slopes(minutes, volume, height, volume_ml=86.19, height_mm=76.0, from_min=100.0)
    assert found.volume == pytest.approx(0.002, rel=1e-9)
    assert found.height == pytest.approx(0.002, rel=1e-9)


def test_too_few_late_readings_say_so() -> None:
    minutes, volume, height = late(0.0)
    height[:] = np.nan
    found = late_slopes(minutes, volume, height, volume_ml=86.19, height_mm=76.0, from_min=100.0)
    assert found.diverge is None and found.why is not None and "0 readings" in found.why
