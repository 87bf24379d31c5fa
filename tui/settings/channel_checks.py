"""What the channels of a log say against each other and against their units.

Works on the raw tables, so that every problem is found in one reading, whatever else is wrong.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from reduce.units import known_units, unit
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS
from tui.settings.problems import shown
from tui.settings.quantities import (
    RefusedError,
    did_you_mean,
    read_difference,
    read_span,
    unit_of,
)
from tui.settings.toml_lines import KeyPath

CHANNELS = (*NUMERIC_CHANNELS, *TEXT_CHANNELS)
_OF_A_GAUGE = ("unit", "sign", "gain", "zero", "range", "stroke", "refill", "table")
_BASE: KeyPath = ("log", "channels")


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Something that one key cannot know by itself."""

    path: KeyPath
    what: str
    remedy: str


def channel_contradictions(channels: Any, time: Any) -> Iterator[Contradiction]:
    """Everything that is wrong with `[log.channels]` beyond the kinds of its values."""
    if not isinstance(channels, Mapping):
        return
    for name in channels:
        if name not in CHANNELS:
            yield Contradiction(
                (*_BASE, name),
                f"{shown(name)[1:-1]} is not a channel",
                did_you_mean(name, CHANNELS) + "the channels are: " + ", ".join(CHANNELS),
            )
    gauges = [gauge for gauge in _gauges(channels) if gauge.name in CHANNELS]
    for gauge in gauges:
        yield from _sources(gauge)
        if gauge.name in NUMERIC_CHANNELS:
            yield from _numbers(gauge)
        else:
            yield from _words(gauge)
    yield from _several(channels)
    yield from _shared_transducers(channels)
    yield from _overlaps(gauges, time)


@dataclass(frozen=True, slots=True)
class _Gauge:
    name: str
    path: KeyPath
    table: Mapping[str, Any]


def _gauges(channels: Mapping[str, Any]) -> Iterator[_Gauge]:
    for name, value in channels.items():
        if isinstance(value, list):
            for place, one in enumerate(value):
                if isinstance(one, Mapping):
                    yield _Gauge(name, (*_BASE, name, place), one)
        elif isinstance(value, Mapping):
            yield _Gauge(name, (*_BASE, name), value)


def _sources(gauge: _Gauge) -> Iterator[Contradiction]:
    given = [key for key in ("column", "columns", "same_as") if key in gauge.table]
    if not given:
        yield Contradiction(
            gauge.path, f"{gauge.name} names no column", 'add column = "…" as in the log\'s header'
        )
    elif len(given) > 1:
        yield Contradiction(
            gauge.path,
            f"{gauge.name} has {' and '.join(given)}",
            "keep exactly one of column, columns and same_as",
        )
    columns = gauge.table.get("columns")
    if isinstance(columns, list):
        if not columns:
            yield Contradiction(
                (*gauge.path, "columns"), "columns is empty", "name the columns, or write column"
            )
        elif len(columns) > 1 and "combine" not in gauge.table:
            yield Contradiction(
                gauge.path,
                f"{gauge.name} has several columns and does not say how they make one value",
                'add combine = "sum" or combine = "mean"',
            )
    if gauge.table.get("column") == "":
        yield Contradiction(
            (*gauge.path, "column"), "column is empty", "name it as in the log's header"
        )


def _numbers(gauge: _Gauge) -> Iterator[Contradiction]:
    inside = NUMERIC_CHANNELS[gauge.name]
    if "same_as" in gauge.table:
        surplus = [key for key in _OF_A_GAUGE if key in gauge.table]
        if surplus:
            yield Contradiction(
                gauge.path,
                f"{gauge.name} is same_as another channel and has {', '.join(surplus)} of its own",
                "write them at the other channel only",
            )
        return
    symbol = gauge.table.get("unit")
    if symbol is None:
        dimension = unit(inside).dimension
        yield Contradiction(
            gauge.path,
            f"{gauge.name} has no unit",
            f'add unit = "{inside}" or another of: {", ".join(known_units(dimension))}',
        )
        symbol = inside
    elif isinstance(symbol, str):
        try:
            unit_of(symbol, inside)
        except RefusedError as refusal:
            yield Contradiction(
                (*gauge.path, "unit"), f"{gauge.name} {refusal.what}", refusal.remedy
            )
            symbol = inside
    else:
        symbol = inside
    for key in ("zero", "refill"):
        yield from _try(gauge, key, symbol, read_difference)
    for key in ("range", "stroke"):
        yield from _try(gauge, key, symbol, read_span)
    yield from _calibration(gauge)


def _try(gauge: _Gauge, key: str, symbol: str, read: Any) -> Iterator[Contradiction]:
    if key in gauge.table:
        try:
            value = read(gauge.table[key], symbol)
        except RefusedError as refusal:
            yield Contradiction((*gauge.path, key), f"{key} {refusal.what}", refusal.remedy)
        else:
            if key == "refill" and not value > 0.0:
                yield Contradiction(
                    (*gauge.path, key),
                    f"refill is {shown(gauge.table[key])}",
                    "write the least jump that is a refill, above 0",
                )


