"""How a file was understood, for `check`: every channel with column, unit and factor."""

from typing import Any

from reduce.units import scale
from tui.feed.gauges import Gauge
from tui.feed.parse import LogParser
from tui.feed.plain_text import plain


def _gauge(gauge: Gauge, header: tuple[str, ...]) -> dict[str, Any]:
    resolved = gauge.resolved
    factor = 1.0
    if resolved.unit is not None and resolved.internal_unit is not None:
        factor = scale(resolved.unit, resolved.internal_unit)
    return {
        "columns": [plain(header[index]) for index in gauge.indices],
        "combine": resolved.combine,
        "unit": resolved.unit,
        "internal_unit": resolved.internal_unit,
        "factor": None if resolved.table else resolved.sign * resolved.gain * factor,
        "sign": resolved.sign,
        "zero": resolved.zero_in_unit,
        "table": len(resolved.table) or None,
        "same_as": resolved.same_as,
        "range": _span(resolved.range_low, resolved.range_high),
        "stroke": _span(resolved.stroke_low, resolved.stroke_high),
        "refill": resolved.refill,
        "measured_at": resolved.measured_at,
        "datum_mm": resolved.datum_mm or None,
    }


def _span(low: float | None, high: float | None) -> list[float] | None:
    """Of the channel, after zero and sign. [internal unit]"""
    return None if low is None or high is None else [low, high]


def describe(parser: LogParser) -> dict[str, Any]:
    """The layout of a file and where its channels come from; JSON-able."""
    dialect, binding = parser.dialect, parser.binding
    header = dialect.header
    used = {*binding.columns, *binding.words.values(), *dialect.time_columns}
    return {
        "separator": dialect.separator_name,
        "decimal": parser.decimal,
        "header_line": dialect.header_at + 1,
        "units_line": bool(dialect.units),
        "time": {
            "columns": [plain(header[index]) for index in dialect.time_columns],
            "form": parser.time_form,
        },
        "channels": {
            **{
                name: [_gauge(gauge, header) for gauge in gauges]
                for name, gauges in binding.gauges.items()
            },
            **{name: [{"columns": [plain(header[at])]}] for name, at in binding.words.items()},
        },
        "unused_columns": [
            plain(name) for index, name in enumerate(header) if index not in used and name
        ],
    }
