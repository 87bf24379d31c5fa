"""What is true of a rehearsed test, for whoever checks a reduction or an alarm against it."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.curve import ShearPoint
from reduce.rehearsal.records import CheckRecord, TestRun

Column = NDArray[np.float64]

SETTLED_KPA_S = 1.0 / 600.0
"""Pore pressure that moves slower has settled: 1 kPa in 10 min."""


_EFFECTIVE = ("pore_kPa", "excess_pore_kPa", "sigma1_effective_kPa", "sigma3_effective_kPa", "A")


@dataclass(frozen=True, slots=True)
class SettledCheck:
    """A check as its readings show it, but without noise."""

    at_s: float
    b: float
    b_last: float
    settled: bool


def settled_check(run: TestRun, check: CheckRecord, readings_s: Column) -> SettledCheck:
    """Find the settled reading of a check among the logger's readings.

    The first, after cell pressure has held for 2 min, from which pore pressure moves slower than
    1 kPa per 10 min over three readings or 10 min; else the last one.

    Args:
        run: what happened.
        check: one of its checks.
        readings_s: (n,) when the logger read. [s]
    """
    base = run.trace.one("pore_kPa", check.began_s)
    inside = readings_s[(readings_s > check.began_s) & (readings_s <= check.ended_s)]
    if len(inside) == 0:
        inside = np.array([check.ended_s])
    pore = run.trace.at("pore_kPa", inside)
    last = float(pore[-1] - base) / check.delta_cell_kPa
    slow = np.abs(np.diff(pore)) < SETTLED_KPA_S * np.diff(inside)
    for i in range(len(inside)):
        if inside[i] < check.stood_s + 120.0:
            continue
        for j in range(i + 1, len(inside)):
            if not slow[j - 1]:
                break
            if j >= i + 2 or inside[j] - inside[i] >= 600.0:
                return SettledCheck(
                    float(inside[i]), float(pore[i] - base) / check.delta_cell_kPa, last, True
                )
    return SettledCheck(float(inside[-1]), last, last, False)


def shear_state(run: TestRun, point: ShearPoint) -> dict[str, float | None]:
    """A state of shear under the names that a reduction uses."""
    plan = run.plan
    start = run.curve.points[0]
    drained = run.curve.drained
    diameter = math.sqrt(4.0 * run.area_mm2 / math.pi)
    excess = (
        0.0
        if drained
        else start.mean_effective_kPa + point.deviator_kPa / 3.0 - point.mean_effective_kPa
    )
    cell = run.trace.one("cell_kPa", run.contact_s)
    strain = point.axial_strain
    return {
        "axial_strain": strain,
        "deviator_kPa": point.deviator_kPa,
        "pore_kPa": cell - start.mean_effective_kPa + excess,
        "excess_pore_kPa": excess,
        "sigma1_effective_kPa": point.sigma1_effective_kPa,
        "sigma3_effective_kPa": point.sigma3_effective_kPa,
        "A": None if drained else excess / point.deviator_kPa,
        "volumetric_strain": point.volumetric_strain,
        "membrane_kPa": 4.0
        * plan.membrane_kPa
        * plan.membrane_mm
        * plan.membranes
        * strain
        / diameter,
        "side_drains_kPa": 0.19
        * plan.drain_perimeter_mm
        / run.area_mm2
        * 1000.0
        * min(strain / 0.02, 1.0),
    }


def facts(run: TestRun) -> dict[str, Any]:
    """Everything that needs no clock: specimen, saturation, consolidation, shear."""
    plan, soil = run.plan, run.plan.soil
    return {
        "soil": soil.name,
        "specimen": {
            "area_mm2": plan.area_mm2,
            "volume_ml": plan.volume_ml,
            "height_mm": plan.height_mm,
            "diameter_mm": plan.diameter_mm,
            "void_ratio": soil.void_ratio,
            "dry_density_Mg_m3": soil.particle_density_Mg_m3 / (1.0 + soil.void_ratio),
            "water_content": plan.water_content,
            "saturation": soil.saturation,
            "line_compliance_ml_kPa": plan.line_ml_kPa,
        },
        "consolidation": None if plan.kind == "UU" else _consolidation(run),
        "shear": _unconsolidated_shear(run) if plan.kind == "UU" else _shear(run),
    }


def _consolidation(run: TestRun) -> dict[str, Any]:
    plan, soil, drainage = run.plan, run.plan.soil, run.dissipation
    strain = run.consolidated_ml / plan.volume_ml
    return {
        "drainage": plan.drainage,
        "volume_change_ml": run.consolidated_ml,
        "primary_ml": run.compression.primary_ml,
        "volumetric_strain": strain,
        "height_mm": run.height_mm,
        "area_mm2": run.area_mm2,
        "volume_ml": run.volume_ml,
        "void_ratio": soil.void_ratio - strain * (1.0 + soil.void_ratio),
        "effective_stress_kPa": plan.effective_kPa,
        "first_excess_kPa": run.first_excess_kPa,
        "t50_min": drainage.time_of(0.50) / 60.0,
        "t90_min": drainage.time_of(0.90) / 60.0,
        "t95_min": drainage.time_of(0.95) / 60.0,
        "t100_min": drainage.t100_s / 60.0,
        "cv_m2_per_year": soil.cv_m2_year,
        "mv_m2_per_MN": run.compression.primary_ml / plan.volume_ml / run.first_excess_kPa * 1000.0,
        "secondary_per_log_cycle": soil.secondary,
    }


def _up_to_limit(run: TestRun) -> list[ShearPoint]:
    return [p for p in run.curve.points if p.axial_strain <= run.plan.strain_limit + 1e-9]


def _shear(run: TestRun) -> dict[str, Any]:
    contact, inside = run.contact_s, _up_to_limit(run)
    return {
        "rate_percent_per_min": run.rate_percent_min,
        "phi_effective_deg": run.plan.soil.friction_deg,
        "c_effective_kPa": 0.0,
        "cell_pressure_kPa": run.trace.one("cell_kPa", contact),
        "pore_pressure_kPa": run.trace.one("pore_kPa", contact),
        "sigma3_effective_kPa": run.curve.points[0].mean_effective_kPa,
        "peak_deviator": shear_state(run, max(inside, key=lambda p: p.deviator_kPa)),
        "peak_ratio": shear_state(
            run, max(inside, key=lambda p: p.sigma1_effective_kPa / p.sigma3_effective_kPa)
        ),
        "at_strain_limit": shear_state(run, inside[-1]),
        **_cavitation(run),
    }


def _cavitation(run: TestRun) -> dict[str, float]:
    """Where undrained pores begin to grow, which no gauge shows: from there on area and deviator
    of a reduction are not those of the specimen. Empty where it does not come to that."""
    if run.curve.drained:
        return {}
    grown = (p.axial_strain for p in run.curve.points if p.volumetric_strain != 0.0)
    strain = next(grown, None)
    return {} if strain is None else {"cavitates_at_strain": strain}


def _unconsolidated_shear(run: TestRun) -> dict[str, Any]:
    """The same in total stresses: what nobody reads is None."""
    inside = _up_to_limit(run)
    greatest = max(inside, key=lambda p: p.deviator_kPa)
    return {
        "rate_percent_per_min": run.rate_percent_min,
        "phi_effective_deg": None,
        "c_effective_kPa": None,
        "undrained_strength_kPa": greatest.deviator_kPa / 2.0,
        "cell_pressure_kPa": run.trace.one("cell_kPa", run.contact_s),
        "pore_pressure_kPa": None,
        "sigma3_effective_kPa": None,
        "peak_deviator": _total(shear_state(run, greatest)),
        "peak_ratio": None,
        "at_strain_limit": _total(shear_state(run, inside[-1])),
    }


def _total(state: dict[str, float | None]) -> dict[str, float | None]:
    return {name: None if name in _EFFECTIVE else value for name, value in state.items()}
