"""The soil model's curve for a specimen as it stands before shear."""

from reduce.rehearsal.cam_clay import shear_clay
from reduce.rehearsal.curve import ShearCurve
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.responses import BeforeShear
from reduce.rehearsal.sand import shear_sand

LEFT_OF_YIELD = 0.35
"""Effective stress in an unconsolidated specimen, which suction holds, over its yield stress.
An invented share. [-]"""

_BEYOND_LIMIT = 0.01
_LOWEST_PORE_KPA = -90.0
"""Gauge pressure at which pore water cavitates."""


def curve_of(plan: TestPlan, before: BeforeShear, cell_kPa: float) -> ShearCurve:
    """Axial compression from an isotropic state, a little beyond the strain limit.

    Args:
        plan: soil, kind and strain limit.
        before: the specimen.
        cell_kPa: cell pressure, which stays.
    """
    soil, drained = plan.soil, plan.kind == "CD"
    effective = cell_kPa - before.pore_kPa
    void_ratio = soil.void_ratio - before.lost_ml / plan.volume_ml * (1.0 + soil.void_ratio)
    limit = plan.strain_limit + _BEYOND_LIMIT
    if soil.model == "sand":
        lowest = _LOWEST_PORE_KPA - before.pore_kPa
        return shear_sand(soil, effective, void_ratio, limit, drained, lowest_excess_kPa=lowest)
    yield_kPa = max(effective, soil.preconsolidation_kPa)
    return shear_clay(soil, effective, yield_kPa, void_ratio, limit, drained)


def unconsolidated(plan: TestPlan, cell_kPa: float) -> BeforeShear:
    """A specimen that keeps the volume and the effective stress with which it was set up.

    A saturated one answers a rise of cell pressure with its pore pressure alone, so that what it
    carries does not hang on cell pressure.

    Args:
        plan: specimen and soil.
        cell_kPa: cell pressure that it has answered.
    """
    return BeforeShear(
        height_mm=plan.height_mm,
        area_mm2=plan.area_mm2,
        volume_ml=plan.volume_ml,
        lost_ml=0.0,
        pore_kPa=cell_kPa - LEFT_OF_YIELD * plan.soil.preconsolidation_kPa,
        first_rate_per_s=1.0,
    )
