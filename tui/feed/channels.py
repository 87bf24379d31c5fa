"""Columns of a log into channels: zero, sign, gain, tables, several gauges, internal units.

A gauge shows g = raw × gain, or its table read at raw; several columns are combined by their g.
The channel's value is sign × (g − zero) in the unit of the settings, then in the internal unit.
Positive directions are those of the contract: pressures above atmosphere, volume into the
specimen (cell volume: into the cell), compression.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reduce.errors import UnitError
from reduce.units import convert, known_units, unit
from tui.feed.dialect import Dialect, bare_name, is_unit, listed
from tui.feed.plain_text import plain, same_name
from tui.feed.rows import Column
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS
from tui.settings.problems import Problem
from tui.settings.quantities import did_you_mean
from tui.settings.resolved import ResolvedChannel

Channels = Mapping[str, tuple[ResolvedChannel, ...]]

HEAD_KPA_PER_MM = float(convert(1e-3, "mH2O", "kPa"))
"""Pressure of a column of water. [kPa/mm]"""

_UNDER = 0.02
"""A load cell without load shows a little less than nothing: share of its span below its range
that still counts as inside. Common practice, no source."""

_SELF_NAMED = re.compile(
    r"\s*("
    + "|".join(NUMERIC_CHANNELS).replace("_", r"[\s_]")
    + r")[\s_]*(?:[\[(]\s*(\S+?)\s*[\])]|(\S+))?\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge and where its columns stand in this file."""

    resolved: ResolvedChannel
    indices: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Binding:
    """The channels of one file."""

    gauges: dict[str, tuple[Gauge, ...]]
    """By numeric channel, the finest range first."""
    words: dict[str, int]
    """By text channel, its column."""
    problems: tuple[Problem, ...]

    @property
    def columns(self) -> tuple[int, ...]:
        """Every column of numbers that is read, once."""
        found = {i for gauges in self.gauges.values() for gauge in gauges for i in gauge.indices}
        return tuple(sorted(found))


def unit_named(text: str, channel: str) -> str | None:
    """The unit of a channel's kind that a text means, whatever its case; None if none or several.

    Example:
        >>> unit_named("KPA", "cell_pressure"), unit_named("mm", "cell_pressure")
        ('kPa', None)
    """
    dimension = unit(NUMERIC_CHANNELS[channel]).dimension
    if is_unit(text) and unit(text).dimension == dimension:
        return text
    extra = ("C", "F") if dimension == "temperature" else ()
    alike = {s for s in (*known_units(dimension), *extra) if s.casefold() == text.casefold()}
    factors = {unit(symbol).factor for symbol in alike}
    return alike.pop() if len(factors) == 1 else None


def _channel_name(column: str) -> str:
    return bare_name(column).replace(" ", "_")


def _self_named(name: str) -> tuple[str, str] | None:
    match = _SELF_NAMED.match(name)
    if match is None:
        return None
    channel = _channel_name(match[1])
    symbol = unit_named(match[2] or match[3] or "", channel) if match[2] or match[3] else None
    return None if symbol is None else (channel, symbol)


def _plain_channel(name: str, column: str, symbol: str | None) -> ResolvedChannel:
    return ResolvedChannel(
        name=name,
        columns=(column,),
        combine=None,
        unit=symbol,
        internal_unit=NUMERIC_CHANNELS.get(name),
        sign=1,
        gain=1.0,
        zero_in_unit=0.0,
        range_low=None,
        range_high=None,
        stroke_low=None,
        stroke_high=None,
        refill=None,
        table=(),
        same_as=None,
        measured_at=None,
        datum_mm=0.0,
    )


def self_named(dialect: Dialect) -> dict[str, tuple[ResolvedChannel, ...]]:
    """The channels that columns name themselves, with their unit: `cell_pressure_kPa`."""
    found: dict[str, tuple[ResolvedChannel, ...]] = {}
    for index, column in enumerate(dialect.header):
        if same_name(column) in TEXT_CHANNELS:
            name = same_name(column)
            found.setdefault(name, (_plain_channel(name, column, None),))
            continue
        named = _self_named(column)
        channel = _channel_name(column)
        if named is None and channel in NUMERIC_CHANNELS:
            symbol = unit_named(dialect.unit_of(index) or "", channel)
            named = None if symbol is None else (channel, symbol)
        if named is not None:
            found.setdefault(named[0], (_plain_channel(named[0], column, named[1]),))
    return found


