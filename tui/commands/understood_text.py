"""How the feed understood the logs of a cell, in a few lines: files alike are told once."""

import json
from collections.abc import Iterator
from typing import Any

from tui.words import sanitise

_OF_ONE_FILE = ("lines", "rows", "unfinished_last_line")
_MOST_FILES = 4


def understood_lines(understood: dict[str, Any]) -> Iterator[tuple[int, str]]:
    """Indent and text of each line; anything the feed adds later is written plainly."""
    for key, value in understood.items():
        if key == "files" and _is_table(value):
            for names, layout in _alike(value):
                yield from _files(names, layout)
            yield from _unfinished(value)
        elif key == "live" and _is_table(value):
            layout = dict(value)
            yield from _files([f"{layout.pop('file', '')} (live: its last row)"], layout)
        elif value not in (None, [], {}, ""):
            yield 0, f"{_words(str(key))}: {_plain(value)}"


def _unfinished(files: dict[str, Any]) -> Iterator[tuple[int, str]]:
    for name, one in files.items():
        if _is_table(one) and one.get("unfinished_last_line"):
            yield 0, f"{sanitise(name)}: its last line is unfinished and waits for its end"


def _alike(files: dict[str, Any]) -> Iterator[tuple[list[str], dict[str, Any]]]:
    groups: dict[str, list[str]] = {}
    for name, one in files.items():
        layout = {k: v for k, v in one.items() if k not in _OF_ONE_FILE} if _is_table(one) else one
        groups.setdefault(json.dumps(layout, sort_keys=False, default=str), []).append(name)
    for names in groups.values():
        first = files[names[0]]
        yield names, first if _is_table(first) else {"layout": first}


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _files(names: list[str], layout: dict[str, Any]) -> Iterator[tuple[int, str]]:
    shown = [sanitise(name) for name in names[:_MOST_FILES]]
    more = len(names) - len(shown)
    yield 0, ", ".join(shown) + (f" and {more} more" if more else "")
    rest = dict(layout)
    for key in _OF_ONE_FILE:
        rest.pop(key, None)
    channels = rest.pop("channels", None)
    unused = rest.pop("unused_columns", None)
    if rest:
        yield 2, ", ".join(f"{_words(key)} {_plain(value)}" for key, value in rest.items())
    if _is_table(channels):
        for name, gauges in channels.items():
            listed = gauges if isinstance(gauges, list) else [gauges]
            yield 2, f"{sanitise(str(name))} ← {'; '.join(map(_gauge, listed))}"
    elif channels:
        yield 2, f"channels: {_plain(channels)}"
    if unused:
        yield 2, f"columns not used: {_plain(unused)}"


def _gauge(gauge: Any) -> str:
    if not _is_table(gauge):
        return _plain(gauge)
    rest = dict(gauge)
    columns = [f'"{sanitise(str(one))}"' for one in rest.pop("columns", [])]
    joint = {"sum": " + ", "mean": " and "}.get(str(combine := rest.pop("combine", None)), ", ")
    text = ("mean of " if combine == "mean" else "") + joint.join(columns)
    unit, inside = rest.pop("unit", None), rest.pop("internal_unit", None)
    factor, zero, points = rest.pop("factor", None), rest.pop("zero", None), rest.pop("table", None)
    if unit:
        text += f" in {sanitise(str(unit))}"
    if points:
        text += f", by a table of {points} points"
    if zero:
        text += f", zero {zero:g}"
    if rest.pop("sign", 1) == -1:
        text += ", sign −1"
    if isinstance(factor, (int, float)) and abs(factor) != 1 and inside != "degC":  # °F also shift
        text += f", × {abs(factor):.6g}"
        text += f" = {sanitise(str(inside))}" if inside != unit else ""
    for key in ("range", "stroke"):
        if isinstance(span := rest.pop(key, None), list):
            text += f", {key} {span[0]:.6g} to {span[1]:.6g} {sanitise(str(inside))}"
    if isinstance(refill := rest.pop("refill", None), (int, float)):
        text += f", refill {refill:g} {sanitise(str(inside))}"
    if isinstance(datum := rest.pop("datum_mm", None), (int, float)):
        rest["datum"] = f"{datum:g} mm"
    rest.pop("line", None)
    extra = {key: value for key, value in rest.items() if value not in (None, [], {}, "", False)}
    return text + "".join(f", {_words(key)} {_plain(value)}" for key, value in extra.items())


def _words(key: str) -> str:
    return sanitise(key).replace("_", " ")


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{_words(str(k))} {_plain(v)}" for k, v in value.items() if v is not None)
    if isinstance(value, (list, tuple)):
        return ", ".join(_plain(one) for one in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return "not told yet"
    return {",": "comma", ".": "point"}.get(str(value), sanitise(str(value)))
