"""The curve that a consolidation is read from: what drained since the valve was opened.

It ends where the valve was shut, or where a pressure left the stress of this consolidation.
"""

from dataclasses import dataclass

import numpy as np

from reduce.columns import Column
from reduce.forecast.thinning import average_log
from reduce.record import Record
from reduce.resolution import noise_of, resolution_of

MANY = 240
"""Readings beyond this are averaged over equal parts of log time before a line is laid."""
STRESS_LOST_KPA, STRESS_LOST = 5.0, 0.03
"""Cell or back pressure this far from where it was set is another stress: common practice. [kPa]"""


@dataclass(frozen=True, slots=True)
class Curve:
    """What the constructions are made on: the last stage of consolidation."""

    times_min: Column
    """(n,) since the zero reading. [min]"""
    volume_ml: Column
    """(n,) drained since then. [ml]"""
    zero: int
    """Row of the zero reading."""
    last: int
    """Row of the last reading."""
    cut: bool
    """Whether pressures left the stress of this stage before its end."""


def curve_of(record: Record) -> Curve | None:
    """The last stage of consolidation; None where it has not begun or no volume is read."""
    zero = record.index_at(record.zero_consolidation_s)
    if zero is None or record.begin_of("consolidation") is None:
        return None
    end = record.begin_of("shear") or record.end_of("consolidation")
    last = len(record.times_s) - 1 if end is None else int(np.searchsorted(record.times_s, end)) - 1
    if last <= zero:
        return None
    rows = slice(zero, last + 1)
    stressed = _stress_held(record, rows)
    held = min(stressed, _drained_until(record, rows))
    minutes = (record.times_s[rows] - record.times_s[zero]) / 60.0
    start = volume_at_zero(record, zero)
    volume = record.column("back_volume")[rows]
    out = (np.nan if start is None else start) - volume
    use = np.isfinite(out) & (np.arange(len(out)) < held) & (minutes >= 0.0)
    minutes, out = minutes[use], out[use]
    if len(minutes) > MANY:
        means = average_log(minutes[minutes > 0.0], out[minutes > 0.0], MANY)
        minutes, out = np.append(0.0, means[0]), np.append(out[0], means[1])
    return Curve(minutes, out, zero, last, stressed < len(volume))


def _drained_until(record: Record, rows: slice) -> int:
    """How many rows of a stage lie before the valve was closed to end it."""
    if record.valve_open is None:
        return _stopped_at(record, rows) if record.kind == "CU" else int(rows.stop - rows.start)
    valve = record.valve_open[rows]
    opened = np.flatnonzero(valve == 1.0)
    if len(opened) == 0:
        return len(valve)
    shut = np.flatnonzero(valve[opened[0] :] == 0.0)
    return int(opened[0] + shut[0]) if len(shut) else len(valve)


def _stopped_at(record: Record, rows: slice) -> int:
    """The same where nobody says how the valve stood: flow that stops at once has been shut off.

    Common practice, no source: at the end of the stage volume stands still over three readings or
    more, for no more than a fifth of the time before (drainage alone slows down more gently),
    though it moved by eight standard deviations over the same time before.
    """
    times, volume = record.times_s[rows], record.column("back_volume")[rows]
    count = len(times)
    noise = max(noise_of(times, volume) or 0.0, (resolution_of(volume) or 0.0) / 2.0)
    known = np.flatnonzero(np.isfinite(volume))
    if noise == 0.0 or len(known) < 6:
        return count
    away = np.abs(volume[known] - np.median(volume[known[-3:]])) > 4.0 * noise
    moved = np.flatnonzero(away)
    if len(moved) == 0 or len(known) - moved[-1] - 1 < 3:
        return count
    start = known[moved[-1]] + 1
    lasts = times[-1] - times[start]
    before = np.searchsorted(times, times[start] - lasts)
    if lasts > 0.2 * (times[start] - times[0]) or before >= start:
        return count
    shut_off = abs(float(volume[start] - volume[before])) > 8.0 * noise
    return int(start + 1) if shut_off else count


def _stress_held(record: Record, rows: slice) -> int:
    """How many rows of a stage lie before cell or back pressure left what was set."""
    lost = np.zeros(rows.stop - rows.start, dtype=np.bool_)
    for channel in ("cell_pressure", "back_pressure"):
        column = record.column(channel)[rows]
        first = column[np.isfinite(column)][:1]
        if len(first) == 0 or (channel == "back_pressure" and record.pore_at_drained_end):
            continue  # a shared transducer tells no back pressure
        away = column - np.fmax.accumulate(column) if channel == "cell_pressure" else column - first
        lost |= np.abs(away) > max(STRESS_LOST_KPA, STRESS_LOST * float(first[0]))
    found = np.flatnonzero(lost)
    return int(found[0]) if len(found) else len(lost)


def drained(record: Record, zero: int, last: int) -> float | None:
    """From a zero reading to the last value read. [ml]"""
    start = volume_at_zero(record, zero)
    volume = record.column("back_volume")[zero + 1 : last + 1]
    known = volume[np.isfinite(volume)]
    return None if start is None or len(known) == 0 else start - float(known[-1])


def volume_at_zero(record: Record, zero: int) -> float | None:
    """Back volume at a zero reading; where it was not read, the one before behind the closed valve.

    Args:
        record: the test.
        zero: row of the last reading before drainage opened.
    """
    at = record.times_s[zero]
    begun = [stage.start_s for stage in record.stages if stage.start_s <= at]
    first = record.index_at(begun[-1]) if begun else zero
    volume = record.column("back_volume")[first or 0 : zero + 1]
    known = volume[np.isfinite(volume)]
    return float(known[-1]) if len(known) else None
