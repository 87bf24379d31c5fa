"""Units as laboratories write them: text to a number in a wanted unit, with exact factors.

Factors are fractions of whole numbers, built from the decimals of their definitions (inch
25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s², mercury 13 595.1 kg/m³ and water
1000 kg/m³ in conventional columns). A conversion multiplies exactly and rounds once, so that
1.5 in is 38.1 mm and not 38.099999999999994 mm.

Source:
    BIPM, The International System of Units (SI brochure), 9th ed., 2019; international yard and
    pound agreement of 1959; NIST SP 811 (2008), appendix B, for the columns of mercury and water.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import overload

import numpy as np

from reduce.columns import Column
from reduce.errors import UnitError
from reduce.unit_tables import ALIASES, COMPOUNDS, FACTORS, SPELLINGS, TEMPERATURES

_NUMBER = re.compile(r"\s*([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(\S.*)?$")
# Beyond this a power of ten is a slip of the keyboard, and its exact fraction would be huge.
_LARGEST_EXPONENT = 300
_LARGEST_RATIO = 1e300


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit resolved: value in coherent SI = factor × value + shift."""

    symbol: str
    """As it is written in tables and on screens."""
    dimension: str
    """What it measures: "length", "pressure", …"""
    factor: float
    """To the coherent SI unit (temperature: to °C), rounded to a float."""
    shift: float
    """Added after the factor; only temperatures have one. [°C]"""
    exact_factor: Fraction
    """The factor as its definition gives it."""
    exact_shift: Fraction
    """The shift as its definition gives it. [°C]"""


def _plain(symbol: str) -> str:
    symbol = "".join(symbol.translate(SPELLINGS).split())
    symbol = symbol.replace("**", "").replace("^", "")
    return ALIASES.get(symbol, symbol)


def _simple(symbol: str) -> tuple[str, Fraction] | None:
    for dimension, table in FACTORS.items():
        if symbol in table:
            return dimension, table[symbol]
    return None


def _resolved(symbol: str, dimension: str, factor: Fraction, shift: Fraction = Fraction(0)) -> Unit:
    return Unit(symbol, dimension, float(factor), float(shift), factor, shift)


def _meant(plain: str) -> str:
    """A hint for a symbol that is right but for its capitals."""
    every = [*TEMPERATURES, *(symbol for table in FACTORS.values() for symbol in table)]
    near = [symbol for symbol in every if symbol.casefold() == plain.casefold()]
    return f"; did you mean {' or '.join(near)}?" if near else ""


@lru_cache(maxsize=512)
def unit(symbol: str) -> Unit:
    """Resolve a unit symbol such as `kPa`, `cm³`, `%/h` or `kN/m`.

    Args:
        symbol: capitals matter (MPa is not mPa); blanks within do not (`in Hg`, `kg / m3`).

    Raises:
        UnitError: nothing of that name is known.

    Source:
        See the head of this module.

    Example:
        >>> unit("kgf/cm²").dimension
        'pressure'
    """
    plain = _plain(symbol)
    if plain in TEMPERATURES:
        return _resolved(plain, "temperature", *TEMPERATURES[plain])
    if (found := _simple(plain)) is not None:
        return _resolved(plain, *found)
    above, slash, below = plain.partition("/")
    top, bottom = _simple(above), _simple(below)
    if slash and top and bottom and (top[0], bottom[0]) in COMPOUNDS:
        return _resolved(plain, COMPOUNDS[top[0], bottom[0]], top[1] / bottom[1])
    raise UnitError(f"unknown unit {symbol!r}{_meant(plain)}")


def known_units(dimension: str) -> tuple[str, ...]:
    """The symbols accepted for a dimension, for error messages and completion.

    Example:
        >>> known_units("force")
        ('N', 'kN', 'MN', 'lbf', 'kip', 'kgf')
    """
    examples = {
        "temperature": tuple(TEMPERATURES),
        "temperature difference": ("K", *TEMPERATURES),
        "density": ("kg/m3", "Mg/m3", "g/cm3", "lb/ft3", "pcf"),
        "unit weight": ("kN/m3", "lbf/ft3"),
        "force per length": ("kN/m", "N/mm", "lbf/in"),
        "speed": ("mm/min", "mm/h", "in/min"),
        "flow": ("ml/h", "ml/min"),
        "strain rate": ("%/min", "%/h"),
        "compliance of volume": ("ml/kPa", "mm3/kPa"),
        "compliance of length": ("mm/N", "mm/kN"),
        "pressure rate": ("kPa/min", "kPa/h", "psi/min"),
        "diffusivity": ("m2/s", "mm2/min", "m2/year", "ft2/year"),
        "compressibility": ("m2/MN", "m2/kN", "1/ksf"),
    }
    if dimension in examples:
        return examples[dimension]
    return tuple(symbol for symbol in FACTORS.get(dimension, ()) if symbol)


