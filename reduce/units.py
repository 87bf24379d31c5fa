"""Units as laboratories write them: text to a number in a wanted unit, exact factors.

Factors come from their definitions (inch 25.4 mm, pound 0.45359237 kg, standard gravity
9.80665 m/s², conventional mercury and water columns), so that a round trip loses no digit that
a float can hold.

Source:
    BIPM, The International System of Units (SI brochure), 9th ed., 2019; international yard and
    pound agreement of 1959; NIST SP 811 (2008), appendix B.8, for the columns of mercury and water.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from reduce.errors import UnitError

GRAVITY_M_S2 = 9.80665
"""Standard gravity. [m/s²]"""

_POUND_KG = 0.45359237
_INCH_M = 0.0254
_FOOT_M = 0.3048
_POUND_FORCE_N = _POUND_KG * GRAVITY_M_S2
_US_TON_KG = 2000 * _POUND_KG

# Factor to the coherent SI unit of the dimension, by dimension and symbol.
_FACTORS: dict[str, dict[str, float]] = {
    "length": {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "um": 1e-6, "in": _INCH_M, "ft": _FOOT_M},
    "area": {"mm2": 1e-6, "cm2": 1e-4, "m2": 1.0, "in2": _INCH_M**2, "ft2": _FOOT_M**2},
    "volume": {
        "mm3": 1e-9,
        "cm3": 1e-6,
        "m3": 1.0,
        "ml": 1e-6,
        "mL": 1e-6,
        "cc": 1e-6,
        "L": 1e-3,
        "l": 1e-3,
        "in3": _INCH_M**3,
        "ft3": _FOOT_M**3,
    },
    "mass": {"g": 1e-3, "kg": 1.0, "t": 1e3, "Mg": 1e3, "lb": _POUND_KG, "oz": _POUND_KG / 16},
    "time": {"s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0, "hr": 3600.0, "d": 86400.0},
    "force": {
        "N": 1.0,
        "kN": 1e3,
        "MN": 1e6,
        "lbf": _POUND_FORCE_N,
        "kip": 1000 * _POUND_FORCE_N,
        "kgf": GRAVITY_M_S2,
    },
    "pressure": {
        "Pa": 1.0,
        "hPa": 1e2,
        "kPa": 1e3,
        "MPa": 1e6,
        "bar": 1e5,
        "mbar": 1e2,
        "psi": _POUND_FORCE_N / _INCH_M**2,
        "psf": _POUND_FORCE_N / _FOOT_M**2,
        "ksf": 1000 * _POUND_FORCE_N / _FOOT_M**2,
        "tsf": _US_TON_KG * GRAVITY_M_S2 / _FOOT_M**2,
        "inHg": 3386.389,
        "ftH2O": 1000 * GRAVITY_M_S2 * _FOOT_M,
        "mH2O": 1000 * GRAVITY_M_S2,
        "kgf/cm2": GRAVITY_M_S2 / 1e-4,
    },
    "density": {"pcf": _POUND_KG / _FOOT_M**3},
    "ratio": {"": 1.0, "%": 1e-2},
}

# What a compound's numerator and denominator make; "ratio/time" is a strain rate.
_COMPOUNDS: dict[tuple[str, str], str] = {
    ("mass", "volume"): "density",
    ("force", "volume"): "unit weight",
    ("force", "length"): "force per length",
    ("length", "time"): "speed",
    ("volume", "time"): "flow",
    ("ratio", "time"): "strain rate",
    ("volume", "pressure"): "compliance of volume",
    ("length", "force"): "compliance of length",
    ("pressure", "time"): "pressure rate",
    ("area", "time"): "diffusivity",
    ("area", "force"): "compressibility",
}

_TEMPERATURES: dict[str, tuple[float, float]] = {"degC": (1.0, 0.0), "degF": (5 / 9, -160 / 9)}

_SPELLINGS = {
    "³": "3",
    "²": "2",
    "°": "deg",
    "μ": "u",
    "µ": "u",
    "·": "",
    "′": "'",
}
_ALIASES = {"C": "degC", "F": "degF", "K": "K", "lb/in": "lbf/in", "lb/in2": "psi", "pct": "%"}
_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*)?$")


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit resolved: value in coherent SI = factor × value + shift."""

    symbol: str
    """As it is written in tables and on screens."""
    dimension: str
    """What it measures: "length", "pressure", …"""
    factor: float
    """To the coherent SI unit (temperature: to °C)."""
    shift: float = 0.0
    """Added after the factor; only temperatures have one. [°C]"""


def _plain(symbol: str) -> str:
    for fancy, simple in _SPELLINGS.items():
        symbol = symbol.replace(fancy, simple)
    symbol = symbol.strip().replace("**", "").replace("^", "")
    return _ALIASES.get(symbol, symbol)


def _simple(symbol: str) -> tuple[str, float] | None:
    for dimension, table in _FACTORS.items():
        if symbol in table:
            return dimension, table[symbol]
    return None


