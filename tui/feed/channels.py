"""Which columns of a file hold the channels: as the settings say, or by the columns' own names."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from reduce.errors import UnitError
from reduce.units import convert, known_units, unit
from tui.feed.dialect import Dialect, bare_name, is_unit, listed
from tui.feed.gauges import Gauge
from tui.feed.plain_text import plain, same_name
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS
from tui.settings.problems import Problem
from tui.settings.quantities import did_you_mean
from tui.settings.resolved import ResolvedChannel

Channels = Mapping[str, tuple[ResolvedChannel, ...]]

_SELF_NAMED = re.compile(
    r"\s*("
    + "|".join(NUMERIC_CHANNELS).replace("_", r"[\s_]")
    + r")[\s_]*(?:[\[(]\s*(\S+?)\s*[\])]|(\S+))?\s*$",
    re.IGNORECASE,
)


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
