"""Laws of the drainage curves: limits, order, inverse pairs, scaling, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reduce import drainage
from reduce.errors import ReductionError

KINDS = st.sampled_from(drainage.DRAINAGES)
CELL = {"cv_m2_year": 2.0, "height_mm": 100.0, "diameter_mm": 50.0}


@given(KINDS, st.floats(1e-9, 1 - 1e-9), st.floats(0.5, 4.0))
def test_inverse_pair(kind: str, U: float, slenderness: float) -> None:
    factor = drainage.factor_for(kind, U, slenderness)
    back = float(drainage.degree_of_factor(kind, factor, slenderness))
    assert back == pytest.approx(U, rel=1e-6, abs=1e-12)


@given(KINDS, st.floats(0.01, 0.999), st.floats(0.05, 500))
def test_cv_comes_back(kind: str, U: float, cv: float) -> None:
    cell = {"height_mm": 76.0, "diameter_mm": 38.0}
    time = drainage.time_for(kind, U, cv_m2_year=cv, **cell)
    assert drainage.cv_from_time(kind, U, time, **cell) == pytest.approx(cv)
    line = drainage.t100(kind, cv_m2_year=cv, **cell)
    assert drainage.cv_from_t100(kind, line, **cell) == pytest.approx(cv)


@pytest.mark.parametrize("kind", drainage.DRAINAGES)
def test_grows_from_nothing_to_all_without_a_step(kind: str) -> None:
    factor = np.concatenate([[0.0], np.geomspace(1e-14, 1e3, 4000)])
    U = drainage.degree_of_factor(kind, factor, 2.0)
    assert U[0] == 0.0
    assert U[-1] == 1.0
    assert np.all(np.diff(U) >= -1e-13)


@pytest.mark.parametrize("kind", drainage.DRAINAGES)
def test_early_line_has_the_slope_of_lambda(kind: str) -> None:
    """By definition the early root-time line reaches 1 at t100."""
    t100 = drainage.t100(kind, **CELL)
    early = np.array([1e-10, 1e-8])
    U = drainage.degree(kind, early * t100, **CELL)
    np.testing.assert_allclose(U, np.sqrt(early), rtol=2e-4)


@given(st.floats(1e-6, 2.0), st.floats(1.0, 3.0))
def test_more_surface_drains_faster(factor: float, slenderness: float) -> None:
    one, both, radial, radial_one, radial_both = (
        float(drainage.degree_of_factor(kind, factor, slenderness)) for kind in drainage.DRAINAGES
    )
    assert one <= both + 1e-12
    assert radial <= radial_one + 1e-12
    assert radial_one <= radial_both + 1e-12
    assert (1 - radial_one) == pytest.approx((1 - radial) * (1 - one), abs=1e-12)


def test_half_a_specimen_is_one_end_of_it() -> None:
    times = np.array([60.0, 600.0, 6000.0])
    whole = drainage.degree("both ends", times, **CELL)
    half = drainage.degree("one end", times, cv_m2_year=2.0, height_mm=50.0, diameter_mm=50.0)
    np.testing.assert_allclose(whole, half, rtol=1e-12)


@pytest.mark.parametrize("kind", drainage.DRAINAGES)
def test_far_point_lags_the_average(kind: str) -> None:
    factor = np.geomspace(1e-4, 30.0, 200)
    far = drainage.degree_at_far_point_of_factor(kind, factor, 2.0)
    average = drainage.degree_of_factor(kind, factor, 2.0)
    assert np.all(far <= average + 1e-9)
    assert np.all(np.diff(far) >= -1e-8)
    assert far[0] == pytest.approx(0.0, abs=1e-9)
    assert far[-1] == pytest.approx(1.0, abs=1e-6)


def test_before_the_start_nothing_and_nan_stays() -> None:
    U = drainage.degree("radial", [-5.0, 0.0, np.nan, 60.0], **CELL)
    assert U[:2].tolist() == [0.0, 0.0]
    assert np.isnan(U[2])
    assert U[3] > 0


@pytest.mark.parametrize("slenderness", [1.0, 2.0, 2.5])
def test_a_slender_cylinder_approaches_radial(slenderness: float) -> None:
    near = drainage.lambda_factor("radial + both ends", slenderness)
    assert near == pytest.approx((8 + 4 / slenderness) ** 2)
    assert drainage.lambda_factor("radial + both ends", 1e6) == pytest.approx(64.0, rel=1e-5)


def test_refusals_name_the_quantity() -> None:
    with pytest.raises(ReductionError, match="drainage is 'sideways'"):
        drainage.degree("sideways", [1.0], **CELL)
    with pytest.raises(ReductionError, match="cv is 0"):
        drainage.degree("radial", [1.0], **{**CELL, "cv_m2_year": 0.0})
    with pytest.raises(ReductionError, match="height is -1"):
        drainage.time_for("radial", 0.5, **{**CELL, "height_mm": -1.0})
    for U in (1.0, -0.1, float("nan")):
        with pytest.raises(ReductionError, match="U is"):
            drainage.time_for("radial", U, **CELL)
