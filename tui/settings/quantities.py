"""Quantities in settings files: text with a unit, read into the unit that the field's name ends in.

A refusal carries two texts: what was found, and what to write instead.
"""

import re
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import BeforeValidator

from reduce.errors import UnitError
from reduce.units import convert, known_units, scale, split, unit
from tui.settings.problems import shown

_SPAN = re.compile(
    r"\s*(?P<low>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<low_unit>[^\s\d]\S*)?"
    r"\s+to\s+(?P<high>\S.*)$"
)
_DECIMAL_COMMA = re.compile(r"^\s*[+-]?\d+,\d+(?!\d*,)")


class RefusedError(ValueError):
    """A value of a settings file that cannot be used."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(f"{what}; {remedy}")
        self.what = what
        """The value and what is wrong with it, to follow the name of its key."""
        self.remedy = remedy
        """What to write instead."""


def closest(word: str, choices: tuple[str, ...]) -> str | None:
    """The choice that somebody probably meant, whatever its case."""
    lowered = {choice.casefold(): choice for choice in reversed(choices)}
    near = get_close_matches(word.casefold(), lowered, n=1, cutoff=0.6)
    return lowered[near[0]] if near else None


def did_you_mean(word: str, choices: tuple[str, ...]) -> str:
    """The beginning of a remedy: `did you mean "kPa"? `, or nothing."""
    near = closest(word, choices)
    return "" if near is None else f'did you mean "{near}"? '


def _weight_as_force(symbol: str, dimension: str) -> str:
    force = {"kg": "kgf", "lb": "lbf"}.get(symbol) if dimension == "force" else None
    return "" if force is None else f'did you mean "{force}"? '


def unit_of(symbol: str, wanted: str) -> str:
    """A unit symbol that measures the same thing as the wanted unit.

    Raises:
        RefusedError: it is unknown or measures something else.
    """
    dimension = unit(wanted).dimension
    choices = known_units(dimension)
    accepted = "accepted units: " + ", ".join(choices)
    try:
        found = unit(symbol)
    except UnitError:
        raise RefusedError(
            f"has the unknown unit {shown(symbol)}", did_you_mean(symbol, choices) + accepted
        ) from None
    if found.dimension != dimension:
        raise RefusedError(
            f"has the unit {shown(symbol)}, which measures {found.dimension}, not {dimension}",
            _weight_as_force(symbol, dimension) + accepted,
        )
    return symbol


def _number_and_unit(value: Any, wanted: str) -> tuple[float, str]:
    accepted = "accepted units: " + ", ".join(known_units(unit(wanted).dimension))
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        raise RefusedError(
            f"is {shown(value)}, a number without a unit",
            f'write it as text with its unit, such as "{value:g} {wanted}"; {accepted}',
        )
    if not isinstance(value, str):
        raise RefusedError(f"is {shown(value)}", f'write text such as "1 {wanted}"; {accepted}')
    if _DECIMAL_COMMA.match(value):
        pointed = value.replace(",", ".", 1).strip()
        raise RefusedError(
            f"is {shown(value)}, with a decimal comma", f"write {shown(pointed)}; {accepted}"
        )
    try:
        number, symbol = split(value)
    except UnitError:
        raise RefusedError(
            f"is {shown(value)}, not a number with a unit", f'write "1 {wanted}"; {accepted}'
        ) from None
    if not symbol:
        raise RefusedError(
            f"is {shown(value)}, a number without a unit",
            f'write its unit, such as "{value.strip()} {wanted}"; {accepted}',
        )
    return number, unit_of(symbol, wanted)


def read_quantity(value: Any, wanted: str) -> float:
    """A value of a settings file as a number in the wanted unit.

    Raises:
        RefusedError: it is not text with a number and a unit of that kind.

    Example:
        >>> read_quantity("1.5 bar", "kPa")
        150.0
    """
    number, symbol = _number_and_unit(value, wanted)
    return float(convert(number, symbol, wanted))


def read_difference(value: Any, wanted: str) -> float:
    """As `read_quantity`, for a difference: 9 degF are 5 degC, not −12.8.

    Raises:
        RefusedError: it is not text with a number and a unit of that kind.
    """
    number, symbol = _number_and_unit(value, wanted)
    return number * scale(symbol, wanted)


def read_span(value: Any, wanted: str) -> tuple[float, float]:
    """Two ends such as "0 to 150 psi" as numbers in the wanted unit, the lower first.

    Raises:
        RefusedError: it is not of that form, or the ends do not rise.

    Example:
        >>> read_span("-1 to 10 bar", "kPa")
        (-100.0, 1000.0)
    """
    match = _SPAN.match(value) if isinstance(value, str) else None
    if match is None:
        choices = ", ".join(known_units(unit(wanted).dimension))
        raise RefusedError(
            f"is {shown(value)}, not two ends with a unit",
            f'write "0 to 100 {wanted}"; accepted units: {choices}',
        )
    number, symbol = _number_and_unit(match["high"], wanted)
    high = float(convert(number, symbol, wanted))
    low = read_quantity(f"{match['low']} {match['low_unit'] or symbol}", wanted)
    if not low < high:
        raise RefusedError(
            f"is {shown(value)}, which does not rise", "write the lower end before the higher one"
        )
    return low, high


def read_ratio(value: Any) -> float:
    """A ratio from a bare number or from text in percent.

    Raises:
        RefusedError: it is neither.
    """
    remedy = 'write a bare number such as 0.312, or "31.2 %"'
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    if not isinstance(value, str):
        raise RefusedError(f"is {shown(value)}, not a ratio", remedy)
    try:
        number, symbol = split(value)
    except UnitError:
        raise RefusedError(f"is {shown(value)}, not a ratio", remedy) from None
    if symbol not in ("", "%"):
        raise RefusedError(f"is {shown(value)}, not a ratio", remedy)
    return number / 100.0 if symbol == "%" else number


def _in(wanted: str) -> BeforeValidator:
    def read(value: Any) -> float:
        return read_quantity(value, wanted)

    return BeforeValidator(read)


Length = Annotated[float, _in("mm")]
Pressure = Annotated[float, _in("kPa")]
Volume = Annotated[float, _in("ml")]
Mass = Annotated[float, _in("g")]
Force = Annotated[float, _in("N")]
Seconds = Annotated[float, _in("s")]
Minutes = Annotated[float, _in("min")]
Density = Annotated[float, _in("Mg/m3")]
ForcePerLength = Annotated[float, _in("kN/m")]
VolumeCompliance = Annotated[float, _in("ml/kPa")]
LengthCompliance = Annotated[float, _in("mm/N")]
StrainRate = Annotated[float, _in("%/min")]
Ratio = Annotated[float, BeforeValidator(read_ratio)]
