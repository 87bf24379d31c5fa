"""The fit of the exact series: truth comes back, other people's fits agree, bad curves say why."""

import math
from dataclasses import replace

import lmfit
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import optimize

from reduce.drainage import DRAINAGES, degree, t100, time_for
from reduce.errors import ReductionError
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.technician import Technician
from reduce.series_fit import SeriesFit, fit_series

Column = NDArray[np.float64]
CV = 5.0
LOG_SLOTS = np.array([0.1, 0.25, 0.5, 1, 2, 4, 8, 15, 30, 60, 120, 240, 480, 1440])
CELL = {"height_mm": 76.0, "diameter_mm": 38.0}


def of_theory(
    minutes: Column, cv: float, start: float, primary: float, creep: float,
    drainage: str = "both ends", height_mm: float = 76.0,
) -> Column:  # fmt: skip
    """The model of the module's docstring, written down once more."""
    cell = {"cv_m2_year": cv, "height_mm": height_mm, "diameter_mm": 38.0}
    degrees = degree(drainage, 60.0 * minutes, **cell)
    end = t100(drainage, **cell) / 60.0
    return np.asarray(start + primary * degrees + creep * degrees * np.log10(1 + minutes / end))


def times(drainage: str, height_mm: float, kind: str) -> Column:
    end = t100(drainage, cv_m2_year=CV, height_mm=height_mm, diameter_mm=38.0) / 60.0
    return {
        "root of time": np.arange(1, 40) ** 2 * end / 100.0,
        "log of time": end * np.geomspace(0.003, 20.0, 16),
        "steady": np.arange(1, 20000) * end / 500.0,
    }[kind]


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("height", [76.0, 85.0, 95.0])
@pytest.mark.parametrize("creep", [0.0, 0.15])
@pytest.mark.parametrize("kind", ["root of time", "log of time", "steady"])
def test_truth_comes_back(drainage: str, height: float, creep: float, kind: str) -> None:
    """To 0.1 %; averaging of close readings costs that much, no more."""
    minutes = times(drainage, height, kind)
    change = of_theory(minutes, CV, 0.3, 5.0, creep, drainage, height)
    fit = fit_series(minutes, change, drainage=drainage, height_mm=height, diameter_mm=38.0)
    assert fit.cv_m2_per_year == pytest.approx(CV, rel=1e-3)
    assert fit.start == pytest.approx(0.3, abs=2e-3)
    assert fit.primary == pytest.approx(5.0, rel=1e-3)
    assert fit.creep == pytest.approx(creep, abs=5e-3)
    for name, share in (("t50_min", 0.5), ("t90_min", 0.9)):
        true = time_for(drainage, share, cv_m2_year=CV, height_mm=height, diameter_mm=38.0)
        assert getattr(fit, name) == pytest.approx(true / 60.0, rel=1e-3)
    assert fit.misfit is not None and fit.misfit < 1e-3
    assert fit.curve[0][0] == pytest.approx(minutes[0]) and len(fit.curve) > 50
    drawn = np.array(fit.curve)
    assert drawn[:, 1] == pytest.approx(
        of_theory(drawn[:, 0], CV, 0.3, 5.0, creep, drainage, height), abs=2e-3
    )


