"""Laws of units, and every unit against `pint`, somebody else's code."""

from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce.errors import UnitError
from reduce.units import convert, known_units, parse, parse_ratio, scale, split, unit

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
BY_DIMENSION = {
    "pressure": "Pa hPa kPa MPa bar mbar psi psf ksf tsf inHg mmHg ftH2O mH2O cmH2O kgf/cm2 kN/m2",
    "length": "mm cm m um in ft",
    "area": "mm2 cm2 m2 in2 ft2",
    "volume": "ml mL cm3 cm³ cc mm3 m3 in3 ft3 L l",
    "mass": "g kg t Mg lb oz",
    "force": "N kN MN lbf kip kgf",
    "time": "s sec min h hr d year",
    "density": "kg/m3 Mg/m3 g/cm3 g/cc pcf lb/ft3 t/m3",
    "unit weight": "kN/m3 lbf/ft3",
    "force per length": "kN/m N/mm lbf/in lb/in",
    "speed": "mm/min mm/h in/min m/s cm/s",
    "flow": "ml/h ml/min cm3/s",
    "strain rate": "%/h %/min",
    "compliance of volume": "ml/kPa mm3/kPa",
    "compliance of length": "mm/N mm/kN",
    "diffusivity": "m2/s mm2/min m2/year ft2/year",
    "compressibility": "m2/MN m2/kN 1/ksf",
}
PINT_NAMES = {
    "psf": "lbf/ft**2", "ksf": "1000 lbf/ft**2", "tsf": "2000 lbf/ft**2", "inHg": "inch_Hg",
    "mH2O": "100 centimeter_H2O", "kip": "1000 lbf", "pcf": "lb/ft**3", "cm³": "cm**3",
    "mm2": "mm**2", "cm2": "cm**2", "m2": "m**2", "in2": "inch**2", "ft2": "foot**2",
    "mm3": "mm**3", "cm3": "cm**3", "m3": "m**3", "in3": "inch**3", "ft3": "foot**3",
    "kgf/cm2": "kgf/cm**2", "%": "percent", "sec": "s", "hr": "hour", "d": "day", "in": "inch",
    "year": "common_year", "1/ksf": "0.001 ft**2/lbf",
    "lb/in": "lbf/inch", "kg/m3": "kg/m**3", "lbf/in": "lbf/inch", "h": "hour", "Mg": "Mg",
}  # fmt: skip
PAIRS = [
    (dimension, one, other)
    for dimension, names in BY_DIMENSION.items()
    for one in names.split()
    for other in names.split()
]
SYMBOLS = [(dimension, one) for dimension, names in BY_DIMENSION.items() for one in names.split()]
FLOATS = some.floats(-1e12, 1e12, allow_subnormal=False).filter(lambda x: x == 0 or abs(x) > 1e-200)


def in_pint(symbol: str) -> str:
    if symbol in PINT_NAMES:
        return PINT_NAMES[symbol]
    above, slash, below = symbol.partition("/")
    return f"({PINT_NAMES.get(above, above)})/({PINT_NAMES.get(below, below)})" if slash else above


def by_pint(symbol: str) -> float:
    name = in_pint(symbol)
    factor, blank, rest = name.partition(" ")
    quantity = REGISTRY.Quantity(float(factor), rest) if blank else REGISTRY.Quantity(1.0, name)
    return float(quantity.to_base_units().to(quantity.to_base_units().units).magnitude)


@pytest.mark.parametrize(("dimension", "symbol"), SYMBOLS)
def test_factor_agrees_with_pint(dimension: str, symbol: str) -> None:
    reference = BY_DIMENSION[dimension].split()[0]
    assert unit(symbol).dimension == dimension
    assert scale(symbol, reference) == pytest.approx(
        by_pint(symbol) / by_pint(reference), rel=1e-13
    )


@pytest.mark.parametrize("fahrenheit", [-40.0, 0.0, 32.0, 68.0, 70.5, 98.6, 212.0])
def test_temperature_agrees_with_pint(fahrenheit: float) -> None:
    theirs = REGISTRY.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert convert(fahrenheit, "degF", "degC") == pytest.approx(theirs, abs=1e-10)


@given(some.sampled_from(PAIRS), FLOATS)
def test_there_and_back_is_where_it_began(pair: tuple[str, str, str], value: float) -> None:
    _, one, other = pair
    back = convert(convert(value, one, other), other, one)
    assert back == pytest.approx(value, rel=4e-16)


@given(some.sampled_from(PAIRS), some.lists(FLOATS, max_size=5))
def test_column_equals_its_elements(pair: tuple[str, str, str], values: list[float]) -> None:
    _, one, other = pair
    column = convert(np.array(values), one, other)
    assert column.tolist() == [convert(value, one, other) for value in values]


@given(some.lists(some.floats(-1e4, 1e4), max_size=5))
def test_column_of_temperatures(values: list[float]) -> None:
    # 160/9 cancels near 32 °F, where the digits beyond those of two floats would be needed
    column = convert(np.array(values), "degF", "degC")
    each = [convert(value, "degF", "degC") for value in values]
    assert column.tolist() == pytest.approx(each, rel=1e-15, abs=1e-28)


