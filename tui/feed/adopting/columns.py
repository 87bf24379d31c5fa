"""The values of every column of some logs, read by the feed itself as if each were a channel."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from itertools import chain
from typing import Any

import numpy as np

from tui.feed.adopting.log_files import SampledLog
from tui.feed.adopting.proposals import SeenColumn
from tui.feed.adopting.vocabulary import (
    meaning,
    quantity_of,
    quantity_of_channel,
    unit_in_name,
    unit_of_a_channel,
)
from tui.feed.batches import Batch, joined
from tui.feed.dialect import Dialect
from tui.feed.log_file import LogRules
from tui.feed.moments import DateOrder, OrderTurnedError
from tui.feed.rows import Column
from tui.settings.cell_toml import Log
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS
from tui.settings.resolved import resolve_channels

_MOST_WORDS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """Some rows of all logs, in time order."""

    times: Column
    """(n,) [s since the epoch]"""
    columns: tuple[SeenColumn, ...]
    order: DateOrder
    """What the dates told about day and month."""
    decimals: frozenset[str]
    """The decimal marks that were found."""


def look_at(logs: Sequence[SampledLog], time: dict[str, Any], zone: tzinfo) -> Looked | str:
    """Read the samples.

    Args:
        logs: all with the same header.
        time: `[log] time` by which their rows have a time.
        zone: of naive timestamps.

    Returns:
        In words, why no row has a time.
    """
    dialect = logs[0].dialect
    order = DateOrder()
    while True:
        try:
            return _look(logs, dialect, time, zone, order)
        except OrderTurnedError:
            continue  # the order is settled now: once more


def _look(
    logs: Sequence[SampledLog],
    dialect: Dialect,
    time: dict[str, Any],
    zone: tzinfo,
    order: DateOrder,
) -> Looked | str:
    names = list(dict.fromkeys(name for name in dialect.header if name))
    numbers: dict[str, Column] = {}
    words: dict[str, tuple[str | None, ...]] = {}
    times: Column = np.empty(0)
    decimals: set[str] = set()
    for some in _portions(names, len(NUMERIC_CHANNELS)):
        as_channel = dict(zip(NUMERIC_CHANNELS, some, strict=False))
        read = _read(logs, as_channel, time, zone, order, decimals)
        if isinstance(read, str):
            return read
        times = read.rows.times
        empty = np.full(len(times), np.nan)
        numbers |= {n: read.rows.channels.get(c, empty) for c, n in as_channel.items()}
    time_names = {dialect.header[index] for index in dialect.time_columns}
    wordy = [n for n in names if n not in time_names and not np.isfinite(numbers[n]).any()]
    for some in _portions(wordy, len(TEXT_CHANNELS)):
        as_channel = dict(zip(TEXT_CHANNELS, some, strict=False))
        read = _read(logs, as_channel, time, zone, order, decimals)
        if not isinstance(read, str):
            words |= {n: read.rows.words.get(c, ()) for c, n in as_channel.items()}
    at = np.argsort(times, kind="stable")
    columns = tuple(
        SeenColumn(
            name,
            *_unit(dialect, dialect.header.index(name)),
            numbers[name][at],
            _distinct(words.get(name, ()), at.tolist()),
            name in time_names,
        )
        for name in names
    )
    return Looked(times[at], columns, order, frozenset(decimals))


def _portions(names: Sequence[str], size: int) -> list[Sequence[str]]:
    return [names[at : at + size] for at in range(0, len(names), size)]


def _distinct(words: Sequence[str | None], at: Sequence[int]) -> tuple[str, ...]:
    in_order = (words[index] for index in at) if words else iter(())
    return tuple(dict.fromkeys(word for word in in_order if word))[:_MOST_WORDS]


def _read(
    logs: Sequence[SampledLog],
    as_channel: dict[str, str],
    time: dict[str, Any],
    zone: tzinfo,
    order: DateOrder,
    decimals: set[str],
) -> Batch | str:
    channels = {channel: {"column": name} for channel, name in as_channel.items()}
    log = Log.model_validate({"time": time, "channels": channels})
    rules = LogRules(log, resolve_channels(log), zone, order)
    batches: list[Batch] = []
    why = "no row has a time"
    for one in logs:
        parser = rules.parser(one.dialect, one.name, one.name)
        if isinstance(parser, str):
            why = parser
            continue
        below = one.dialect.header_at + 1
        batches.append(parser.parse(one.sample.head[below:], below + 1))
        # Parts have no line numbers of their own; nobody is told about their rows.
        batches += [parser.parse(part, below + 1) for part in one.sample.parts]
        decimals.update(mark for mark in (parser.decimal or "") if mark in ".,")
    whole = joined(batches)
    return whole if len(whole.rows) else why


def _unit(dialect: Dialect, index: int) -> tuple[str | None, str]:
    """The unit of a column, and where it stands."""
    if index < len(dialect.units):
        symbol = unit_of_a_channel(dialect.units[index].strip().strip("[]()"))
        if symbol is not None:
            return symbol, "the units line"
    found = unit_in_name(dialect.header[index])
    return (None, "") if found is None else (found[0], "its name")


def with_banner_units(columns: Sequence[SeenColumn], dialect: Dialect) -> list[SeenColumn]:
    """Units that a banner lists serve for columns without one, where only one is of their kind."""
    fields = chain.from_iterable(re.split(r"[,;:\t]", line) for line in dialect.banner)
    listed: dict[str, set[str]] = {}
    for field in filter(str.strip, fields):
        symbol = unit_of_a_channel(field.split()[-1])
        if symbol is not None:
            listed.setdefault(quantity_of(symbol) or "", set()).add(symbol)
    if len(listed) < 2:
        return list(columns)  # one word such as "in" may be no unit at all
    only = {quantity: units.copy().pop() for quantity, units in listed.items() if len(units) == 1}
    return [_with_unit(column, only) for column in columns]


def _with_unit(column: SeenColumn, only: dict[str, str]) -> SeenColumn:
    if column.unit is not None:
        return column
    told = meaning(column.name)
    quantity = told.quantity
    if told.channel is not None:
        quantity = quantity_of_channel(told.channel)
    elif quantity is None and told.side is not None:
        quantity = "pressure"
    symbol = only.get(quantity or "")
    if symbol is None:
        return column
    return replace(column, unit=symbol, unit_from="the banner, its only unit of that kind")
