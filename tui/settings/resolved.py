"""The channels of a log as numbers, ready for whoever reads the rows.

A gauge shows `g`: the raw field times `gain`, or `table` read at the raw field. Several columns
are combined as gauges (sum or mean of their `g`). The channel's value is sign × (g − zero) in the
unit of the settings, then in the internal unit.
"""

from dataclasses import dataclass, replace
from typing import Literal

from reduce.units import convert
from tui.settings.cell_toml import Channel, Log
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.settings.quantities import read_difference, read_span


@dataclass(frozen=True, slots=True)
class ResolvedChannel:
    """One gauge (or several that act as one) behind a channel."""

    name: str
    """Of the channel: "cell_pressure", …"""
    columns: tuple[str, ...]
    """Of the log; for `same_as` those of the other channel."""
    combine: Literal["sum", "mean"] | None
    """How several columns make one gauge; None for one column."""
    unit: str | None
    """Of the gauge; None for words."""
    internal_unit: str | None
    """Of the channel inside the program; None for words."""
    sign: int
    gain: float
    zero_in_unit: float
    """What the gauge shows at nothing. [unit]"""
    range_low: float | None
    """Least value of the channel that the gauge can show, after zero and sign. [internal unit]"""
    range_high: float | None
    """Greatest value of the channel that the gauge can show. [internal unit]"""
    stroke_low: float | None
    """Least value of the channel within the gauge's stroke, after zero and sign. [internal unit]"""
    stroke_high: float | None
    """Greatest value of the channel within the gauge's stroke. [internal unit]"""
    refill: float | None
    """A jump above this at constant pressure is a refill. [internal unit]"""
    table: tuple[tuple[float, float], ...]
    """(raw, gauge in its unit), raw rising; empty for a linear gauge."""
    same_as: str | None
    """The channel whose transducer this one shares by a valve."""
    measured_at: Literal["base", "top", "mid"] | None
    datum_mm: float
    """Height of the transducer above mid-height of the specimen. [mm]"""


def _ends(
    text: str | None, channel: Channel, name: str, zero: float
) -> tuple[float | None, float | None]:
    """A span of the gauge as a span of the channel's values, in its internal unit."""
    if text is None or channel.unit is None:
        return None, None
    inside = NUMERIC_CHANNELS[name]
    low, high = read_span(text, channel.unit)
    if name == "axial_load" and channel.sign < 0 and low == 0.0:
        # A load cell that shows compression as negative is still sold as "0 to 10 kN".
        low = -high
    ends = sorted(
        float(convert(channel.sign * (end - zero), channel.unit, inside)) + 0.0  # no −0.0
        for end in (low, high)
    )
    return ends[0], ends[1]


def _resolve(name: str, channel: Channel) -> ResolvedChannel:
    inside = NUMERIC_CHANNELS.get(name)
    numeric = inside is not None and channel.unit is not None
    zero = read_difference(channel.zero, channel.unit or "") if channel.zero and numeric else 0.0
    range_low, range_high = _ends(channel.range, channel, name, zero)
    stroke_low, stroke_high = _ends(channel.stroke, channel, name, zero)
    return ResolvedChannel(
        name=name,
        columns=(channel.column,) if channel.column is not None else channel.columns,
        combine=channel.combine if len(channel.columns) > 1 else None,
        unit=channel.unit if numeric else None,
        internal_unit=inside,
        sign=channel.sign,
        gain=channel.gain,
        zero_in_unit=zero,
        range_low=range_low,
        range_high=range_high,
        stroke_low=stroke_low,
        stroke_high=stroke_high,
        refill=read_difference(channel.refill, inside) if channel.refill and inside else None,
        table=tuple(sorted(channel.table)),
        same_as=channel.same_as,
        measured_at=channel.measured_at,
        datum_mm=channel.datum_mm,
    )


def _fineness(channel: ResolvedChannel) -> float:
    if channel.range_low is None or channel.range_high is None:
        return float("inf")
    return max(abs(channel.range_low), abs(channel.range_high))


def resolve_channels(log: Log) -> dict[str, tuple[ResolvedChannel, ...]]:
    """Every channel of `[log.channels]` with its gauges, the finest range first.

    A channel that is `same_as` another has the gauges of that one under its own name. An empty
    answer means: no `[log.channels]`; columns named as channels with their unit are taken then.

    Args:
        log: as `read_cell_toml` gives it; its channels were checked there.
    """
    own = {
        name: tuple(sorted((_resolve(name, gauge) for gauge in gauges), key=_fineness))
        for name, gauges in log.channels.items()
    }
    answer: dict[str, tuple[ResolvedChannel, ...]] = {}
    for name, gauges in own.items():
        target, seen = name, {name}
        while own[target][0].same_as is not None:
            following = own[target][0].same_as
            if following is None or following in seen or following not in own:
                break
            target = following
            seen.add(target)
        answer[name] = (
            gauges
            if target == name
            else tuple(
                replace(
                    gauge,
                    name=name,
                    same_as=target,
                    measured_at=gauges[0].measured_at or gauge.measured_at,
                )
                for gauge in own[target]
            )
        )
    return answer


def to_internal(channel: ResolvedChannel, value_in_unit: float) -> float:
    """A value after zero and sign, in the gauge's unit, as one in the internal unit."""
    if channel.unit is None or channel.internal_unit is None:
        return value_in_unit
    return float(convert(value_in_unit, channel.unit, channel.internal_unit))
