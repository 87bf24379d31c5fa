"""Every reading of a test beside what it means, as columns."""

from datetime import datetime, tzinfo
from typing import Any

import numpy as np

from reduce.record import Record
from reduce.reduction.history import history
from reduce.reduction.whole import Reduction
from tui.settings.channel_names import NUMERIC_CHANNELS


def readings_columns(found: Reduction, zone: tzinfo) -> dict[str, Any]:
    """Time as the logger stamped it, phase, step, channels that were read, derived columns.

    Args:
        found: the reduction.
        zone: of the times.

    Returns:
        By name with unit, (n,) each: times, texts, and numbers with NaN for none.
    """
    record = found.record
    stamps = record.times_s if record.stamps_s is None else record.stamps_s
    phases, steps = _phases(record)
    columns: dict[str, Any] = {
        "time": [datetime.fromtimestamp(moment, zone) for moment in stamps.tolist()],
        "phase": phases,
        "step": steps,
    }
    for name, unit in NUMERIC_CHANNELS.items():
        if name in record.channels:
            columns[f"{name}_{unit.replace('degC', 'C')}"] = record.channels[name]
    derived = history(record, found.stages)
    return columns | {name: column for name, column in derived.items() if _is_told(column)}


def _is_told(column: Any) -> bool:
    return not bool(np.isnan(column).all())


def _phases(record: Record) -> tuple[list[str], list[str]]:
    """Phase and step of every reading."""
    starts = np.array([stage.start_s for stage in record.stages])
    places = np.searchsorted(starts, record.times_s, side="right") - 1
    stages = [record.stages[place] if place >= 0 else None for place in places.tolist()]
    return (
        ["" if stage is None else stage.name for stage in stages],
        ["" if stage is None or stage.step is None else stage.step for stage in stages],
    )
