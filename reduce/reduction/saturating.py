"""Saturation of one test: its checks, B, how saturated the specimen is, what flowed in."""

import numpy as np

from reduce.acceptance import Check, judge_checks
from reduce.columns import Column
from reduce.consolidation import saturation_volume_change
from reduce.errors import ReductionError
from reduce.record import PressureStep, Record
from reduce.reduction.results import CheckReduced, SaturationReduced
from reduce.reduction.sheared_specimen import change_of, saturated_between, shortening
from reduce.saturation import b_saturated, b_value, back_pressure_to_saturate
from reduce.saturation_degree import saturation_after_inflow, saturation_from_b, solution_words
from reduce.specimen import SpecimenAtSetUp
from reduce.water import ATMOSPHERE_KPA


def reduce_saturation(record: Record, specimen: SpecimenAtSetUp) -> SaturationReduced | None:
    """What saturation came to; None where none was seen and none is asked for.

    Args:
        record: the test.
        specimen: at set-up.
    """
    if record.kind == "UU" or (record.begin_of("saturation") is None and not record.checks):
        return None
    until = record.zero_first_stage_s
    checks = [step for step in record.checks if until is None or step.at_s <= until]
    verdict = judge_checks(
        [_check(step) for step in checks],
        target=record.planned.b_target,
        standard=record.followed_standard,
        increment_kPa=record.planned.cell_step_kPa / 2.0,
    )
    # A person can take a B that is low, not one that is no measure of saturation at all
    taken = record.taken_below_target is not None and verdict.ground == "below target"
    first, last = saturated_between(record)
    inflow = change_of(record.column("back_volume"), first, last)
    return SaturationReduced(
        checks=tuple(map(_reduced, checks)),
        B=_check(checks[-1]).B if checks else None,
        accepted=verdict.accepted or taken,
        ground=verdict.ground,
        b_target=record.planned.b_target,
        B_of_saturated_soil=None,
        degree_at_set_up=specimen.saturation,
        degree_by_B=None,
        degree_by_inflow=_by_inflow(specimen, inflow, record.specimen.mounted_dry),
        back_pressure_to_saturate_kPa=_pressure_needed(specimen),
        back_pressure_kPa=_newest(record.column("back_pressure"), last),
        solution=None if specimen.saturation is None else solution_words(specimen.saturation),
        inflow_ml=inflow,
        volume_change_ml=_by_height(record, specimen),
        taken_below_target=record.taken_below_target,
    )


def b_of_theory(
    specimen: SpecimenAtSetUp,
    compressibility_per_kPa: float | None,
    b: float | None,
    back_pressure_kPa: float | None,
) -> tuple[float | None, float | None]:
    """B that this soil can reach, and the degree of saturation that explains the B measured.

    Args:
        specimen: its porosity.
        compressibility_per_kPa: of the skeleton under isotropic stress, from its consolidation.
        b: measured.
        back_pressure_kPa: at which it was measured.

    Returns:
        Each None where it cannot be told.
    """
    if specimen.porosity is None or compressibility_per_kPa is None:
        return None, None
    try:
        reach = b_saturated(specimen.porosity, compressibility_per_kPa)
    except ReductionError:
        return None, None
    if b is None or back_pressure_kPa is None:
        return reach, None
    absolute = back_pressure_kPa + ATMOSPHERE_KPA
    try:
        return reach, saturation_from_b(b, specimen.porosity, compressibility_per_kPa, absolute)
    except ReductionError:
        return reach, None


def _check(step: PressureStep) -> Check:
    return Check(
        B=b_value(step.delta_pore_kPa, step.delta_cell_kPa),
        settled=step.settled,
        back_pressure_kPa=step.back_pressure_kPa,
    )


def _reduced(step: PressureStep) -> CheckReduced:
    return CheckReduced(
        at_s=step.at_s,
        back_pressure_kPa=step.back_pressure_kPa,
        delta_cell_kPa=step.delta_cell_kPa,
        delta_pore_kPa=step.delta_pore_kPa,
        B=b_value(step.delta_pore_kPa, step.delta_cell_kPa),
        B_last=step.B_last,
        settled=step.settled,
    )


def _newest(column: Column, last: int | None) -> float | None:
    values = column[: (last or 0) + 1]
    values = values[np.isfinite(values)]
    return float(values[-1]) if len(values) else None


def _by_height(record: Record, specimen: SpecimenAtSetUp) -> float | None:
    """Volume change by the shortening, where a ram followed the specimen."""
    travel = shortening(record, specimen)
    if travel is None:
        return None
    return saturation_volume_change(specimen.volume_ml, specimen.height_mm, travel)


def _by_inflow(specimen: SpecimenAtSetUp, inflow: float | None, mounted_dry: bool) -> float | None:
    voids = specimen.porosity
    # What flushed a dry specimen was not read: the inflow is no balance of its water.
    if specimen.saturation is None or voids is None or inflow is None or mounted_dry:
        return None
    try:
        return saturation_after_inflow(specimen.saturation, voids * specimen.volume_ml, inflow)
    except ReductionError:
        return None


def _pressure_needed(specimen: SpecimenAtSetUp) -> float | None:
    if specimen.saturation is None or not 0.0 < specimen.saturation <= 1.0:
        return None
    return back_pressure_to_saturate(specimen.saturation)
