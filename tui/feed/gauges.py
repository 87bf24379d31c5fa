"""Columns of a log into channels: zero, sign, gain, tables, several gauges, internal units.

A gauge shows g = raw × gain, or its table read at raw; several columns are combined by their g.
The channel's value is sign × (g − zero) in the unit of the settings, then in the internal unit.
Positive directions are those of the contract: pressures above atmosphere, volume into the
specimen (cell volume: into the cell), compression.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from reduce.units import convert
from tui.feed.rows import Column
from tui.settings.resolved import ResolvedChannel

HEAD_KPA_PER_MM = float(convert(1e-3, "mH2O", "kPa"))
"""Pressure of a column of water. [kPa/mm]"""

_UNDER = 0.02
"""A load cell without load shows a little less than nothing: share of its span below its range
that still counts as inside. Common practice, no source."""


@dataclass(frozen=True)
class Gauge:
    """A gauge and where its columns stand in this file."""

    resolved: ResolvedChannel
    indices: tuple[int, ...]

    @cached_property
    def is_the_channel(self) -> bool:
        """Whether its one column holds the channel as it is."""
        one = self.resolved
        return (
            len(self.indices) == 1
            and (one.sign, one.gain, one.zero_in_unit, one.datum_mm) == (1, 1.0, 0.0, 0.0)
            and (one.unit == one.internal_unit or _same_unit(one.unit, one.internal_unit))
            and not one.table
        )


def _same_unit(one: str | None, other: str | None) -> bool:
    """Whether two names, such as C and degC, mean one unit."""
    if one is None or other is None:
        return False
    return (convert(0.0, one, other), convert(1.0, one, other)) == (0.0, 1.0)


def gauge_values(gauge: Gauge, raw: Mapping[int, Column]) -> Column:
    """One gauge in the channel's internal unit; NaN where one of its columns has no number."""
    resolved = gauge.resolved
    if gauge.is_the_channel:
        return raw[gauge.indices[0]]
    shown = [_shown(raw[index], resolved) for index in gauge.indices]
    total = shown[0]
    for more in shown[1:]:
        total = total + more
    if resolved.combine == "mean":
        total = total / len(shown)
    value = resolved.sign * (total - resolved.zero_in_unit)
    if resolved.unit is not None and resolved.internal_unit is not None:
        value = convert(value, resolved.unit, resolved.internal_unit)
    if resolved.datum_mm and resolved.internal_unit == "kPa":
        # A transducer above mid-height feels less by the water between.
        value = value + resolved.datum_mm * HEAD_KPA_PER_MM
    return np.where(np.isfinite(value), value, np.nan)


def _shown(raw: Column, resolved: ResolvedChannel) -> Column:
    if not resolved.table:
        scaled: Column = raw * resolved.gain
        return scaled
    x = np.array([point[0] for point in resolved.table])
    y = np.array([point[1] for point in resolved.table])
    if len(x) == 1:
        moved: Column = raw - x[0] + y[0]
        return moved
    value: Column = np.interp(raw, x, y)
    # Beyond its ends the table goes on straight: a value held at the end would hide an overload.
    below, above = raw < x[0], raw > x[-1]
    value[below] = y[0] + (raw[below] - x[0]) * (y[1] - y[0]) / (x[1] - x[0])
    value[above] = y[-1] + (raw[above] - x[-1]) * (y[-1] - y[-2]) / (x[-1] - x[-2])
    return value


def _inside(value: Column, resolved: ResolvedChannel) -> NDArray[np.bool_]:
    low, high = resolved.range_low, resolved.range_high
    if low is None or high is None:
        return np.asarray(np.isfinite(value))
    slack = _UNDER * (high - low)
    # The far end is outside: a gauge that stands there may show its stop instead of the load.
    if abs(low) > abs(high):
        return np.asarray((value > low) & (value <= high + slack))
    return np.asarray((value >= low - slack) & (value < high))


def channel_values(gauges: Sequence[Gauge], raw: Mapping[int, Column]) -> Column:
    """Of several ranges the finest in range wins; beyond all, the coarsest that has a number."""
    if len(gauges) == 1:
        return gauge_values(gauges[0], raw)
    values = [gauge_values(gauge, raw) for gauge in gauges]
    answer: Column = np.full_like(values[0], np.nan)
    for value in values:  # coarser ones overwrite: what is beyond all ranges
        answer = np.where(np.isfinite(value), value, answer)
    for gauge, value in reversed(list(zip(gauges, values, strict=True))):
        answer = np.where(_inside(value, gauge.resolved), value, answer)
    return answer
