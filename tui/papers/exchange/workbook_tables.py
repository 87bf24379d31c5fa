"""Tables of a workbook: real numbers under headers that name the unit, text that stays text.

A table knows nothing of files. Values are written in the units of the manner; a blank cell is
what is not known.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from reduce.units import convert
from tui.papers.exchange.quantities import Quantity, quantities, words_and_unit
from tui.papers.subject import Subject
from tui.words import Manner, result_unit

Cell = str | float | bool | datetime | None

_SIGNS = {
    "mm2": "mm²", "m2/year": "m²/year", "m2/MN": "m²/MN", "Mg/m3": "Mg/m³", "degC": "°C",
    "deg": "°",
}  # fmt: skip
_DIGITS = {
    "kPa": "0.0", "psi": "0.00", "ml": "0.00", "in³": "0.000", "mm": "0.00", "in": "0.000",
    "mm²": "0.0", "in²": "0.000", "N": "0.0", "lbf": "0.00", "Mg/m³": "0.000", "pcf": "0.0",
    "min": "0.00", "m/s": "0.00E+00", "%/min": "0.0000", "mm/min": "0.0000", "in/min": "0.00000",
    "°C": "0.0", "°F": "0.0", "°": "0.0", "g": "0.00", "MPa": "0.00", "": "0.0000",
}  # fmt: skip
"""How many digits a number shows; what it holds is unrounded."""
TIME_FORMAT = "yyyy-mm-dd hh:mm:ss"
MOMENT = "at"
"""The name of moments in the JSON."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table."""

    header: str
    """Words, with the unit in brackets."""
    digits: str = "General"
    """How its numbers show."""
    width: float = 14.0
    """In characters."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under their headers."""

    columns: tuple[Column, ...]
    rows: Sequence[Sequence[Cell]]


@dataclass(frozen=True, slots=True)
class Scale:
    """From a unit of the reduction to the one that the workbook has."""

    manner: Manner

    def unit(self, unit: str) -> str:
        """As headers have it; the argument is as `Quantity` has it."""
        sign = _SIGNS.get(unit, unit)
        if sign == "°C":
            return "°F" if self.manner.units == "US" else sign
        return result_unit(sign, self.manner)

    def of(self, values: Any, unit: str) -> Any:
        """A number or an array in that unit."""
        sign, wanted = _SIGNS.get(unit, unit), self.unit(unit)
        if wanted == sign:
            return values
        if sign == "°C":
            return convert(values, "degC", "degF")
        return values * convert(1.0, sign, wanted)

    def column(self, words: str, unit: str) -> Column:
        """The column of a quantity."""
        shown = self.unit(unit)
        header = f"{words} [{shown or '-'}]"
        return Column(header, _DIGITS.get(shown, "General"), max(11.0, 0.62 * len(header)))


def time_column(words: str, zone: tzinfo) -> Column:
    """The column of moments on the wall clock of a zone."""
    return Column(f"{words} [{zone}]", TIME_FORMAT, 21.0)


def records(results: Mapping[str, Any], part: str) -> dict[str, Quantity]:
    """What stands directly in one part of the results, by its last name.

    Args:
        results: of `reduce --json`.
        part: such as `shear.peak_deviator`; empty for the head itself.
    """
    within = f"{part}." if part else ""
    return {
        one.name.removeprefix(within): one
        for one in quantities(results)
        if one.name.startswith(within) and "." not in one.name.removeprefix(within)
    }


def quantity_table(
    lead: Sequence[str],
    rows: Iterable[tuple[Sequence[Cell], Mapping[str, Quantity]]],
    scale: Scale,
) -> Table:
    """One row a record that tells something; what no record tells has no column.

    Args:
        lead: headers of what a row begins with.
        rows: that, and the quantities by name. A number that has an uncertainty in any
            row has a column for it.
        scale: for the units.
    """
    known = [(texts, found) for texts, found in rows if any(map(_is_told, found.values()))]
    columns = [Column(one, width=16.0) for one in lead]
    body: list[list[Cell]] = [[*texts] for texts, _ in known]
    for name in dict.fromkeys(name for _, found in known for name in found):
        ones = [found.get(name) for _, found in known]
        told = [one for one in ones if one is not None and _is_told(one)]
        if not told:
            continue
        columns.append(_column(name, told, scale))
        for row, one in zip(body, ones, strict=True):
            row.append(None if one is None else _cell(name, one, scale))
        if any(one.uncertainty is not None for one in told):
            words, unit = words_and_unit(name)
            columns.append(scale.column(f"u({words})", unit))
            for row, one in zip(body, ones, strict=True):
                row.append(None if one is None else _number(one.uncertainty, one.unit, scale))
    return Table(tuple(columns), body)


def _is_told(one: Quantity) -> bool:
    return one.value is not None


def _column(name: str, told: Sequence[Quantity], scale: Scale) -> Column:
    words, unit = words_and_unit(name)
    if name == MOMENT:
        return Column("time", TIME_FORMAT, 19.0)
    if any(isinstance(one.value, str | bool) for one in told):
        return Column(words, width=max(12.0, 0.9 * len(words)))
    return scale.column(words, unit)


def _cell(name: str, one: Quantity, scale: Scale) -> Cell:
    if name == MOMENT and isinstance(one.value, str):
        return datetime.fromisoformat(one.value)
    if isinstance(one.value, str | bool):
        return one.value
    return _number(one.value, one.unit, scale)


def _number(value: float | None, unit: str, scale: Scale) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return float(scale.of(value, unit))


def part_of_each(
    subjects: Sequence[Subject], part: str
) -> list[tuple[Sequence[str], Mapping[str, Quantity]]]:
    """One part of the results of every test."""
    return [((subject.name,), records(subject.results, part)) for subject in subjects]
