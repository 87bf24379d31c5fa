"""What the keys of a settings file say against each other, or about the world outside the file.

Works on the raw tables, so that one reading of a file finds these beside the values that are
wrong by themselves.
"""

import codecs
import math
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

from tui.settings.alarm_limits import limit_problems
from tui.settings.alarm_tables import ALARM_KINDS
from tui.settings.channel_checks import Contradiction, channel_contradictions
from tui.settings.phase_words import PHASE_WORDS
from tui.settings.problems import has_hidden_letters, shown
from tui.settings.quantities import RefusedError, did_you_mean, read_quantity
from tui.settings.table import read_moment
from tui.settings.toml_lines import KeyPath
from tui.settings.zones import find_zone

LONGEST_SCHEDULE_MIN = 10 * 365 * 24 * 60.0
"""No test runs longer than ten years: a longer schedule is a slip."""


def _table(values: Any, key: str) -> Mapping[str, Any]:
    found = values.get(key) if isinstance(values, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def cell_contradictions(values: Mapping[str, Any]) -> Iterator[Contradiction]:
    """Everything of that kind in a `cell.toml`."""
    yield from _hardware(_table(values, "cell"))
    log = _table(values, "log")
    yield from _log(log)
    yield from _time(_table(log, "time"))
    yield from channel_contradictions(log.get("channels"), log.get("time"))
    yield from _test(_table(values, "test"))
    yield from _specimen(_table(values, "specimen"))
    yield from _schedules(_table(values, "schedule"))
    yield from _limits(_table(values, "alarms"))


def bench_contradictions(values: Mapping[str, Any]) -> Iterator[Contradiction]:
    """Everything of that kind in a `bench.toml`."""
    yield from _zone(values, ())
    alarms = _table(values, "alarms")
    yield from _limits(alarms)
    routes = alarms.get("routes")
    for place, route in enumerate(routes if isinstance(routes, list) else []):
        kinds = route.get("kinds") if isinstance(route, Mapping) else None
        for number, kind in enumerate(kinds if isinstance(kinds, list) else []):
            if isinstance(kind, str) and kind != "*" and kind not in ALARM_KINDS:
                yield Contradiction(
                    ("alarms", "routes", place, "kinds", number),
                    f"{shown(kind)} is no kind of alarm",
                    did_you_mean(kind, ALARM_KINDS) + 'write a kind, or "*" for all',
                )
    names: set[str] = set()
    supplies = values.get("supply")
    for place, supply in enumerate(supplies if isinstance(supplies, list) else []):
        name = supply.get("name") if isinstance(supply, Mapping) else None
        if isinstance(name, str) and name in names:
            yield Contradiction(
                ("supply", place, "name"),
                f"a second supply is named {shown(name)}",
                "give every supply its own name, or put all it feeds into one entry",
            )
        names.add(str(name))


def _hardware(cell: Mapping[str, Any]) -> Iterator[Contradiction]:
    piston = _table(cell, "piston")
    if piston.get("load_cell") == "external" and "uplift" not in piston:
        yield Contradiction(
            ("cell", "piston"),
            "the load cell is external, so that cell pressure lifts the piston against it, and "
            "nothing says how that is taken out",
            'add uplift = "zeroed at pressure" with zeroed_at, or uplift = "computed"',
        )
    expansion = cell.get("expansion")
    if isinstance(expansion, list) and expansion:
        try:
            pressures = [read_quantity(pair[0], "kPa") for pair in expansion]
        except (RefusedError, TypeError, IndexError, KeyError):
            return  # the validation of the values says so
        if any(b <= a for a, b in pairwise(pressures)):
            yield Contradiction(
                ("cell", "expansion"),
                "the pressures of expansion do not rise",
                "sort the pairs [pressure, volume] by pressure, each pressure once",
            )


def _log(log: Mapping[str, Any]) -> Iterator[Contradiction]:
    files = log.get("files")
    if isinstance(files, str) and not files.strip():
        yield Contradiction(("log", "files"), "files is empty", 'write such as files = "*.csv"')
    encoding = log.get("encoding")
    if isinstance(encoding, str) and not _is_text_encoding(encoding):
        yield Contradiction(
            ("log", "encoding"),
            f"encoding is {shown(encoding)}, which is not known",
            'write such as "utf-8", "utf-16" or "cp1252", or remove the key: it finds itself',
        )
    if log.get("separator") == log.get("decimal") == ",":
        yield Contradiction(
            ("log", "separator"),
            "separator and decimal are both a comma",
            "remove both: they find themselves",
        )
    for word, phase in _table(log, "phases").items():
        if isinstance(phase, str) and phase not in PHASE_WORDS:
            yield Contradiction(
                ("log", "phases", word),
                f"{shown(word)} leads to {shown(phase)}, which is no phase",
                did_you_mean(phase, PHASE_WORDS) + "the phases are: " + ", ".join(PHASE_WORDS),
            )


def _is_text_encoding(name: str) -> bool:
    try:
        codecs.lookup(name)
        b"a".decode(name, errors="ignore")
    except (LookupError, ValueError):
        return False
    return True


def _zone(table: Mapping[str, Any], base: KeyPath) -> Iterator[Contradiction]:
    name = table.get("zone")
    if isinstance(name, str):
        try:
            find_zone(name)
        except RefusedError as refusal:
            yield Contradiction((*base, "zone"), f"zone {refusal.what}", refusal.remedy)


def _time(time: Mapping[str, Any]) -> Iterator[Contradiction]:
    yield from _zone(time, ("log", "time"))
    kind = time.get("kind", "clock")
    if isinstance(kind, str) and kind.startswith("elapsed") and "start" not in time:
        yield Contradiction(
            ("log", "time"),
            f"kind is {shown(kind)} and nothing says when the count began",
            'add start = "2031-02-03T08:00:00", "file name" or "banner"',
        )
    if time.get("column") in ("", []):
        yield Contradiction(
            ("log", "time", "column"), "column is empty", "name it as in the log's header"
        )


def _test(test: Mapping[str, Any]) -> Iterator[Contradiction]:
    try:
        started, ended = (read_moment(test[key]) for key in ("started", "ended"))
    except (RefusedError, KeyError):
        return  # the validation of the values says so
    if _comparable(ended) <= _comparable(started):
        yield Contradiction(
            ("test", "ended"),
            f"ended is {shown(test['ended'])}, not after started, {shown(test['started'])}",
            "write the later of the two as ended, or remove it while the test runs",
        )


def _comparable(moment: datetime) -> datetime:
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)