def _calibration(gauge: _Gauge) -> Iterator[Contradiction]:
    if gauge.table.get("gain") == 0:
        yield Contradiction(
            (*gauge.path, "gain"), "gain is 0, which makes every reading 0", "write the true gain"
        )
    table = gauge.table.get("table")
    if table is None:
        return
    path = (*gauge.path, "table")
    if "gain" in gauge.table:
        yield Contradiction(
            path, f"{gauge.name} has a gain and a table", "keep one of them: the table has the gain"
        )
    if not _is_pairs(table):
        return  # the validation of the values says so
    if len(table) < 2:
        yield Contradiction(
            path, f"table has {len(table)} pair", "write at least two pairs [raw, value]"
        )
    for column, what in ((0, "raw"), (1, "value")):
        steps = [b[column] - a[column] for a, b in pairwise(table)]
        if not (all(step > 0 for step in steps) or all(step < 0 for step in steps)):
            yield Contradiction(
                path,
                f"table does not rise or fall steadily in its {what} numbers",
                "sort the pairs [raw, value] and take doubtful ones out",
            )


def _is_pairs(table: Any) -> bool:
    return isinstance(table, list) and all(
        isinstance(pair, list)
        and len(pair) == 2
        and all(isinstance(n, (int, float)) and not isinstance(n, bool) for n in pair)
        for pair in table
    )


def _words(gauge: _Gauge) -> Iterator[Contradiction]:
    surplus = [key for key in (*_OF_A_GAUGE, "combine", "columns") if key in gauge.table]
    if surplus:
        yield Contradiction(
            gauge.path,
            f"{gauge.name} holds words and has {', '.join(surplus)}",
            'write { column = "…" } only',
        )


def _several(channels: Mapping[str, Any]) -> Iterator[Contradiction]:
    for name, value in channels.items():
        if not isinstance(value, list) or len(value) < 2 or name not in CHANNELS:
            continue
        if name in TEXT_CHANNELS:
            yield Contradiction((*_BASE, name), f"{name} has several entries", "keep one of them")
            continue
        for place, gauge in enumerate(value):
            if isinstance(gauge, Mapping) and "same_as" in gauge:
                yield Contradiction(
                    (*_BASE, name, place),
                    f"{name} has same_as in a list of gauges",
                    "write same_as as the only entry, or name a column",
                )
            elif isinstance(gauge, Mapping) and "range" not in gauge:
                yield Contradiction(
                    (*_BASE, name, place),
                    f"{name} has several gauges and this one has no range",
                    f'add range = "0 to 500 {NUMERIC_CHANNELS[name]}": the finest gauge within its '
                    "range is taken",
                )


def _target(value: Any) -> Any:
    if isinstance(value, list) and len(value) == 1:
        value = value[0]
    return value.get("same_as") if isinstance(value, Mapping) else None


def _shared_transducers(channels: Mapping[str, Any]) -> Iterator[Contradiction]:
    for name, value in channels.items():
        target = _target(value)
        if not isinstance(target, str) or name not in NUMERIC_CHANNELS:
            continue
        path = (*_BASE, name, "same_as")
        if target not in channels:
            yield Contradiction(
                path,
                f"{name} is same_as {shown(target)}, which is not in [log.channels]",
                did_you_mean(target, tuple(channels)) + "name a channel that has a column",
            )
        elif target not in NUMERIC_CHANNELS:
            yield Contradiction(
                path, f"{name} is same_as {shown(target)}, which holds no numbers", "name another"
            )
        elif unit(NUMERIC_CHANNELS[target]).dimension != unit(NUMERIC_CHANNELS[name]).dimension:
            yield Contradiction(
                path,
                f"{name} is same_as {target}, which measures something else",
                f"name a channel in {NUMERIC_CHANNELS[name]}",
            )
        elif _in_a_circle(name, channels):
            yield Contradiction(
                path,
                f"{name} is same_as {target}, which leads back to {name}",
                "one of them must name the column",
            )


def _in_a_circle(name: str, channels: Mapping[str, Any]) -> bool:
    following, seen = _target(channels[name]), set()
    while isinstance(following, str) and following in channels and following not in seen:
        if following == name:
            return True
        seen.add(following)
        following = _target(channels[following])
    return False


def _overlaps(gauges: list[_Gauge], time: Any) -> Iterator[Contradiction]:
    taken: dict[str, str] = {}
    column = time.get("column") if isinstance(time, Mapping) else None
    for one in column if isinstance(column, list) else [column]:
        if isinstance(one, str):
            taken[one.strip()] = "the time"
    for gauge in gauges:
        one = gauge.table.get("column")
        several = gauge.table.get("columns")
        columns = [one] if one is not None else several if isinstance(several, list) else []
        for name in columns:
            if not isinstance(name, str) or not name.strip():
                continue
            reader = taken.setdefault(name.strip(), gauge.name)
            if (
                reader != gauge.name
                or columns.count(name) > 1
                or (isinstance(gauge.path[-1], int) and _read_before(gauge, name, gauges))
            ):
                yield Contradiction(
                    gauge.path,
                    f"{gauge.name} reads column {shown(name)}, which {reader} reads already",
                    "give each its own column; for one transducer switched by a valve write "
                    'same_as = "…"',
                )
                break


def _read_before(gauge: _Gauge, column: str, gauges: list[_Gauge]) -> bool:
    earlier = gauges[: gauges.index(gauge)]
    return any(
        one.name == gauge.name
        and (one.table.get("column") == column or column in (one.table.get("columns") or []))
        for one in earlier
    )