@given(
    some.decimals(-10000, 10000, places=4, allow_nan=False).map(str),
    some.sampled_from(PAIRS),
)
def test_a_text_is_rounded_once(digits: str, pair: tuple[str, str, str]) -> None:
    _, one, other = pair
    exact = Fraction(digits) * unit(one).exact_factor / unit(other).exact_factor
    assert parse(f"{digits} {one}", other) == float(exact)


def test_definitions_come_out_to_the_last_digit() -> None:
    assert parse("1.5 in", "mm") == 38.1
    assert parse("2.8 in", "mm") == 71.12
    assert parse("0.1 ft", "mm") == 30.48
    assert parse("1.4 in", "mm") == 35.56
    assert convert(1.5, "in", "mm") == 38.1
    assert parse("1 kgf/cm²", "kPa") == 98.0665
    assert parse("1 tsf", "ksf") == 2.0
    assert parse("0.3 min", "s") == 18.0
    assert parse("10 psi", "kPa") == 68.94757293168361
    assert convert(np.array([1.5, np.nan]), "in", "mm")[0] == 38.1


def test_not_a_number_and_infinity_stay_in_their_places() -> None:
    column = convert(np.array([np.nan, np.inf, -np.inf, 1.0]), "psi", "kPa")
    assert np.isnan(column[0])
    assert column[1:3].tolist() == [np.inf, -np.inf]
    assert np.isnan(convert(float("nan"), "psi", "kPa"))


def test_a_column_is_never_the_callers_own() -> None:
    mine = np.array([1.0, 2.0])
    convert(mine, "kPa", "kPa")[0] = 9.0
    assert mine[0] == 1.0
    assert convert(np.array([1, 2]), "m", "mm").tolist() == [1000.0, 2000.0]


@pytest.mark.parametrize(
    ("text", "wanted", "value"),
    [
        ("50.0 mm", "mm", 50.0), ("50mm", "mm", 50.0), (" 5 cm ", "mm", 50.0),
        (".5 m", "mm", 500.0),
        ("−95 s", "s", -95.0), ("1e3 Pa", "kPa", 1.0), ("2.70 Mg/m³", "kg/m3", 2700.0),
        ("5 in Hg", "inHg", 5.0), ("62.4 lb/ft3", "pcf", 62.4), ("2 °C", "degC", 2.0),
        ("2 °C", "K", 2.0), ("3.6 degF", "K", 2.0), ("68 degF", "degC", 20.0),
        ("5 %/h", "%/h", 5.0),
        ("0.5 µm", "um", 0.5), ("1.1 lb/in", "kN/m", 1.1 * 4.4482216152605 / 25.4),
    ],
)  # fmt: skip
def test_spellings(text: str, wanted: str, value: float) -> None:
    assert parse(text, wanted) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1e999 mm", "power of ten"), ("1e-999999999 mm", "power of ten"), ("1e400 mm", "power"),
        ("9" * 400 + " mm", "power of ten"), ("nan mm", "number"), ("inf", "number"),
        ("", "number"),
        ("mm", "number"), ("-inf mm", "number"), ("50,0 mm", "'50.0 mm'"), ("50", "no unit"),
        ("1,000 mm", "'1000 mm' or '1.000 mm'"), ("5 kPa", "is a pressure, wanted is a length"),
        ("5 MM", "did you mean mm"), ("5 furlong", "one of: mm, cm"),
        ("5 mm\x1b[31m", "unknown unit"),
        ("1_000 mm", "unknown unit"), ("٣ mm", "number"), ("0x10 mm", "unknown unit"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_the_remedy(text: str, says: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse(text, "mm")
    assert says in str(refusal.value)
    assert "\x1b" not in str(refusal.value)


@given(some.text(max_size=20))
def test_any_text_gives_a_finite_number_or_a_refusal(text: str) -> None:
    try:
        value, _ = split(text)
    except UnitError:
        return
    assert np.isfinite(value)


@pytest.mark.parametrize(
    ("given", "value"),
    [(0.312, 0.312), ("0.312", 0.312), ("31.2 %", 0.312), ("31.2%", 0.312), (1, 1)],
)
def test_ratios(given: float | str, value: float) -> None:
    assert parse_ratio(given) == value


@pytest.mark.parametrize(
    "given", [True, "31.2 mm", "a", float("nan"), float("inf"), "1e999", 10**400, "31,2 %"]
)
def test_no_ratios(given: float | str) -> None:
    with pytest.raises(UnitError):
        parse_ratio(given)


def test_units_of_different_kinds_do_not_convert() -> None:
    with pytest.raises(UnitError, match="mm measures length, kPa measures pressure"):
        convert(1.0, "mm", "kPa")
    with pytest.raises(UnitError, match="measures"):
        scale("degC", "mm")
    with pytest.raises(UnitError, match="too large"):
        convert(1e308, "MPa", "Pa")


@pytest.mark.parametrize("dimension", [*BY_DIMENSION, "temperature", "temperature difference"])
def test_known_units_are_known(dimension: str) -> None:
    assert known_units(dimension)
    for symbol in known_units(dimension):
        assert dimension in (unit(symbol).dimension, "temperature difference")
