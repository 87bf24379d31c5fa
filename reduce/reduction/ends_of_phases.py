"""What the readings say where one phase ends and the next begins, for tables that ask for it."""

from dataclasses import dataclass

import numpy as np

from reduce.record import Record
from reduce.reduction.stages import Stages
from reduce.shearing.stiffness import strain_at_half

LAST_FLOW = 0.05
"""The flow before shear is read over this last share of the time of consolidation (common
practice, no source). [-]"""
FEWEST = 3
"""Readings that a rate of flow needs."""


@dataclass(frozen=True, slots=True)
class EndsOfPhases:
    """None is what was not read, or what has not come yet."""

    saturated_cell_kPa: float | None
    """The last reading of saturation."""
    saturated_back_kPa: float | None
    loaded_pore_kPa: float | None
    """Before drainage opened for the last stage of consolidation."""
    consolidated_cell_kPa: float | None
    """The last reading of consolidation, also while it lasts."""
    consolidated_back_kPa: float | None
    consolidated_pore_kPa: float | None
    consolidating_temperature_C: float | None
    """Mean over the last stage."""
    settled_mm: float | None
    """By which the specimen shortened since drainage opened; None where no ram followed it."""
    flow_percent_per_hour: float | None
    """Volumetric strain a time at the end of consolidation, of the specimen at set-up."""
    strain_at_half: float | None
    """Axial, where the deviator first reaches half of its greatest value. [-]"""
    greatest_mean_effective_kPa: float | None
    """p′ from zero strain to the strain limit."""


def ends_of_phases(record: Record, stages: Stages) -> EndsOfPhases:
    """Pressures, flow and strain that no phase is known by, but that its tables want.

    Args:
        record: the test.
        stages: as they were reduced from it.
    """
    end = record.end_of("saturation")
    saturated = None if end is None else _before(record, end)
    curve = stages.curve
    zero, last = (None, None) if curve is None else (curve.zero, curve.last)
    return EndsOfPhases(
        saturated_cell_kPa=record.value("cell_pressure", saturated),
        saturated_back_kPa=record.value("back_pressure", saturated),
        loaded_pore_kPa=record.value("pore_pressure", zero),
        consolidated_cell_kPa=record.value("cell_pressure", last),
        consolidated_back_kPa=record.value("back_pressure", last),
        consolidated_pore_kPa=record.value("pore_pressure", last),
        consolidating_temperature_C=_mean_temperature(record, zero, last),
        settled_mm=_settled(record, stages),
        flow_percent_per_hour=_flow(record, stages),
        strain_at_half=None
        if stages.sheared is None or stages.shear is None
        else strain_at_half(stages.sheared.table, stages.shear.peak_deviator),
        greatest_mean_effective_kPa=_greatest_mean(record, stages),
    )


def _before(record: Record, time_s: float) -> int | None:
    """The last reading before a moment."""
    row = int(np.searchsorted(record.times_s, time_s)) - 1
    return row if row >= 0 else None


def _mean_temperature(record: Record, zero: int | None, last: int | None) -> float | None:
    if zero is None or last is None:
        return None
    warm = record.column("temperature")[zero : last + 1]
    warm = warm[np.isfinite(warm)]
    return float(np.mean(warm)) if len(warm) else None


def _settled(record: Record, stages: Stages) -> float | None:
    """What the ram showed, from the zero of the first stage to the end of the last."""
    if stages.dimensions is None or not stages.dimensions.followed or stages.curve is None:
        return None
    first = record.index_at(record.zero_first_stage_s)
    start = record.value("axial_displacement", first)
    end = record.value("axial_displacement", stages.curve.last)
    return None if start is None or end is None else end - start


def _flow(record: Record, stages: Stages) -> float | None:
    """By the line through the last readings; None while consolidation lasts."""
    curve = stages.curve
    if curve is None or record.end_of("consolidation") is None or len(curve.times_min) < FEWEST:
        return None
    times, volume = curve.times_min, curve.volume_ml
    first = int(np.searchsorted(times, times[-1] - LAST_FLOW * (times[-1] - times[0])))
    first = min(first, len(times) - FEWEST)
    along = times[first:] - times[first:].mean()
    spread = float(along @ along)
    if spread <= 0.0:
        return None
    ml_per_min = float(along @ volume[first:]) / spread
    return 100.0 * 60.0 * ml_per_min / stages.specimen.volume_ml


def _greatest_mean(record: Record, stages: Stages) -> float | None:
    if stages.sheared is None or record.kind == "UU":
        return None
    table = stages.sheared.table
    within = np.isfinite(table.mean_effective_kPa) & (
        table.axial_strain <= record.planned.strain_limit
    )
    return float(table.mean_effective_kPa[within].max()) if within.any() else None