def wanted_score(channels: Channels, time_names: Sequence[str]) -> Callable[[Sequence[str]], int]:
    """How many of a line's fields are names of columns that are wanted."""
    wanted = {
        same_name(column)
        for gauges in channels.values()
        for gauge in gauges
        for column in gauge.columns
    } | {same_name(name) for name in time_names}

    def score(names: Sequence[str]) -> int:
        if channels:
            return sum(same_name(name) in wanted or bare_name(name) in wanted for name in names)
        return sum(
            same_name(name) in wanted
            or _channel_name(name) in NUMERIC_CHANNELS
            or same_name(name) in TEXT_CHANNELS
            or _self_named(name) is not None
            for name in names
        )

    return score


def _index(header: Sequence[str], column: str) -> int | None:
    for key in (str.strip, same_name, bare_name):
        names = [key(name) for name in header]
        if key(column) in names:
            return names.index(key(column))
    return None


def _missing(column: str, channel: str, header: Sequence[str], file: str) -> Problem:
    near = did_you_mean(column, tuple(plain(name, 40) for name in header if name))
    return Problem(
        "error",
        f'{channel} needs the column "{plain(column, 40)}", which {file} does not have',
        f"{near}columns there: {listed(header)}; mend [log.channels] {channel}",
        file,
        key=plain(column, 40),
    )


def _contradictions(dialect: Dialect, gauge: Gauge, file: str) -> list[Problem]:
    """Where the file's own unit and the settings' differ."""
    given = gauge.resolved.unit
    found: list[Problem] = []
    for index in gauge.indices:
        own = dialect.unit_of(index)
        if own is None or given is None or gauge.resolved.table or gauge.resolved.gain != 1.0:
            continue
        try:
            same = convert(1.0, own, given) == 1.0 and convert(0.0, own, given) == 0.0
        except UnitError:
            same = False
        if not same:
            name = plain(dialect.header[index], 40)
            found.append(
                Problem(
                    "warning",
                    f'the file gives column "{name}" in {own}, cell.toml in {given}',
                    "find out which is right; the unit of cell.toml was used",
                    file,
                    dialect.header_at + 1,
                    name,
                )
            )
    return found


def bind(dialect: Dialect, channels: Channels, file: str) -> Binding:
    """Find the columns of every channel in a file's header."""
    header = dialect.header
    problems: list[Problem] = []
    own = channels or self_named(dialect)
    if not own:
        problems.append(
            Problem(
                "error",
                f"no channel is known in {file}: its columns are {listed(header)}",
                "add [log.channels], or name the columns as channels with their unit, such as "
                "cell_pressure_kPa",
                file,
            )
        )
    gauges: dict[str, tuple[Gauge, ...]] = {}
    words: dict[str, int] = {}
    used: set[str] = set()
    for name, resolved in own.items():
        bound: list[Gauge] = []
        for one in resolved:
            places = [_index(header, column) for column in one.columns]
            if one.same_as is None:
                problems += [
                    _missing(column, name, header, file)
                    for column, place in zip(one.columns, places, strict=True)
                    if place is None
                ]
            whole = tuple(place for place in places if place is not None)
            if whole and len(whole) == len(places):
                bound.append(Gauge(one, whole))
        if not bound:
            continue
        used.update(header[index] for gauge in bound for index in gauge.indices)
        if name in TEXT_CHANNELS:
            words[name] = bound[0].indices[0]
        elif name in NUMERIC_CHANNELS:
            gauges[name] = tuple(bound)
            for gauge in bound:
                if gauge.resolved.same_as is None:
                    problems += _contradictions(dialect, gauge, file)
    problems += [
        Problem(
            "warning",
            f'{file} has {header.count(name)} columns named "{plain(name, 40)}"',
            "the first one is read; let the logger give every column its own name",
            file,
            dialect.header_at + 1,
            plain(name, 40),
        )
        for name in sorted(used)
        if header.count(name) > 1
    ]
    return Binding(gauges, words, tuple(problems))


def gauge_values(gauge: Gauge, raw: Mapping[int, Column]) -> Column:
    """One gauge in the channel's internal unit; NaN where one of its columns has no number."""
    resolved = gauge.resolved
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
    values = [gauge_values(gauge, raw) for gauge in gauges]
    if len(values) == 1:
        return values[0]
    answer: Column = np.full_like(values[0], np.nan)
    for value in values:  # coarser ones overwrite: what is beyond all ranges
        answer = np.where(np.isfinite(value), value, answer)
    for gauge, value in reversed(list(zip(gauges, values, strict=True))):
        answer = np.where(_inside(value, gauge.resolved), value, answer)
    return answer
