"""Quantities: from the internal unit to what is shown, with the digits an instrument deserves."""

from math import floor, log10

from reduce.units import convert
from tui.words.plain import NOTHING, PLAIN, Manner, plain, sanitise

_SHOWN: dict[str, dict[str, tuple[str, int]]] = {
    "SI": {"kPa": ("kPa", 1), "ml": ("ml", 2), "mm": ("mm", 2), "N": ("N", 1), "degC": ("°C", 1)},
    "US": {
        "kPa": ("psi", 2),
        "ml": ("in³", 3),
        "mm": ("in", 3),
        "N": ("lbf", 2),
        "degC": ("°F", 1),
    },
}

MOST_DECIMALS = 6
"""Of a number; with more it is written as a power of ten."""


def unit_shown(unit: str, manner: Manner) -> str:
    """The unit in which values of an internal unit are shown; an unknown one is its own.

    Example:
        >>> unit_shown("kPa", Manner(units="US")), unit_shown("√min", Manner(units="US"))
        ('psi', '√min')
    """
    return _SHOWN[manner.units].get(unit, (unit, 2))[0]


def shown(value: float | None, unit: str, manner: Manner) -> tuple[str, str]:
    """A value of an internal unit as its number and the unit it is shown in.

    An unknown unit passes through as it is.

    Example:
        >>> shown(100.0, "kPa", Manner(units="US"))
        ('14.50', 'psi')
    """
    symbol, digits = _SHOWN[manner.units].get(unit, (unit, 2))
    symbol = plain(sanitise(symbol), manner)
    if value is None:
        return plain(NOTHING, manner), symbol
    if unit in _SHOWN["SI"]:
        value = convert(value, unit, _SHOWN[manner.units][unit][0])
    return _written(value, digits, manner), symbol


def _written(value: float, digits: int, manner: Manner) -> str:
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")  # "-0.0" says nothing that "0.0" does not
    return plain(text.replace("-", "−"), manner)


def _with_unit(value: float | None, unit: str, manner: Manner) -> str:
    number, symbol = shown(value, unit, manner)
    return number if value is None else f"{number} {symbol}"


def pressure(value_kPa: float | None, manner: Manner = PLAIN) -> str:
    """A pressure or stress.

    Example:
        >>> pressure(101.34), pressure(None), pressure(100.0, Manner(units="US"))
        ('101.3 kPa', '–', '14.50 psi')
    """
    return _with_unit(value_kPa, "kPa", manner)


def pressure_short(value_kPa: float | None, manner: Manner = PLAIN) -> str:
    """A pressure without its unit, for lines that give it once: whole kPa, tenths of a psi.

    Example:
        >>> pressure_short(349.8), pressure_short(100.0, Manner(units="US"))
        ('350', '14.5')
    """
    if value_kPa is None:
        return plain(NOTHING, manner)
    value, digits = value_kPa, 0
    if manner.units == "US":
        value, digits = convert(value_kPa, "kPa", "psi"), 1
    return _written(value, digits, manner)


def volume(value_ml: float | None, manner: Manner = PLAIN) -> str:
    """A volume, such as what went into the specimen."""
    return _with_unit(value_ml, "ml", manner)


def length(value_mm: float | None, manner: Manner = PLAIN) -> str:
    """A length, such as the travel of the ram."""
    return _with_unit(value_mm, "mm", manner)


def force(value_N: float | None, manner: Manner = PLAIN) -> str:
    """A force, such as the axial load."""
    return _with_unit(value_N, "N", manner)


def temperature(value_C: float | None, manner: Manner = PLAIN) -> str:
    """A temperature."""
    return _with_unit(value_C, "degC", manner)


def ratio(value: float | None, manner: Manner = PLAIN) -> str:
    """A ratio as a bare number."""
    return plain(NOTHING, manner) if value is None else plain(f"{value:.2f}", manner)


def percent(value: float | None, manner: Manner = PLAIN, digits: int = 0) -> str:
    """A ratio in percent.

    Example:
        >>> percent(0.624), percent(0.01234, digits=2), percent(-0.0205, digits=2)
        ('62 %', '1.23 %', '−2.05 %')
    """
    return plain(NOTHING, manner) if value is None else f"{_written(100 * value, digits, manner)} %"