@lru_cache(maxsize=512)
def unit(symbol: str) -> Unit:
    """Resolve a unit symbol such as `kPa`, `cm³`, `%/h` or `kN/m`.

    Raises:
        UnitError: nothing of that name is known.

    Example:
        >>> unit("kgf/cm²").dimension
        'pressure'
    """
    plain = _plain(symbol)
    if plain in _TEMPERATURES:
        factor, shift = _TEMPERATURES[plain]
        return Unit(plain, "temperature", factor, shift)
    if (found := _simple(plain)) is not None:
        return Unit(plain, found[0], found[1])
    above, slash, below = plain.partition("/")
    top, bottom = _simple(above), _simple(below)
    if slash and top and bottom and (top[0], bottom[0]) in _COMPOUNDS:
        return Unit(plain, _COMPOUNDS[top[0], bottom[0]], top[1] / bottom[1])
    raise UnitError(f"unknown unit {symbol!r}")


def known_units(dimension: str) -> tuple[str, ...]:
    """The symbols accepted for a dimension, for error messages and completion.

    Example:
        >>> known_units("force")
        ('N', 'kN', 'MN', 'lbf', 'kip', 'kgf')
    """
    if dimension == "temperature":
        return tuple(_TEMPERATURES)
    if dimension in _FACTORS and dimension != "density":
        return tuple(symbol for symbol in _FACTORS[dimension] if symbol)
    examples = {
        "density": ("kg/m3", "Mg/m3", "g/cm3", "lb/ft3", "pcf"),
        "unit weight": ("kN/m3", "lbf/ft3"),
        "force per length": ("kN/m", "N/mm", "lbf/in"),
        "speed": ("mm/min", "mm/h", "in/min"),
        "flow": ("ml/h", "ml/min"),
        "strain rate": ("%/min", "%/h"),
        "compliance of volume": ("ml/kPa", "mm3/kPa"),
        "compliance of length": ("mm/N", "mm/kN"),
        "pressure rate": ("kPa/min", "kPa/h"),
        "diffusivity": ("m2/s", "mm2/min"),
        "compressibility": ("m2/MN", "m2/kN"),
    }
    return examples.get(dimension, ())


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A number in one unit as a number in another of the same dimension.

    A numpy array works as well and comes back as an array of its shape.

    Raises:
        UnitError: a unit is unknown or the two measure different things.

    Example:
        >>> round(convert(10.0, "psi", "kPa"), 4)
        68.9476
        >>> convert(68.0, "degF", "degC")
        20.0
    """
    source, target = unit(from_unit), unit(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(
            f"{from_unit} measures {source.dimension}, {to_unit} measures {target.dimension}"
        )
    if source.factor == target.factor and source.shift == target.shift:
        return value
    if source.dimension == "temperature":
        return ((value * source.factor + source.shift) - target.shift) / target.factor
    return value * (source.factor / target.factor)


def scale(from_unit: str, to_unit: str) -> float:
    """The factor between two units for a *difference* (also of temperatures).

    Example:
        >>> scale("degF", "degC") * 9
        5.0
    """
    source, target = unit(from_unit), unit(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(
            f"{from_unit} measures {source.dimension}, {to_unit} measures {target.dimension}"
        )
    return source.factor / target.factor


def split(text: str) -> tuple[float, str]:
    """A number with its unit as two things; the unit may be empty.

    Raises:
        UnitError: the text does not begin with a number.

    Example:
        >>> split("50.0 mm")
        (50.0, 'mm')
    """
    match = _NUMBER.match(text)
    if match is None:
        raise UnitError(f"{text!r} is not a number with a unit")
    return float(match[1]), (match[2] or "").strip()


def parse(text: str, wanted: str) -> float:
    """A text such as "50.0 mm" as a number in the wanted unit.

    Args:
        text: number and unit; the blank between them is optional.
        wanted: the unit of the answer; it fixes what kinds of unit are accepted.

    Raises:
        UnitError: no number, no unit, an unknown unit or one of another dimension; the message
            lists the units that would do.

    Example:
        >>> parse("1.5 in", "mm")
        38.099999999999994
    """
    value, symbol = split(text)
    target = unit(wanted)
    choices = ", ".join(known_units(target.dimension))
    if not symbol:
        raise UnitError(f"{text!r} has no unit; write a {target.dimension} in one of: {choices}")
    try:
        found = unit(symbol)
    except UnitError as error:
        raise UnitError(f"{error} in {text!r}; a {target.dimension} is in one of: {choices}") from None
    if found.dimension != target.dimension:
        raise UnitError(
            f"{text!r} is a {found.dimension}, wanted is a {target.dimension} in one of: {choices}"
        )
    return convert(value, symbol, wanted)


def parse_ratio(value: float | str) -> float:
    """A ratio from a bare number or from a text in percent.

    Raises:
        UnitError: neither of the two.

    Example:
        >>> parse_ratio("31.2 %") == parse_ratio(0.312)
        True
    """
    if isinstance(value, bool):
        raise UnitError(f"{value!r} is not a ratio; write 0.312 or \"31.2 %\"")
    if isinstance(value, (int, float)):
        return float(value)
    number, symbol = split(value)
    if symbol == "":
        return number
    if symbol != "%":
        raise UnitError(f"{value!r} is not a ratio; write 0.312 or \"31.2 %\"")
    return number / 100.0
