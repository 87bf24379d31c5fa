"""Failure envelopes: exact circles, other people's fits, laws, and how often the interval holds."""

import math
from collections.abc import Callable

import lmfit
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import optimize, stats

from reduce.errors import ReductionError
from reduce.strength.envelope import (
    Envelope,
    line_through_tops_pq,
    line_through_tops_st,
    tangent_to_circles,
    weighted_line_pq,
)
from reduce.strength.interval import confidence_interval
from reduce.strength.mohr_coulomb import (
    cohesion_and_angle_pq,
    cohesion_and_angle_st,
    phi_at_zero_cohesion,
)
from reduce.strength.straight_line import best_line

Array = NDArray[np.float64]
Line = Callable[..., Envelope]


def weighted(sigma1: Array, sigma3: Array, **options: bool) -> Envelope:
    """The weighted line: q known to 1 kPa and 2 %, σ3 to 1 kPa."""
    p, q = (sigma1 + 2.0 * sigma3) / 3.0, sigma1 - sigma3
    u_q = 1.0 + 0.02 * q
    u_p = np.sqrt((u_q / 3.0) ** 2 + 1.0)
    return weighted_line_pq(p, q, u_p=u_p, u_q=u_q, covariance=u_q**2 / 3.0, **options)


def circles(c: float, phi: float, sigma3: Array) -> Array:
    """σ1 at failure: σ1 = σ3 N + 2 c √N, N = tan²(45° + φ/2)."""
    flow = math.tan(math.radians(45.0 + phi / 2.0)) ** 2
    return sigma3 * flow + 2.0 * c * math.sqrt(flow)


LINES: list[Line] = [tangent_to_circles, line_through_tops_st, line_through_tops_pq]
ALL_LINES: list[Line] = [*LINES, weighted]

cohesions = st.floats(0.0, 100.0)
angles = st.floats(5.0, 50.0)
confining = st.lists(st.floats(10.0, 1000.0), min_size=2, max_size=8).filter(
    lambda values: max(values) > 1.2 * min(values)
)
strengths = st.lists(
    st.tuples(st.floats(20.0, 800.0), st.floats(0.85, 1.15)), min_size=3, max_size=8
).filter(lambda rows: max(row[0] for row in rows) > 2.5 * min(row[0] for row in rows))


def scattered(rows: list[tuple[float, float]]) -> tuple[Array, Array]:
    """(σ1, σ3) of specimens about c = 10 kPa, φ = 27°."""
    sigma3 = np.array([row[0] for row in rows])
    q = (circles(10.0, 27.0, sigma3) - sigma3) * np.array([row[1] for row in rows])
    return sigma3 + q, sigma3


@pytest.mark.parametrize("line", ALL_LINES)
@given(c=cohesions, phi=angles, sigma3=confining)
def test_exact_circles_are_recovered(line: Line, c: float, phi: float, sigma3: list[float]) -> None:
    minor = np.array(sigma3)
    found = line(circles(c, phi, minor), minor)
    scale = float(np.max(minor))
    assert found.c_kPa == pytest.approx(c, rel=1e-9, abs=1e-9 * scale)
    assert found.phi_deg == pytest.approx(phi, rel=1e-9)


@pytest.mark.parametrize("line", ALL_LINES)
@given(phi=angles, sigma3=confining)
def test_cohesionless_circles_and_exactly_no_cohesion(
    line: Line, phi: float, sigma3: list[float]
) -> None:
    minor = np.array(sigma3)
    found = line(circles(0.0, phi, minor), minor, cohesionless=True)
    assert found.c_kPa == 0.0
    assert found.c_fixed
    assert found.line.degrees_of_freedom == len(sigma3) - 1
    assert found.phi_deg == pytest.approx(phi, rel=1e-9)


@pytest.mark.parametrize("line", LINES)
@given(rows=strengths, order=st.randoms(use_true_random=False))
def test_order_does_not_matter(line: Line, rows: list[tuple[float, float]], order: object) -> None:
    major, minor = scattered(rows)
    there = np.arange(len(rows))
    order.shuffle(there)  # type: ignore[attr-defined]
    one, other = line(major, minor), line(major[there], minor[there])
    assert other.c_kPa == pytest.approx(one.c_kPa, rel=1e-9, abs=1e-9)
    assert other.phi_deg == pytest.approx(one.phi_deg, rel=1e-9)
    assert [one.line.residuals[i] for i in there] == pytest.approx(other.line.residuals, abs=1e-9)


