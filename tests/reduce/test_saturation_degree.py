"""Degree of saturation by B and by inflow, the words for the time, permeability at 20 °C."""

import math
import re
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce import (
    ReductionError,
    b_part_saturated,
    b_saturated,
    back_pressure_to_saturate,
    saturation_after_back_pressure,
)
from reduce.permeability import at_20_C, permeability
from reduce.saturation_degree import (
    LEAST_OF_BUBBLES,
    saturation_after_inflow,
    saturation_from_b,
    solution_words,
)

POROSITY = some.floats(0.2, 0.8)
COMPRESSIBILITY = some.floats(1e-6, 1e-2)
ABSOLUTE_KPA = some.floats(100.0, 1500.0)


@given(POROSITY, COMPRESSIBILITY, some.floats(LEAST_OF_BUBBLES + 1e-6, 1.0), ABSOLUTE_KPA)
def test_saturation_by_b_inverts_b(n: float, cs: float, s: float, pressure: float) -> None:
    b = b_part_saturated(n, cs, s, pressure)
    # B of a soft soil differs little from 1: its digits limit the answer
    digits = 1e-14 * cs * pressure / n
    assert saturation_from_b(b, n, cs, pressure) == pytest.approx(s, abs=1e-12 + 10 * digits)


@given(POROSITY, COMPRESSIBILITY, ABSOLUTE_KPA, some.floats(0.0, 1.0), some.floats(0.0, 1.0))
def test_a_higher_b_is_never_less_saturated(
    n: float, cs: float, pressure: float, one: float, other: float
) -> None:
    least, full = b_part_saturated(n, cs, LEAST_OF_BUBBLES + 1e-6, pressure), b_saturated(n, cs)
    low, high = sorted((one, other))
    below, above = (
        saturation_from_b(least + share * (full - least), n, cs, pressure) for share in (low, high)
    )
    assert LEAST_OF_BUBBLES <= below <= above <= 1.0


@given(POROSITY, COMPRESSIBILITY, ABSOLUTE_KPA)
def test_b_beyond_what_it_can_say_is_refused(n: float, cs: float, pressure: float) -> None:
    full = b_saturated(n, cs)
    assert saturation_from_b(full, n, cs, pressure) == pytest.approx(1.0)
    with pytest.raises(ReductionError, match="B does not tell its saturation"):
        saturation_from_b(full * (1.0 + 1e-6), n, cs, pressure)
    with pytest.raises(ReductionError, match="no longer in bubbles"):
        saturation_from_b(b_part_saturated(n, cs, 0.8, pressure), n, cs, pressure)


@given(some.floats(0.5, 0.999), some.floats(10.0, 2000.0), some.floats(0.0, 1.0))
def test_inflow_into_constant_voids(start: float, voids: float, share: float) -> None:
    # Air left over is what the inflow did not replace
    air = (1.0 - start) * voids
    after = saturation_after_inflow(start, voids, share * air)
    assert (1.0 - after) * voids == pytest.approx((1.0 - share) * air, abs=1e-9 * voids)


@given(some.floats(0.6, 0.98), some.floats(0.0, 300.0))
def test_inflow_by_back_pressure_leaves_the_same_saturation(start: float, back: float) -> None:
    """Boyle and Henry for the gas, and what must have flowed in for it, say the same."""
    reached = saturation_after_back_pressure(start, min(back, back_pressure_to_saturate(start)))
    voids = 250.0
    inflow = (reached - start) * voids
    assert saturation_after_inflow(start, voids, inflow) == pytest.approx(reached)


def test_inflow_is_not_cut_off_at_full() -> None:
    assert saturation_after_inflow(0.98, 40.0, 2.0) == pytest.approx(1.03)
    assert saturation_after_inflow(1.01, 40.0, 0.0) == 1.01  # as measured
    assert saturation_after_inflow(0.5, 40.0, -4.0) == pytest.approx(0.4)


def test_words_name_their_source_and_no_number_of_hours() -> None:
    words = [solution_words(s) for s in (0.0, 0.5, 0.899, 0.90, 0.95, 0.989, 0.99, 1.0, 1.02)]
    for one in words:
        assert "Black and Lee 1973" in one
        assert re.findall(r"\d+", one) == ["1973"]
    assert "days" in words[0]
    assert words[0] == words[2] != words[3]
    assert words[3] == words[5] != words[6]
    assert words[6] == words[8]
    assert "minutes" in words[8]


@given(some.floats(0.01, 1000.0), some.floats(0.001, 10.0), some.floats(0.5, 39.5))
def test_permeability_is_proportional_and_corrected_alike(
    cv: float, mv: float, temperature: float
) -> None:
    k = permeability(cv, mv)
    assert permeability(2.0 * cv, mv) == pytest.approx(2.0 * k)
    assert permeability(cv, 2.0 * mv) == pytest.approx(2.0 * k)
    # k of the corrected cv is the corrected k
    by_cv = permeability(at_20_C(cv, temperature), mv)
    assert by_cv == pytest.approx(at_20_C(k, temperature))
    assert (by_cv > k) == (temperature < 20.0) or abs(temperature - 20.0) < 1e-6


def test_temperature_of_a_column() -> None:
    column = at_20_C(np.full(3, 1e-10), np.array([10.0, np.nan, 60.0]))
    assert column[0] == pytest.approx(at_20_C(1e-10, 10.0))
    assert np.isnan(column[1:]).all()


@pytest.mark.parametrize(
    "refused",
    [
        lambda: saturation_from_b(0.0, 0.4, 1e-4, 300.0),
        lambda: saturation_from_b(math.nan, 0.4, 1e-4, 300.0),
        lambda: saturation_from_b(0.9, 0.0, 1e-4, 300.0),
        lambda: saturation_from_b(0.9, 0.4, 0.0, 300.0),
        lambda: saturation_from_b(0.9, 0.4, 1e-4, 0.0),
        lambda: saturation_from_b(0.9, 0.4, 1e-4, math.inf),
        lambda: saturation_from_b(0.9, 0.4, 1e-4, 300.0, 0.0),
        lambda: saturation_after_inflow(0.0, 40.0, 1.0),
        lambda: saturation_after_inflow(0.9, 0.0, 1.0),
        lambda: saturation_after_inflow(0.9, 40.0, math.nan),
        lambda: saturation_after_inflow(0.9, 40.0, -37.0),
        lambda: solution_words(math.nan),
        lambda: solution_words(-0.1),
        lambda: permeability(0.0, 0.3),
        lambda: permeability(1.0, -0.3),
        lambda: permeability(1.0, 0.3, 0.0),
        lambda: permeability(math.inf, 0.3),
        lambda: at_20_C(1.0, 80.0),
    ],
)
def test_out_of_bounds_is_refused_with_its_name(refused: Callable[[], object]) -> None:
    with pytest.raises(ReductionError, match=r"\w+ is "):
        refused()
