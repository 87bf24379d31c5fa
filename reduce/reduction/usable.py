"""Readings that no instrument gives: they are none, wherever the record came from."""

from dataclasses import replace

import numpy as np

from reduce.columns import GREATEST
from reduce.errors import ReductionError
from reduce.record import PressureStep, Record


def usable(record: Record) -> Record:
    """The record with NaN for every reading beyond `GREATEST`, without the B checks of such ones.

    Args:
        record: as it was read.

    Returns:
        The same record where there is none of these.

    Raises:
        ReductionError: times that fall or are no numbers, or columns of another length.
    """
    times, count = record.times_s, len(record.times_s)
    if not np.isfinite(times).all():
        raise ReductionError("a reading has a time that is no number; each needs one")
    back = np.flatnonzero(np.diff(times) < 0.0)
    if len(back):
        raise ReductionError(
            f"times fall by {times[back[0]] - times[back[0] + 1]:g} s after reading "
            f"{back[0] + 1}; they must not fall"
        )
    for name, column in record.channels.items():
        if column.shape != times.shape:
            raise ReductionError(
                f"{name} has {len(column)} readings at {count} times; each time needs one"
            )
    if not any(unusable(record).values()):
        return record
    return replace(
        record,
        channels={
            name: np.where(np.abs(column) <= GREATEST, column, np.nan)
            for name, column in record.channels.items()
        },
        checks=tuple(filter(_sound, record.checks)),
    )


def unusable(record: Record) -> dict[str, int]:
    """How many readings of each channel, and of the B checks, are beyond `GREATEST`."""
    found = {
        name: int(np.count_nonzero(np.abs(column) > GREATEST))
        for name, column in record.channels.items()
    }
    return found | {"B checks": len(record.checks) - sum(map(_sound, record.checks))}


def _sound(check: PressureStep) -> bool:
    told = check.delta_cell_kPa, check.delta_pore_kPa, check.B_last, check.back_pressure_kPa or 0.0
    return all(abs(number) <= GREATEST for number in told)
