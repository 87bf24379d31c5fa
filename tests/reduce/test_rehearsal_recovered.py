"""The reduction, which never saw the model, finds its truth again in noisy readings."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from reduce import drainage
from reduce.consolidation import consolidated_isotropic
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan, scheduled_times
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import Instruments, Readings, sense
from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.technician import Technician
from reduce.rehearsal.truth import settled_check
from reduce.saturation import settled_index
from reduce.shearing.area import corrected_area_drained, corrected_area_undrained, deviator

PLANS = {
    "clay": TestPlan(
        "C3", SOILS["silty-clay"], height_mm=140.0, diameter_mm=70.0,
        drainage="radial + one end", effective_kPa=160.0, consolidation_end="dissipation 95 %",
    ),
    "stiff clay": TestPlan("C1", SOILS["stiff-clay"], effective_kPa=300.0, seed=1),
    "sand": TestPlan(
        "C5", SOILS["dense-sand"], "CD", "ASTM D7181", 140.0, 70.0, "both ends",
        effective_kPa=200.0, rate_percent_min=0.05,
    ),
}  # fmt: skip


@pytest.fixture(scope="module", params=sorted(PLANS))
def tested(request: pytest.FixtureRequest) -> tuple[TestRun, Readings]:
    run = Technician(PLANS[request.param]).work()
    return run, sense(run, scheduled_times(run, ReadingPlan()), Instruments(), 8.0)


def test_b_of_every_check(tested: tuple[TestRun, Readings]) -> None:
    run, readings = tested
    seconds, pore = readings.seconds, readings.values["pore_pressure"]
    cell = readings.values["cell_pressure"]
    for check in run.checks:
        known = settled_check(run, check, seconds)
        start = int(np.flatnonzero(seconds == check.began_s)[0])
        inside = np.flatnonzero((seconds > check.began_s) & (seconds <= check.ended_s))
        index = settled_index(seconds[inside], pore[inside], check.stood_s)
        chosen = inside[-1] if index is None else inside[index]
        b = (pore[chosen] - pore[start]) / (cell[chosen] - cell[start])
        # Noise may choose the neighbouring reading, in which 1 kPa more or less has gone.
        assert b == pytest.approx(known.b, abs=0.4 / check.delta_cell_kPa + 0.005)


@pytest.mark.parametrize(("secondary", "within"), [(0.0, 0.01), (0.0025, 0.08)])
def test_cv_and_volume_by_the_exact_series(secondary: float, within: float) -> None:
    """Secondary compression, which the series does not know, makes cv look smaller."""
    plan = replace(PLANS["clay"], soil=replace(PLANS["clay"].soil, secondary=secondary))
    run = Technician(plan).work()
    readings = sense(run, scheduled_times(run, ReadingPlan()), Instruments(), 8.0)
    end = next(step.act_s for step in run.steps if step.step == "dock")
    drained = (readings.seconds > run.opened_s) & (readings.seconds <= end)
    since = readings.seconds[drained] - run.opened_s
    zero = readings.values["back_volume"][readings.seconds == run.opened_s][0]
    lost = zero - readings.values["back_volume"][drained]

    def misses(guess: NDArray[np.float64]) -> NDArray[np.float64]:
        degree = drainage.degree(
            plan.drainage, since, cv_m2_year=math.exp(guess[0]),
            height_mm=plan.height_mm, diameter_mm=plan.diameter_mm,
        )  # fmt: skip
        return np.asarray(guess[1] * degree - lost)

    found = least_squares(misses, [0.0, 20.0]).x
    assert 1.0 - within < math.exp(found[0]) / plan.soil.cv_m2_year < 1.01
    assert 0.99 < found[1] / run.compression.primary_ml < 1.0 + within


def test_dimensions_after_consolidation(tested: tuple[TestRun, Readings]) -> None:
    run, _ = tested
    plan = run.plan
    after = consolidated_isotropic(
        plan.height_mm, plan.area_mm2, plan.volume_ml, run.consolidated_ml
    )
    assert after.height_mm == pytest.approx(run.height_mm, rel=1e-9)
    assert after.volume_ml == pytest.approx(run.volume_ml, rel=1e-9)
    # The area of straight lines differs from that of the volume by terms of εv².
    strain = run.consolidated_ml / plan.volume_ml
    assert after.area_mm2 == pytest.approx(run.area_mm2, rel=strain**2)


def test_deviator_and_strength(tested: tuple[TestRun, Readings]) -> None:
    run, readings = tested
    end = next(step.act_s for step in run.steps if step.phase == "ended")
    rows = (readings.seconds >= run.contact_s) & (readings.seconds <= end)
    values = {name: column[rows] for name, column in readings.values.items()}
    strain = (values["axial_displacement"] - values["axial_displacement"][0]) / run.height_mm
    strain = np.maximum(strain, 0.0)
    if run.curve.drained:
        volume = (values["back_volume"][0] - values["back_volume"]) / run.volume_ml
        area = corrected_area_drained(run.area_mm2, strain, volume)
    else:
        area = corrected_area_undrained(run.area_mm2, strain)
    diameter = math.sqrt(4.0 * run.area_mm2 / math.pi)
    membrane = 4.0 * 1400.0 * 0.3 * strain / diameter
    q = deviator(values["axial_load"] - values["axial_load"][0], area) - membrane
    inside = [p for p in run.curve.points if p.axial_strain <= run.plan.strain_limit]
    peak = max(inside, key=lambda point: point.deviator_kPa)
    assert float(q.max()) == pytest.approx(peak.deviator_kPa, rel=0.01, abs=0.6)
    # At large strain clay is at its critical state: φ′ from the last reading.
    if run.plan.soil.model == "cam clay":
        minor = values["cell_pressure"][-1] - values["pore_pressure"][-1]
        sine = q[-1] / (q[-1] + 2.0 * minor)
        assert math.degrees(math.asin(sine)) == pytest.approx(run.plan.soil.friction_deg, abs=0.7)