def _same_dimension(from_unit: str, to_unit: str) -> tuple[Unit, Unit]:
    source, target = unit(from_unit), unit(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(
            f"{from_unit} measures {source.dimension}, {to_unit} measures {target.dimension}"
        )
    return source, target


@lru_cache(maxsize=512)
def _step(from_unit: str, to_unit: str) -> tuple[Fraction, Fraction]:
    """Factor and shift between two units: target = factor × source + shift."""
    source, target = _same_dimension(from_unit, to_unit)
    return (
        source.exact_factor / target.exact_factor,
        (source.exact_shift - target.exact_shift) / target.exact_factor,
    )


def _high_and_low(exact: Fraction) -> tuple[float, float]:
    high = float(exact)
    return high, float(exact - Fraction(high))


def _halves(value: Column) -> tuple[Column, Column]:
    """Each float as a sum of two with 26 bits at most, whose products are exact (Veltkamp)."""
    spread = value * 134217729.0
    upper = spread - (spread - value)
    return upper, value - upper


def _convert_column(value: Column, factor: Fraction, shift: Fraction) -> Column:
    """factor × value + shift with one rounding: Dekker's product, Knuth's sum."""
    factor_high, factor_low = _high_and_low(factor)
    shift_high, shift_low = _high_and_low(shift)
    with np.errstate(invalid="ignore", over="ignore"):
        product = value * factor_high
        a, b = _halves(value)
        c, d = _halves(np.float64(factor_high) + np.zeros(()))
        lost = ((a * c - product) + a * d + b * c) + b * d
        total = product + shift_high
        carried = total - product
        lost_sum = (product - (total - carried)) + (shift_high - carried)
        exact = total + (lost + lost_sum + value * factor_low + shift_low)
        # Infinity and values near the largest float have no halves: take the plain product.
        return np.where(np.isfinite(exact), exact, total)


@overload
def convert(value: float, from_unit: str, to_unit: str) -> float: ...
@overload
def convert(value: Column, from_unit: str, to_unit: str) -> Column: ...
def convert(value: float | Column, from_unit: str, to_unit: str) -> float | Column:
    """A number or a column in one unit as the same in another unit of its dimension.

    Args:
        value: one number or (n,) [from_unit]; NaN and infinity stay what they are.
        from_unit: the unit it is in.
        to_unit: the unit it is wanted in. Temperatures are converted as temperatures here; for
            a difference of temperatures multiply by `scale`.

    Returns:
        One number or (n,), rounded once. [to_unit]

    Raises:
        UnitError: a unit is unknown, the two measure different things, or the number is too
            large for the wanted unit.

    Example:
        >>> convert(1.5, "in", "mm")
        38.1
        >>> convert(68.0, "degF", "degC")
        20.0
        >>> convert(np.array([0.0, 10.0]), "psi", "kPa")
        array([ 0.        , 68.94757293])
    """
    factor, shift = _step(from_unit, to_unit)
    if isinstance(value, np.ndarray):
        column = value.astype(np.float64)
        unchanged = factor == 1 and shift == 0
        return column if unchanged else _convert_column(column, factor, shift)
    if not math.isfinite(value):
        return float(value)
    above, below = value.as_integer_ratio()
    try:
        # Whole numbers divide with a single rounding, whatever their size.
        return (
            above * factor.numerator * shift.denominator
            + shift.numerator * below * factor.denominator
        ) / (below * factor.denominator * shift.denominator)
    except OverflowError:
        raise UnitError(f"{value:g} {from_unit} is too large a number of {to_unit}") from None


def scale(from_unit: str, to_unit: str) -> float:
    """The factor between two units for a *difference* (also of temperatures).

    Raises:
        UnitError: a unit is unknown or the two measure different things.

    Example:
        >>> scale("degF", "degC") * 9
        5.0
    """
    source, target = unit(from_unit), unit(to_unit)
    temperatures = {"temperature", "temperature difference"}
    if not {source.dimension, target.dimension} <= temperatures:
        _same_dimension(from_unit, to_unit)
    return float(source.exact_factor / target.exact_factor)


def _comma_remedy(text: str, whole: str, rest: str) -> str:
    with_point = text.strip().replace(",", ".", 1)
    if re.match(r"(,[0-9]{3})+(?![0-9])", rest) and len(whole.lstrip("+-")) <= 3:
        return f"write {text.strip().replace(',', '')!r} or {with_point!r}"
    return f"write {with_point!r}"


def _split_exactly(text: str) -> tuple[Fraction, str]:
    match = _NUMBER.match(text.replace("−", "-"))
    if match is None:
        raise UnitError(f"{text!r} does not begin with a number; write it like '50.0 mm'")
    digits, rest = match[1], (match[2] or "").strip()
    if rest.startswith(","):
        remedy = _comma_remedy(text, digits, rest)
        raise UnitError(f"{text!r} has a comma in its number; {remedy}")
    exponent = re.search(r"[eE]([+-]?[0-9]+)$", digits)
    out_of_range = exponent is not None and (
        len(exponent[1]) > 4 or abs(int(exponent[1])) > _LARGEST_EXPONENT
    )
    if out_of_range or len(digits) > _LARGEST_EXPONENT:
        raise UnitError(f"{text[:60]!r} is out of range; check its power of ten")
    return Fraction(digits), rest


def _rounded(value: Fraction, text: str) -> float:
    try:
        return float(value)
    except OverflowError:
        raise UnitError(f"{text!r} is out of range; check its power of ten") from None


def split(text: str) -> tuple[float, str]:
    """A number with its unit as two things; the unit may be empty.

    Raises:
        UnitError: the text does not begin with a finite number with a decimal point; a decimal
            comma is refused with the text to write instead.

    Example:
        >>> split("50.0 mm")
        (50.0, 'mm')
    """
    value, symbol = _split_exactly(text)
    return _rounded(value, text), symbol


def parse(text: str, wanted: str) -> float:
    """A text such as "50.0 mm" as a number in the wanted unit.

    Args:
        text: number and unit; the blank between them is optional.
        wanted: the unit of the answer; it fixes what kinds of unit are accepted. `K` wants a
            difference of temperatures and takes degC and degF as differences.

    Returns:
        The number that the text means, rounded once. [wanted]

    Raises:
        UnitError: no number, no unit, an unknown unit or one of another dimension; the message
            lists the units that would do.

    Source:
        See the head of this module.

    Example:
        >>> parse("1.5 in", "mm")
        38.1
        >>> parse("3.6 degF", "K")
        2.0
    """
    value, symbol = _split_exactly(text)
    target = unit(wanted)
    choices = ", ".join(known_units(target.dimension))
    if not symbol:
        raise UnitError(f"{text!r} has no unit; write a {target.dimension} in one of: {choices}")
    try:
        found = unit(symbol)
    except UnitError as error:
        raise UnitError(
            f"{error} in {text!r}; a {target.dimension} is in one of: {choices}"
        ) from None
    if target.dimension == "temperature difference" and found.dimension == "temperature":
        return _rounded(value * found.exact_factor / target.exact_factor, text)
    if found.dimension != target.dimension:
        raise UnitError(
            f"{text!r} is a {found.dimension}, wanted is a {target.dimension} in one of: {choices}"
        )
    factor, shift = _step(symbol, wanted)
    return _rounded(value * factor + shift, text)


def parse_ratio(value: float | str) -> float:
    """A ratio from a bare number or from a text in percent.

    Raises:
        UnitError: neither of the two, or not finite.

    Example:
        >>> parse_ratio("31.2 %") == parse_ratio(0.312)
        True
    """
    wrong = UnitError(f'{value!r} is not a ratio; write 0.312 or "31.2 %"')
    if isinstance(value, bool):
        raise wrong
    if isinstance(value, (int, float)):
        if not abs(value) < _LARGEST_RATIO:
            raise wrong
        return float(value)
    number, symbol = _split_exactly(value)
    if _plain(symbol) not in ("", "%"):
        raise wrong
    return _rounded(number / (100 if symbol else 1), value)
