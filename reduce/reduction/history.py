"""The whole test row by row: what the readings mean, beside the readings."""

import numpy as np

from reduce.columns import Column
from reduce.record import Record
from reduce.reduction.drained_curve import volume_at_zero
from reduce.reduction.stages import Stages
from reduce.shearing.table import COLUMNS

PRESSURES = ("cell_pressure", "back_pressure", "pore_pressure")


def history(record: Record, stages: Stages) -> dict[str, Column]:
    """Derived columns of every reading.

    Args:
        record: the test.
        stages: as they were reduced from it.

    Returns:
        By name with unit, (n,) each; NaN where a quantity has no meaning (outside its phase) or
        could not be computed.
    """
    count = len(record.times_s)
    cell, back, pore = (record.column(name) for name in PRESSURES)
    found: dict[str, Column] = {
        "effective_stress_kPa": cell - np.where(np.isnan(pore), back, pore),
        "minutes_since_zero": np.full(count, np.nan),
        "volume_change_ml": np.full(count, np.nan),
        "volumetric_strain_since_set_up": np.full(count, np.nan),
        "dissipation": np.full(count, np.nan),
    }
    if stages.curve is not None:
        rows = slice(stages.curve.zero, stages.curve.last + 1)
        first = record.index_at(record.zero_first_stage_s)
        zero = stages.curve.zero if first is None else first
        start_ml = volume_at_zero(record, zero)
        drained = (np.nan if start_ml is None else start_ml) - record.column("back_volume")[rows]
        found["minutes_since_zero"][rows] = (
            record.times_s[rows] - record.times_s[stages.curve.zero]
        ) / 60.0
        found["volume_change_ml"][rows] = drained
        found["volumetric_strain_since_set_up"][rows] = drained / stages.specimen.volume_ml
        start = record.value("pore_pressure", stages.curve.zero)
        to = record.value("back_pressure", stages.curve.zero)
        told = stages.consolidation is not None and stages.consolidation.dissipation is not None
        if told and start is not None and to is not None:
            found["dissipation"][rows] = (start - pore[rows]) / (start - to)
    if stages.sheared is not None:
        rows = stages.sheared.rows
        found["minutes_since_zero"][rows] = (
            record.times_s[rows] - record.times_s[rows.start]
        ) / 60.0
        for name in COLUMNS:
            found[name] = np.full(count, np.nan)
            found[name][rows] = getattr(stages.sheared.table, name)
    return found
