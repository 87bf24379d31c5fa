"""Every figure of every alarm: its key in `[alarms.limits.KIND]`, its unit and its default.

The defaults are those of the contract's table; where that gives none they are common practice, no
source. A unit "" is a ratio or a plain number, "rows" a whole number.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tui.settings.problems import shown
from tui.settings.quantities import RefusedError, did_you_mean, read_difference, read_ratio

_BYTES = {"KiB": 2.0**10, "MiB": 2.0**20, "GiB": 2.0**30, "TiB": 2.0**40}


@dataclass(frozen=True, slots=True)
class Figure:
    """One key of one kind."""

    default: float
    unit: str
    """In which the program holds it."""
    what: str


def _steady_clear(share: float, of: str) -> Figure:
    return Figure(share, "", f"clears {share:.0%} of {of} inside")


FIGURES: dict[str, dict[str, Figure]] = {
    "over-pressure": {
        "rating": Figure(0.95, "", "of the cell maker's rating, cell pressure"),
        "range": Figure(0.98, "", "of its range, any pressure"),
        "rows": Figure(2, "rows", "readings that say so"),
        "on": Figure(10.0, "s", "or for this long"),
        "clear": _steady_clear(0.02, "rating or range"),
    },
    "effective-stress-low": {
        "warn": Figure(5.0, "kPa", "a warning below this, or below `share` of the excess"),
        "share": Figure(0.5, "", "of plan.excess"),
        "min": Figure(2.0, "kPa", "urgent below this"),
        "on": Figure(60.0, "s", "for this long"),
        "rows": Figure(2, "rows", "at or below nothing: readings that say so"),
        "clear": Figure(1.0, "kPa", "clears this much above"),
    },
    "effective-stress-high": {
        "stress": Figure(1.0, "", "of plan.effective_stress: urgent above"),
        "rows": Figure(2, "rows", "readings that say so"),
        "excess": Figure(3.0, "", "times plan.excess, cell less back pressure: a warning above"),
        "on": Figure(600.0, "s", "the warning, for this long"),
        "clear": _steady_clear(0.05, "the limit"),
    },
    "membrane-burst": {
        "within": Figure(2.0, "kPa", "pore pressure this near to cell pressure"),
        "collapse": Figure(
            0.5, "", "of the greatest deviator, or volume as a share of ten percent"
        ),
        "rows": Figure(2, "rows", "readings that say so"),
    },
    "saturation-stalled": {
        "open": Figure(3600.0, "s", "drainage open this long without pore pressure following"),
        "within": Figure(2.0, "kPa", "of back pressure"),
        "share": Figure(0.05, "", "or this share of the step"),
        "rise": Figure(0.01, "", "B rose by less"),
    },
    "pressure-drift": {
        "by": Figure(2.0, "kPa", "away from where it was set"),
        "share": Figure(0.01, "", "or this share of it"),
        "on": Figure(300.0, "s", "for this long"),
        "clear": _steady_clear(0.5, "the limit"),
    },
    "pressure-unsteady": {
        "deviation": Figure(1.0, "kPa", "standard deviation about its line"),
        "window": Figure(600.0, "s", "over this long"),
        "on": Figure(600.0, "s", "for this long"),
        "clear": _steady_clear(0.5, "the limit"),
    },
    "supply-lost": {
        "fall": Figure(2.0, "kPa", "fall of cell or back pressure"),
        "within": Figure(120.0, "s", "within this time"),
        "cells": Figure(2, "rows", "cells of one supply"),
        "clear": Figure(1.0, "kPa", "back to this near of where it was"),
    },
    "leak-membrane": {
        "flow": Figure(0.01, "ml/h", "steady flow of cell and back volume alike"),
        "after": Figure(3.0, "", "times t95"),
        "B": Figure(1.02, "", "a check above this"),
        "climb": Figure(1.0, "kPa/h", "pore pressure past its settling, drainage closed"),
        "on": Figure(3600.0, "s", "for this long"),
    },
    "leak-cell": {
        "flow": Figure(0.02, "ml/h", "steady flow of cell volume alone"),
        "on": Figure(3600.0, "s", "for this long"),
    },
    "leak-drainage": {
        "flow": Figure(0.02, "ml/h", "steady flow of back volume alone"),
        "on": Figure(3600.0, "s", "for this long"),
    },
    "drainage-state": {
        "B": Figure(0.1, "", "a check below this while volume flows"),
        "on": Figure(600.0, "s", "for this long"),
    },
    "volume-gauge-end": {
        "left": Figure(0.05, "", "of its stroke"),
        "rows": Figure(2, "rows", "readings that say so"),
        "clear": _steady_clear(0.05, "the stroke"),
    },
    "log-silent": {
        "least": Figure(300.0, "s", "beyond the time at which a row is due, at least"),
        "share": Figure(0.1, "", "of the gap"),
        "most": Figure(1800.0, "s", "at most"),
        "gaps": Figure(3.0, "", "without a schedule: times the usual gap"),
    },
    "watch-sparse": {"gap": Figure(900.0, "s", "between scheduled readings")},
    "reading-missed": {},
    "schedule-ends-early": {"on": Figure(3600.0, "s", "for this long")},
    "sensor-fault": {
        "rows": Figure(3, "rows", "readings that say so"),
        "alike": Figure(20, "rows", "identical readings of a channel that moved before"),
        "good": Figure(3, "rows", "good readings until it clears"),
    },
    "zero-offset": {
        "by": Figure(1.0, "kPa", "away from zero when vented"),
        "share": Figure(0.001, "", "or this share of its range"),
        "rows": Figure(2, "rows", "readings that say so"),
    },
    "consolidation-overdue": {
        "flow": Figure(0.001, "1/h", "of the specimen's volume an hour still flows"),
        "dissipation": Figure(0.95, "", "of pore pressure"),
        "on": Figure(3600.0, "s", "for this long"),
    },
    "rate-too-fast": {
        "factor": Figure(1.1, "", "times the standard's advice"),
        "over": Figure(0.005, "", "of axial strain"),
    },
    "shear-stopped": {
        "share": Figure(0.5, "", "of its own median rate"),
        "on": Figure(300.0, "s", "for this long"),
    },
    "load-not-taken": {
        "deviator": Figure(2.0, "kPa", "less than this"),
        "strain": Figure(0.002, "", "after this strain"),
    },
    "travel-limit": {
        "warn": Figure(0.90, "", "of its range: a warning"),
        "urgent": Figure(0.95, "", "of its range: urgent"),
        "rows": Figure(2, "rows", "readings that say so"),
        "clear": _steady_clear(0.05, "its range"),
    },
    "strain-limit": {},
    "phase-complete": {},
    "temperature-swing": {
        "hour": Figure(2.0, "degC", "within an hour"),
        "phase": Figure(4.0, "degC", "since the phase began"),
        "on": Figure(600.0, "s", "for this long"),
        "clear": _steady_clear(0.5, "the limit"),
    },
    "clock-jump": {
        "gaps": Figure(2.0, "", "times the interval"),
        "lasts": Figure(43200.0, "s", "then it is history"),
    },
    "disk-low": {
        "free": Figure(2.0**30, "bytes", "free at least"),
        "share": Figure(0.02, "", "of the disk"),
    },
}
"""By kind and key."""

Written = Mapping[str, Mapping[str, Any]]


class Limits:
    """The figures that hold for one cell."""

    def __init__(self, written: Written = {}) -> None:  # noqa: B006  (it is only read)
        """Defaults, with what somebody wrote instead; what cannot be read is as by default."""
        self._own: dict[tuple[str, str], float] = {}
        for kind, keys in written.items():
            for key, value in keys.items() if isinstance(keys, Mapping) else ():
                figure = FIGURES.get(kind, {}).get(key)
                if figure is None:
                    continue
                try:
                    self._own[kind, key] = read_figure(value, figure)
                except RefusedError:
                    continue  # reported where the settings are read

    def __call__(self, kind: str, key: str) -> float:
        """One figure, in its unit."""
        own = self._own.get((kind, key))
        return FIGURES[kind][key].default if own is None else own


def read_figure(value: Any, figure: Figure) -> float:
    """A limit as it was written, as a number in its unit.

    Raises:
        RefusedError: it is none.

    Example:
        >>> read_figure("2 min", FIGURES["supply-lost"]["within"])
        120.0
    """
    if figure.unit == "bytes":
        return _read_bytes(value)
    if figure.unit == "rows":
        if isinstance(value, int) and not isinstance(value, bool) and value > 0:
            return float(value)
        raise RefusedError(f"is {shown(value)}", "write a whole number above 0, such as 2")
    if figure.unit == "ml/h":
        return _per_hour(value, "ml", 'write such as "0.02 ml/h"')
    if figure.unit == "kPa/h":
        return _per_hour(value, "kPa", 'write such as "1 kPa/h"')
    if figure.unit == "1/h":
        return _per_hour(value, "%", 'write such as "0.1 %/h"')
    found = read_ratio(value) if figure.unit == "" else read_difference(value, figure.unit)
    if found < 0.0:
        raise RefusedError(f"is {shown(value)}", "write a value above 0")
    return float(found)


def _per_hour(value: Any, unit: str, remedy: str) -> float:
    text = value.replace(" ", "") if isinstance(value, str) else ""
    if not text.endswith("/h"):
        raise RefusedError(f"is {shown(value)}", remedy)
    amount = text.removesuffix("/h")
    if unit == "%":
        return float(read_ratio(amount))
    return float(read_difference(amount, unit))


def _read_bytes(value: Any) -> float:
    number, _, unit = value.strip().partition(" ") if isinstance(value, str) else ("", "", "")
    try:
        return float(number) * _BYTES[unit.strip()]
    except (ValueError, KeyError):
        raise RefusedError(f"is {shown(value)}", 'write such as "1 GiB"') from None


def limit_problems(written: Written) -> Iterator[tuple[tuple[str, ...], str, str]]:
    """What cannot be used of the limits: path below `limits`, what, remedy."""
    for kind, keys in written.items():
        figures = FIGURES.get(kind)
        if figures is None:
            continue
        if not isinstance(keys, Mapping):
            yield (kind,), f"is {shown(keys)}, not a table", "write key = value pairs"
            continue
        for key, value in keys.items():
            figure = figures.get(key)
            if figure is None:
                known = tuple(figures)
                listed = "its keys are: " + ", ".join(known) if known else "it has no keys"
                yield (
                    (kind, key),
                    f"{shown(key)[1:-1]} is no key of {kind}",
                    (did_you_mean(key, known) + listed),
                )
                continue
            try:
                read_figure(value, figure)
            except RefusedError as refusal:
                yield (kind, key), refusal.what, refusal.remedy


def merged(bench: Written, cell: Written) -> dict[str, dict[str, Any]]:
    """Limits of a cell over those of its bench, key by key."""
    found: dict[str, dict[str, Any]] = {}
    for written in (bench, cell):
        for kind, keys in written.items():
            if isinstance(keys, Mapping):
                found[kind] = found.get(kind, {}) | dict(keys)
    return found