@pytest.mark.parametrize("line", LINES)
@given(rows=strengths, factor=st.floats(1e-3, 1e3))
def test_c_scales_with_the_stresses_and_phi_stays(
    line: Line, rows: list[tuple[float, float]], factor: float
) -> None:
    major, minor = scattered(rows)
    one, other = line(major, minor), line(major * factor, minor * factor)
    assert other.c_kPa == pytest.approx(one.c_kPa * factor, rel=1e-8, abs=1e-8 * factor)
    assert other.phi_deg == pytest.approx(one.phi_deg, rel=1e-9)
    before, after = confidence_interval(one), confidence_interval(other)
    assert before is not None
    assert after is not None
    assert after.phi_deg == pytest.approx(before.phi_deg, rel=1e-6, abs=1e-6)
    scaled = tuple(bound * factor for bound in before.c_kPa)
    assert after.c_kPa == pytest.approx(scaled, rel=1e-6, abs=1e-6 * factor)


@pytest.mark.parametrize("line", LINES)
@given(rows=strengths, shift=st.floats(0.0, 500.0))
def test_shifted_circles_keep_phi_and_lose_the_shift_times_tan_phi(
    line: Line, rows: list[tuple[float, float]], shift: float
) -> None:
    """τ = c + σ tan φ with σ = σ* − Δ is τ = (c − Δ tan φ) + σ* tan φ."""
    major, minor = scattered(rows)
    one, other = line(major, minor), line(major + shift, minor + shift)
    assert other.phi_deg == pytest.approx(one.phi_deg, rel=1e-9)
    lost = shift * math.tan(math.radians(one.phi_deg))
    assert other.c_kPa == pytest.approx(one.c_kPa - lost, rel=1e-7, abs=1e-7)


@given(rows=strengths)
def test_tangent_has_the_least_squared_distances_to_the_circles(
    rows: list[tuple[float, float]],
) -> None:
    major, minor = scattered(rows)
    s, t = (major + minor) / 2.0, (major - minor) / 2.0

    def distances(c: float, tangent: float) -> Array:
        """From the line τ = c + σ tan φ to the circles, by the distance of a point from a line."""
        return (c + s * tangent) / math.sqrt(1.0 + tangent**2) - t

    found = tangent_to_circles(major, minor)
    tangent = math.tan(math.radians(found.phi_deg))
    least = float(np.sum(distances(found.c_kPa, tangent) ** 2))
    for c, slope in ((0.1, 0.0), (-0.1, 0.0), (0.0, 1e-3), (0.0, -1e-3), (0.1, -2e-4)):
        there = float(np.sum(distances(found.c_kPa + c, tangent + slope) ** 2))
        assert there > least * (1.0 - 1e-12)
    assert np.array(found.line.residuals) == pytest.approx(
        -distances(found.c_kPa, tangent), abs=1e-8
    )


SIGMA3 = np.array([70.0, 146.0, 228.0, 410.0, 520.0])
SIGMA1 = np.array([250.0, 500.0, 700.0, 1300.0, 1500.0])


def test_tops_as_numpy_and_scipy_fit_them() -> None:
    s, t = (SIGMA1 + SIGMA3) / 2.0, (SIGMA1 - SIGMA3) / 2.0
    slope, intercept = np.polyfit(s, t, 1)
    found = line_through_tops_st(SIGMA1, SIGMA3)
    assert found.line.slope == pytest.approx(slope, rel=1e-10)
    assert found.line.intercept == pytest.approx(intercept, rel=1e-8)
    theirs = stats.linregress(s, t)
    assert found.r == pytest.approx(theirs.rvalue, rel=1e-10)
    assert math.sqrt(found.line.variance_slope) == pytest.approx(theirs.stderr, rel=1e-8)
    assert math.sqrt(found.line.variance_intercept) == pytest.approx(
        theirs.intercept_stderr, rel=1e-8
    )