PLANS = {
    "clay": TestPlan(
        "C3", SOILS["silty-clay"], height_mm=140.0, diameter_mm=70.0,
        drainage="radial + one end", effective_kPa=160.0, consolidation_end="dissipation 95 %",
    ),
    "stiff clay": TestPlan("C1", SOILS["stiff-clay"], effective_kPa=300.0, seed=1),
    "slender": TestPlan(
        "C4", SOILS["silty-clay"], height_mm=125.0, diameter_mm=50.0,
        drainage="both ends", effective_kPa=200.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("creeping", [False, True])
def test_the_rehearsed_cv_comes_back(name: str, creeping: bool) -> None:
    """Its consolidation is a finite-volume solution, which knows no series.

    Read without noise, and at the moments of the trace: between them it is straight, which costs
    0.02 % of the volume, and with consolidation cut off at 98 % that alone moves cv by 2 %.
    """
    plan = PLANS[name]
    if not creeping:
        plan = replace(plan, soil=replace(plan.soil, secondary=0.0))
    run = Technician(plan).work()
    end = next(step.act_s for step in run.steps if step.step == "dock")
    moments = run.trace.seconds
    moments = moments[(moments > run.opened_s) & (moments <= end)]
    minutes = (moments - run.opened_s) / 60.0
    lost = run.trace.one("back_ml", run.opened_s) - run.trace.at("back_ml", moments)
    fit = fit_series(
        minutes, lost, drainage=plan.drainage,
        height_mm=plan.height_mm, diameter_mm=plan.diameter_mm,
    )  # fmt: skip
    assert fit.cv_m2_per_year == pytest.approx(plan.soil.cv_m2_year, rel=0.003)
    assert fit.primary == pytest.approx(run.compression.primary_ml, rel=0.003)


def noisy(drainage: str, seed: int) -> tuple[Column, Column]:
    minutes = times(drainage, 76.0, "log of time")
    change = of_theory(minutes, CV, 0.3, 5.0, 0.15, drainage)
    return minutes, change + 0.01 * np.random.default_rng(seed).standard_normal(len(minutes))


@pytest.mark.parametrize("drainage", DRAINAGES)
def test_scipy_finds_the_same(drainage: str) -> None:
    minutes, change = noisy(drainage, 11)
    fit = fit_series(minutes, change, drainage=drainage, **CELL)
    found, covariance = optimize.curve_fit(
        lambda t, *p: of_theory(t, *p, drainage=drainage), minutes, change, p0=[3.0, 0, 4.0, 0.1]
    )
    assert found[3] > 0
    assert fit.cv_m2_per_year == pytest.approx(found[0], rel=1e-4)
    assert fit.primary == pytest.approx(found[2], rel=1e-4)
    assert fit.creep == pytest.approx(found[3], rel=1e-2)
    names = ("cv_m2_per_year", "start", "primary", "creep")
    deviations = [fit.standard_uncertainty[name] for name in names]
    assert deviations == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.01)


@pytest.mark.parametrize("drainage", DRAINAGES)
def test_lmfit_finds_the_same_with_creep_kept_above_zero(drainage: str) -> None:
    minutes, change = noisy(drainage, 2)
    change -= 0.3 * np.log10(1.0 + minutes / minutes[-1] * 20.0) * (minutes > minutes[7])
    fit = fit_series(minutes, change, drainage=drainage, **CELL)
    model = lmfit.Model(
        lambda minutes, cv, start, primary, creep: of_theory(
            minutes, cv, start, primary, creep, drainage
        )
    )
    wanted = model.make_params(cv=3.0, start=0.2, primary=4.0, creep={"value": 0.05, "min": 0.0})
    found = model.fit(change, wanted, minutes=minutes).params
    assert fit.creep == pytest.approx(found["creep"].value, abs=2e-3)
    assert fit.cv_m2_per_year == pytest.approx(found["cv"].value, rel=2e-3)
    assert fit.primary == pytest.approx(found["primary"].value, rel=2e-3)


@pytest.mark.parametrize("drainage", ["one end", "radial + both ends"])
def test_the_uncertainty_is_the_scatter_of_repeated_tests(drainage: str) -> None:
    fits = [fit_series(*noisy(drainage, seed), drainage=drainage, **CELL) for seed in range(200)]
    values = np.array([fit.cv_m2_per_year for fit in fits], dtype=float)
    said = np.array([fit.standard_uncertainty["cv_m2_per_year"] for fit in fits])
    assert float(np.median(said)) == pytest.approx(float(values.std()), rel=0.25)
    assert float(values.mean()) == pytest.approx(CV, abs=3 * float(values.std()) / math.sqrt(200))


def test_steady_rows_do_not_drown_the_first_minutes() -> None:
    """A wrong tail of a thousand rows moves cv no more than one of few readings does."""
    few = LOG_SLOTS
    many = np.concatenate((few[:-2], np.arange(480.0, 1440.0, 0.5)))
    answers = []
    for minutes in (few, many):
        change = of_theory(minutes, CV, 0.3, 5.0, 0.0)
        change = change + np.where(minutes >= 480.0, 0.02, 0.0)
        fit = fit_series(minutes, change, drainage="both ends", **CELL)
        assert fit.cv_m2_per_year is not None
        answers.append(fit.cv_m2_per_year / CV - 1.0)
    assert abs(answers[0]) < 0.02
    assert abs(answers[1]) < 0.02


SCALES = st.floats(1e-3, 1e3)


@given(time=SCALES, change=SCALES, shift=st.floats(-100.0, 100.0))
def test_units_do_not_matter(time: float, change: float, shift: float) -> None:
    """Time k times as long: cv a k-th. Change scaled or shifted: the same cv."""
    minutes, values = noisy("radial + one end", 5)
    base = fit_series(minutes, values, drainage="radial + one end", **CELL)
    found = fit_series(
        time * minutes, change * (values + shift), drainage="radial + one end", **CELL
    )
    assert base.cv_m2_per_year is not None and base.primary is not None and base.start is not None
    assert found.cv_m2_per_year == pytest.approx(base.cv_m2_per_year / time, rel=1e-5)
    assert found.primary == pytest.approx(change * base.primary, rel=1e-5)
    assert found.start == pytest.approx(change * (base.start + shift), abs=1e-5 * change)


def test_both_ends_are_one_end_of_half_the_height() -> None:
    minutes, change = noisy("both ends", 7)
    whole = fit_series(minutes, change, drainage="both ends", height_mm=76.0, diameter_mm=38.0)
    half = fit_series(minutes, change, drainage="one end", height_mm=38.0, diameter_mm=38.0)
    assert whole.cv_m2_per_year == pytest.approx(half.cv_m2_per_year, rel=1e-9)
    assert whole.standard_uncertainty == pytest.approx(half.standard_uncertainty, rel=1e-6)


def finite(fit: SeriesFit) -> bool:
    numbers = [
        fit.cv_m2_per_year, fit.start, fit.primary, fit.creep, fit.t50_min, fit.t90_min,
        fit.t100_min, fit.misfit, *fit.standard_uncertainty.values(),
        *(number for point in fit.curve for number in point),
    ]  # fmt: skip
    return all(number is None or math.isfinite(number) for number in numbers)


@pytest.mark.parametrize(
    ("minutes", "change", "word"),
    [
        ([], [], "0 readings"),
        ([1.0], [1.0], "1 readings"),
        (LOG_SLOTS, np.full(14, np.nan), "0 readings"),
        (LOG_SLOTS, np.full(14, 3.0), "constant"),
        (LOG_SLOTS, -of_theory(LOG_SLOTS, CV, 0.3, 5.0, 0.0), "does not rise"),
        (LOG_SLOTS, np.log(LOG_SLOTS), "no curve of theory"),
    ],
)
def test_what_cannot_be_told_says_why(minutes: Column, change: Column, word: str) -> None:
    fit = fit_series(minutes, change, drainage="both ends", **CELL)
    assert fit.cv_m2_per_year is fit.primary is fit.t90_min is None
    assert fit.why is not None and word in fit.why
    assert finite(fit)


def test_an_early_part_alone_tells_no_cv() -> None:
    """While change goes with √t, cv and primary cannot be told apart."""
    minutes = np.geomspace(0.1, 5.0, 30)
    change = of_theory(minutes, CV, 0.3, 5.0, 0.0)
    change = change + 0.005 * np.random.default_rng(1).standard_normal(30)
    fit = fit_series(minutes, change, drainage="both ends", **CELL)
    assert fit.cv_m2_per_year is None and fit.why is not None


def test_what_is_refused() -> None:
    minutes, change = noisy("both ends", 1)
    with pytest.raises(ReductionError, match="must not run backwards"):
        fit_series(minutes[::-1], change, drainage="both ends", **CELL)
    with pytest.raises(ReductionError, match="of one length"):
        fit_series(minutes[1:], change, drainage="both ends", **CELL)
    with pytest.raises(ReductionError, match="drainage is 'sideways'"):
        fit_series(minutes, change, drainage="sideways", **CELL)
    with pytest.raises(ReductionError, match="height is -1 mm"):
        fit_series(minutes, change, drainage="both ends", height_mm=-1.0, diameter_mm=38.0)


@given(
    st.lists(st.tuples(st.floats(0.01, 1e4), st.floats(-10, 10)), max_size=40),
    st.sampled_from(DRAINAGES),
)
def test_no_answer_is_ever_nan(rows: list[tuple[float, float]], drainage: str) -> None:
    minutes = sorted(row[0] for row in rows)
    fit = fit_series(minutes, [row[1] for row in rows], drainage=drainage, **CELL)
    assert finite(fit)
    assert (fit.why is None) == (fit.cv_m2_per_year is not None)


@given(st.lists(st.floats(0.0, 1.0), min_size=6, max_size=40), st.sampled_from(DRAINAGES))
def test_any_rising_curve_has_an_answer_or_a_reason(steps: list[float], drainage: str) -> None:
    fit = fit_series(np.arange(1, len(steps) + 1) ** 2, np.cumsum(steps), drainage=drainage, **CELL)
    assert finite(fit)
    assert (fit.why is None) == (fit.cv_m2_per_year is not None)