def _specimen(specimen: Mapping[str, Any]) -> Iterator[Contradiction]:
    if "side_drains" in specimen and specimen.get("drainage") in ("one end", "both ends"):
        yield Contradiction(
            ("specimen", "side_drains"),
            f"there are side drains, and drainage is {shown(specimen['drainage'])}",
            'write drainage = "radial", "radial + one end" or "radial + both ends", '
            "or remove side_drains",
        )
    if "particle_density" in specimen and "specific_gravity" in specimen:
        yield Contradiction(
            ("specimen", "specific_gravity"),
            "particle_density and specific_gravity are both given",
            "keep one of them",
        )


def _schedules(schedule: Mapping[str, Any]) -> Iterator[Contradiction]:
    for phase in schedule:
        table = _table(schedule, phase)
        path: KeyPath = ("schedule", phase)
        if table.get("kind") == "times" and isinstance(table.get("at"), list):
            try:
                times = [read_quantity(one, "s") for one in table["at"]]
            except RefusedError:
                continue  # the validation of the values says so
            if any(b <= a for a, b in pairwise(times)):
                yield Contradiction(
                    (*path, "at"), "the times of at do not rise", "sort them, each time once"
                )
        end = _last_slot_min(table)
        if end is not None and end > LONGEST_SCHEDULE_MIN:
            yield Contradiction(
                path,
                f"the last slot of {shown(phase)[1:-1]} is due after more than ten years",
                "write fewer slots, or a smaller step or ratio",
            )


def _last_slot_min(table: Mapping[str, Any]) -> float | None:
    try:
        slots = table["slots"]
        if table["kind"] == "root":
            return float((float(table["step"]) * slots) ** 2)
        if table["kind"] == "log":
            exponent = math.log(table["ratio"]) * (slots - 1)
            return float(read_quantity(table["first"], "min") * math.exp(min(exponent, 700.0)))
        if table["kind"] == "every":
            return float(read_quantity(table["step"], "min") * slots)
    except (KeyError, TypeError, ValueError, OverflowError):
        pass  # the validation of the values says so
    return None


def _limits(alarms: Mapping[str, Any]) -> Iterator[Contradiction]:
    for kind, limits in _table(alarms, "limits").items():
        path: KeyPath = ("alarms", "limits", kind)
        if kind not in ALARM_KINDS:
            yield Contradiction(
                path,
                f"{shown(kind)} is no kind of alarm",
                did_you_mean(kind, ALARM_KINDS) or "the kinds are: " + ", ".join(ALARM_KINDS),
            )
        for key, value in limits.items() if isinstance(limits, Mapping) else ():
            if isinstance(value, str) and has_hidden_letters(value):
                yield Contradiction(
                    (*path, key), f"{shown(key)[1:-1]} holds letters that do not show", "rewrite it"
                )
    for below, what, remedy in limit_problems(_table(alarms, "limits")):
        yield Contradiction(("alarms", "limits", *below), what, remedy)