def test_tangent_as_scipy_minimises_it() -> None:
    s, t = (SIGMA1 + SIGMA3) / 2.0, (SIGMA1 - SIGMA3) / 2.0
    fit = optimize.least_squares(
        lambda of: s * np.sin(of[1]) + of[0] * np.cos(of[1]) - t, [1.0, 0.5], xtol=1e-15
    )
    found = tangent_to_circles(SIGMA1, SIGMA3)
    assert found.c_kPa == pytest.approx(fit.x[0], rel=1e-5)
    assert found.phi_deg == pytest.approx(math.degrees(fit.x[1]), rel=1e-6)


@pytest.mark.parametrize("share", [0.0, 1.0 / 3.0])
@pytest.mark.parametrize("cohesionless", [False, True])
def test_weighted_line_as_lmfit_finds_it(share: float, cohesionless: bool) -> None:
    p, q = (SIGMA1 + 2.0 * SIGMA3) / 3.0, SIGMA1 - SIGMA3
    u_p, u_q = np.array([9.0, 6.0, 15.0, 30.0, 12.0]), np.array([4.0, 12.0, 9.0, 40.0, 20.0])
    covariance = share * u_q**2 * np.minimum(1.0, 3.0 * u_p / u_q)

    def misses(of: lmfit.Parameters) -> Array:
        slope = of["M"].value
        variance = u_q**2 + slope**2 * u_p**2 - 2.0 * slope * covariance
        return np.asarray((q - of["k"].value - slope * p) / np.sqrt(variance))

    start = lmfit.Parameters()
    start.add("k", value=0.0, vary=not cohesionless)
    start.add("M", value=1.0)
    fit = lmfit.minimize(misses, start, method="least_squares", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    found = weighted_line_pq(
        p, q, u_p=u_p, u_q=u_q, covariance=covariance, cohesionless=cohesionless
    )
    assert found.line.slope == pytest.approx(fit.params["M"].value, rel=1e-6)
    assert found.line.intercept == pytest.approx(fit.params["k"].value, rel=1e-4, abs=1e-6)
    # York's errors come from the adjusted points, lmfit's from the measured ones
    assert math.sqrt(found.line.variance_slope) == pytest.approx(fit.params["M"].stderr, rel=0.1)


def test_equal_weights_are_plain_least_squares() -> None:
    p, q = (SIGMA1 + 2.0 * SIGMA3) / 3.0, SIGMA1 - SIGMA3
    plain = line_through_tops_pq(SIGMA1, SIGMA3)
    same = weighted_line_pq(p, q, u_q=np.full(5, 7.0))
    assert same.line.slope == pytest.approx(plain.line.slope, rel=1e-12)
    assert same.line.variance_slope == pytest.approx(plain.line.variance_slope, rel=1e-12)


def test_a_specimen_that_is_known_badly_hardly_counts() -> None:
    sigma3 = np.array([50.0, 100.0, 200.0, 400.0])
    sigma1 = circles(12.0, 30.0, sigma3)
    sigma1[2] += 80.0
    p, q = (sigma1 + 2.0 * sigma3) / 3.0, sigma1 - sigma3
    found = weighted_line_pq(p, q, u_q=[1.0, 1.0, 1e4, 1.0])
    assert found.c_kPa == pytest.approx(12.0, abs=1e-3)
    assert found.phi_deg == pytest.approx(30.0, abs=1e-3)


@given(c=st.floats(-20.0, 100.0), phi=st.floats(0.0, 80.0))
def test_conversions_are_exact(c: float, phi: float) -> None:
    sine, cosine = math.sin(math.radians(phi)), math.cos(math.radians(phi))
    assert cohesion_and_angle_st(c * cosine, sine) == pytest.approx((c, phi), rel=1e-9, abs=1e-9)
    k, slope = 6.0 * c * cosine / (3.0 - sine), 6.0 * sine / (3.0 - sine)
    assert cohesion_and_angle_pq(k, slope) == pytest.approx((c, phi), rel=1e-9, abs=1e-9)


def test_cohesion_below_zero_is_reported_unless_it_may_not_be() -> None:
    sigma3 = np.array([100.0, 200.0, 400.0])
    sigma1 = circles(-8.0, 32.0, sigma3)
    for line in ALL_LINES:
        assert line(sigma1, sigma3).c_kPa == pytest.approx(-8.0, abs=1e-6)
        tied = line(sigma1, sigma3, c_not_negative=True)
        assert tied.c_kPa == 0.0
        assert tied.c_fixed
        assert tied.phi_deg == line(sigma1, sigma3, cohesionless=True).phi_deg
        assert not line(circles(8.0, 32.0, sigma3), sigma3, c_not_negative=True).c_fixed


@pytest.mark.parametrize("line", LINES)
@pytest.mark.parametrize(
    ("sigma1", "sigma3", "word"),
    [
        ([], [], "one σ1"),
        ([200.0, 300.0], [100.0], "one σ1"),
        ([200.0], [100.0], "point"),
        ([200.0, math.nan], [100.0, 150.0], "nan"),
        ([200.0, math.inf], [100.0, 150.0], "inf"),
        ([200.0, 140.0], [100.0, 150.0], "above it"),
        ([200.0, 150.0], [100.0, 150.0], "above it"),
        ([200.0, 300.0], [-1.0, 150.0], "below 0"),
        ([200.0, 200.0], [100.0, 100.0], "no slope"),
        ([400.0, 401.0], [100.0, 300.0], "slope of"),  # the stronger one is the less confined
        ([2.0, 900.0], [1.0, 0.5], "slope of"),  # φ would be beyond 90°
        ([4e236, 300.0], [100.0, 150.0], "up to 1e"),  # its square is beyond all numbers
        ([1.7e308, 300.0], [100.0, 150.0], "up to 1e"),
        ([3e-200, 5e-200], [1e-200, 2e-200], "above it"),  # its square is nothing
    ],
)
def test_what_is_no_envelope(
    line: Line, sigma1: list[float], sigma3: list[float], word: str
) -> None:
    with pytest.raises(ReductionError, match=word):
        line(np.array(sigma1), np.array(sigma3))


@pytest.mark.parametrize(
    "given_wrong",
    [
        {"u_q": [1.0, 0.0, 1.0]},
        {"u_q": [1.0, -1.0, 1.0]},
        {"u_q": [1.0, math.nan, 1.0]},
        {"u_q": [1.0, 1.0]},
        {"u_p": [1.0, -2.0, 1.0]},
        {"u_p": [1.0, 1.0, 1.0], "u_q": [1.0, 1.0, 1.0], "covariance": [0.0, 2.0, 0.0]},
        {"covariance": [0.0, 0.1, 0.0]},
        {"u_q": [1.0, 1e225, 1.0]},
        {"u_q": [1.0, 1e-160, 1.0]},
    ],
)
def test_what_is_no_uncertainty(given_wrong: dict[str, list[float]]) -> None:
    with pytest.raises(ReductionError):
        weighted_line_pq([200.0, 330.0, 500.0], [210.0, 360.0, 480.0], **given_wrong)  # type: ignore[arg-type]


def test_a_line_needs_as_many_y_as_x() -> None:
    with pytest.raises(ReductionError, match="as many"):
        best_line([1.0, 2.0, 3.0], [1.0, 2.0])


def test_uncertainties_that_hide_the_line() -> None:
    with pytest.raises(ReductionError, match="too large"):
        best_line(
            [590.0, 677.0, 261.0, 211.0, 529.0],
            [648.0, 772.0, 137.0, 396.0, 718.0],
            u_x=[1.3, 8.9, 0.013, 23.3, 394.0],
            u_y=[136.0, 268.0, 20.0, 0.17, 69.6],
            covariance=[-88.0, 1592.0, -0.2, 2.6, -16151.0],
        )


def test_r_says_nothing_of_two_and_of_equal_circles() -> None:
    assert tangent_to_circles([300.0, 600.0], [100.0, 200.0]).r is None
    flat = line_through_tops_st([300.0, 400.0, 500.0], [100.0, 200.0, 300.0])
    assert flat.r is None
    assert flat.phi_deg == 0.0
    assert flat.c_kPa == pytest.approx(100.0, rel=1e-12)


@given(st.floats(0.1, 1e4), st.floats(0.0, 89.0))
def test_angle_of_one_circle(sigma3: float, phi: float) -> None:
    sigma1 = float(circles(0.0, phi, np.array([sigma3]))[0])
    found = phi_at_zero_cohesion(max(sigma1, sigma3), sigma3)
    assert found == pytest.approx(phi, abs=1e-6)
    column = phi_at_zero_cohesion(
        np.array([max(sigma1, sigma3), math.nan, 90.0, 50.0, math.inf]),
        np.array([sigma3, 10.0, 100.0, 0.0, 10.0]),
    )
    assert column[0] == pytest.approx(found, abs=1e-9)
    assert np.all(np.isnan(column[1:]))


@pytest.mark.parametrize("pair", [(90.0, 100.0), (50.0, 0.0), (math.nan, 10.0), (5.0, -1.0)])
def test_no_angle_of_what_is_no_circle(pair: tuple[float, float]) -> None:
    with pytest.raises(ReductionError, match="principal stresses"):
        phi_at_zero_cohesion(*pair)


def test_no_interval_where_nothing_tells_the_scatter() -> None:
    assert confidence_interval(tangent_to_circles([300.0, 600.0], [100.0, 200.0])) is None
    one = tangent_to_circles([300.0], [100.0], cohesionless=True)
    assert one.phi_deg == pytest.approx(30.0, rel=1e-12)
    assert confidence_interval(one) is None
    two = tangent_to_circles([300.0, 610.0], [100.0, 200.0], cohesionless=True)
    found = confidence_interval(two)
    assert found is not None
    assert found.c_kPa == (0.0, 0.0)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.1, math.nan])
