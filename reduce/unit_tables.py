"""The units that are known, as exact fractions of whole numbers; `units` reads and converts them.

Source:
    BIPM, The International System of Units (SI brochure), 9th ed., 2019; international yard and
    pound agreement of 1959; NIST SP 811 (2008), appendix B, for the columns of mercury and water.
"""

from fractions import Fraction

_F = Fraction

_GRAVITY = _F("9.80665")
_POUND = _F("0.45359237")
_INCH = _F("0.0254")
_FOOT = 12 * _INCH
_POUND_FORCE = _POUND * _GRAVITY
_WATER = 1000 * _GRAVITY
_MERCURY = _F("13595.1") * _GRAVITY

# Factor to the coherent SI unit of the dimension, by dimension and symbol.
FACTORS: dict[str, dict[str, Fraction]] = {
    "length": {
        "mm": _F("1e-3"),
        "cm": _F("1e-2"),
        "m": _F(1),
        "um": _F("1e-6"),
        "in": _INCH,
        "ft": _FOOT,
    },
    "area": {
        "mm2": _F("1e-6"),
        "cm2": _F("1e-4"),
        "m2": _F(1),
        "in2": _INCH**2,
        "ft2": _FOOT**2,
    },
    "volume": {
        "ml": _F("1e-6"),
        "mL": _F("1e-6"),
        "cm3": _F("1e-6"),
        "cc": _F("1e-6"),
        "mm3": _F("1e-9"),
        "m3": _F(1),
        "L": _F("1e-3"),
        "l": _F("1e-3"),
        "in3": _INCH**3,
        "ft3": _FOOT**3,
    },
    "mass": {
        "g": _F("1e-3"),
        "kg": _F(1),
        "t": _F(1000),
        "Mg": _F(1000),
        "lb": _POUND,
        "oz": _POUND / 16,
    },
    "time": {
        "s": _F(1),
        "sec": _F(1),
        "min": _F(60),
        "h": _F(3600),
        "hr": _F(3600),
        "d": _F(86400),
        "year": 365 * _F(86400),  # of coefficients of consolidation, as `reduce.drainage` has it
    },
    "force": {
        "N": _F(1),
        "kN": _F(1000),
        "MN": _F(10**6),
        "lbf": _POUND_FORCE,
        "kip": 1000 * _POUND_FORCE,
        "kgf": _GRAVITY,
    },
    "pressure": {
        "Pa": _F(1),
        "hPa": _F(100),
        "kPa": _F(1000),
        "MPa": _F(10**6),
        "bar": _F(10**5),
        "mbar": _F(100),
        "psi": _POUND_FORCE / _INCH**2,
        "psf": _POUND_FORCE / _FOOT**2,
        "ksf": 1000 * _POUND_FORCE / _FOOT**2,
        "tsf": 2000 * _POUND_FORCE / _FOOT**2,
        "inHg": _MERCURY * _INCH,
        "mmHg": _MERCURY / 1000,
        "ftH2O": _WATER * _FOOT,
        "mH2O": _WATER,
        "cmH2O": _WATER / 100,
        "kgf/cm2": _GRAVITY * 10**4,
    },
    "density": {"pcf": _POUND / _FOOT**3},
    "temperature difference": {"K": _F(1)},
    "ratio": {"": _F(1), "%": _F("1e-2"), "1": _F(1)},
}

# What a compound's numerator and denominator make; "ratio/time" is a strain rate.
COMPOUNDS: dict[tuple[str, str], str] = {
    ("mass", "volume"): "density",
    ("force", "volume"): "unit weight",
    ("force", "area"): "pressure",
    ("force", "length"): "force per length",
    ("length", "time"): "speed",
    ("volume", "time"): "flow",
    ("ratio", "time"): "strain rate",
    ("volume", "pressure"): "compliance of volume",
    ("length", "force"): "compliance of length",
    ("pressure", "time"): "pressure rate",
    ("area", "time"): "diffusivity",
    ("area", "force"): "compressibility",
    ("ratio", "pressure"): "compressibility",
}

# °C = factor × value + shift
TEMPERATURES: dict[str, tuple[Fraction, Fraction]] = {
    "degC": (_F(1), _F(0)),
    "degF": (_F(5, 9), _F(-160, 9)),
}

SPELLINGS = str.maketrans({"³": "3", "²": "2", "₂": "2", "°": "deg", "μ": "u", "µ": "u", "·": ""})
ALIASES = {
    "C": "degC",
    "F": "degF",
    "lb/in": "lbf/in",
    "lb/ft": "lbf/ft",
    "lb/in2": "psi",
    "pct": "%",
    "hrs": "h",
    "day": "d",
    "days": "d",
}