def b_value(value: float | None, manner: Manner = PLAIN) -> str:
    """Skempton's B: three decimals, so that 0.949 is not read as a pass of 0.95."""
    return plain(NOTHING, manner) if value is None else f"{value:.3f}"


_RESULTS_US = {
    "kPa": "psi", "MPa": "psi", "ml": "in³", "mm": "in", "mm²": "in²", "N": "lbf",
    "Mg/m³": "pcf", "mm/min": "in/min", "m²/year": "ft²/year", "m²/MN": "1/ksf", "m/s": "cm/s",
}  # fmt: skip
"""Units of results that US readers expect otherwise; all others stay. Common practice, no source:
permeability is in cm/s there too, and compressibility in 1/ksf, which is ft²/kip: ft²/ton would
leave open whether the short ton or the British one is meant."""


def result_unit(unit: str, manner: Manner = PLAIN) -> str:
    """The unit in which `measured` writes.

    Example:
        >>> result_unit("mm²", Manner(units="US")), result_unit("kPa")
        ('in²', 'kPa')
        >>> result_unit("m²/year", Manner(units="US")), result_unit("m²/MN", Manner(units="US"))
        ('ft²/year', '1/ksf')
    """
    return plain(_RESULTS_US.get(unit, unit) if manner.units == "US" else unit, manner)


def measured(
    value: float | None,
    uncertainty: float | None,
    unit: str,
    manner: Manner = PLAIN,
    *,
    bare: bool = False,
) -> str:
    """A result with its standard uncertainty, two digits of it; without one, four digits.

    Args:
        value: in the unit given.
        uncertainty: likewise; None where it is not known.
        unit: of both.
        manner: how it is to be written.
        bare: leave the unit to a heading.

    Example:
        >>> measured(104.2345, 0.62, "kPa"), measured(2.0813, None, "m²/year")
        ('104.23 ± 0.62 kPa', '2.081 m²/year')
        >>> measured(None, None, "kPa"), measured(0.954321, 0.0042, "")
        ('–', '0.9543 ± 0.0042')
        >>> measured(3.56e-10, 1.06e-11, "m/s")
        '3.56e−10 ± 0.11e−10 m/s'
    """
    if value is None:
        return plain(NOTHING, manner)
    if manner.units == "US" and unit in _RESULTS_US:
        by = convert(1.0, unit, _RESULTS_US[unit])
        value, uncertainty = value * by, None if uncertainty is None else uncertainty * by
    if uncertainty is not None and uncertainty > 0.0:
        digits = 1 - floor(log10(uncertainty))
        if digits > MOST_DECIMALS and abs(value) < 1.0:
            return _as_power(value, uncertainty, digits, unit, manner, bare=bare)
        number = f"{_rounded(value, digits)} ± {_rounded(uncertainty, digits)}"
    else:
        number = _rounded(value, 3 - floor(log10(abs(value))) if value else 0)
    symbol = "" if bare else result_unit(unit, manner)
    return plain(f"{number} {symbol}".strip(), manner)


def _as_power(
    value: float, uncertainty: float, digits: int, unit: str, manner: Manner, *, bare: bool
) -> str:
    """A tiny number and its uncertainty with one power of ten for both."""
    power = floor(log10(max(abs(value), uncertainty)))
    written = (f"{one * 10.0**-power:.{digits + power}f}" for one in (value, uncertainty))
    shown = (f"{one}e{power}" for one in written)
    symbol = "" if bare else result_unit(unit, manner)
    return plain(f"{' ± '.join(shown).replace('-', '−')} {symbol}".strip(), manner)


def _rounded(value: float, digits: int) -> str:
    """To so many decimals; below zero of them to tens, hundreds …; tiny numbers as powers."""
    if digits > MOST_DECIMALS:
        return f"{value:.3g}".replace("-", "−")
    text = f"{round(value, digits):.{max(digits, 0)}f}"
    return (text.lstrip("-") if float(text) == 0.0 else text).replace("-", "−")