def test_no_confidence(confidence: float) -> None:
    with pytest.raises(ReductionError, match="confidence"):
        confidence_interval(tangent_to_circles(SIGMA1, SIGMA3), confidence)


@given(rows=strengths)
def test_interval_holds_the_answer_grows_with_confidence_and_is_cut_off(
    rows: list[tuple[float, float]],
) -> None:
    for line in LINES:
        found = line(*scattered(rows))
        inner, outer = confidence_interval(found, 0.5), confidence_interval(found, 0.99)
        assert inner is not None
        assert outer is not None
        assert 0.0 <= outer.phi_deg[0] <= inner.phi_deg[0] <= found.phi_deg
        assert found.phi_deg <= inner.phi_deg[1] <= outer.phi_deg[1] <= 90.0
        assert outer.c_kPa[0] <= inner.c_kPa[0] <= found.c_kPa <= inner.c_kPa[1] <= outer.c_kPa[1]


def test_bounds_of_phi_are_those_of_the_slope_by_scipy() -> None:
    p, q = (SIGMA1 + 2.0 * SIGMA3) / 3.0, SIGMA1 - SIGMA3
    theirs = stats.linregress(p, q)
    reach = stats.t.ppf(0.95, 3) * theirs.stderr
    found = confidence_interval(line_through_tops_pq(SIGMA1, SIGMA3), 0.9)
    assert found is not None
    for bound, slope in zip(
        found.phi_deg, (theirs.slope - reach, theirs.slope + reach), strict=True
    ):
        sine = 3.0 * slope / (6.0 + slope)
        assert bound == pytest.approx(math.degrees(math.asin(sine)), rel=1e-9)


@pytest.mark.parametrize("line", [line_through_tops_st, line_through_tops_pq])
@pytest.mark.parametrize("sigma3", [[100.0, 200.0, 400.0], [50.0, 100.0, 200.0, 300.0, 400.0]])
def test_the_interval_holds_the_truth_as_often_as_it_says(line: Line, sigma3: list[float]) -> None:
    """2000 sets of a soil of c = 15 kPa, φ = 28°, q scattering by 8 kPa.

    The share of intervals of 90 % that hold the truth has a standard deviation of
    √(0.9 · 0.1/2000) = 0.007; five of them are allowed, and the seed is fixed.
    """
    chance, minor = np.random.default_rng(20260311), np.array(sigma3)
    clean = circles(15.0, 28.0, minor)
    held = np.zeros(2)
    for _ in range(2000):
        found = confidence_interval(line(clean + chance.normal(0.0, 8.0, len(minor)), minor), 0.9)
        assert found is not None
        held += [
            found.c_kPa[0] <= 15.0 <= found.c_kPa[1],
            found.phi_deg[0] <= 28.0 <= found.phi_deg[1],
        ]
    assert held / 2000 == pytest.approx([0.9, 0.9], abs=0.035)
