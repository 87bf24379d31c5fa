"""Quantities in settings files: text with a unit, read into the unit that the field's name ends in."""

from typing import Annotated, Any

from pydantic import BeforeValidator

from reduce.errors import UnitError
from reduce.units import known_units, parse, parse_ratio, unit


def _quantity(wanted: str) -> BeforeValidator:
    def read(value: Any) -> float:
        if isinstance(value, str):
            return parse(value, wanted)
        choices = ", ".join(known_units(unit(wanted).dimension))
        raise UnitError(f'{value!r} has no unit; write "{value} {wanted}" or another of: {choices}')

    return BeforeValidator(read)


def _ratio(value: Any) -> float:
    if isinstance(value, (int, float, str)):
        return parse_ratio(value)
    raise UnitError(f'{value!r} is not a ratio; write 0.312 or "31.2 %"')


Length = Annotated[float, _quantity("mm")]
Pressure = Annotated[float, _quantity("kPa")]
Volume = Annotated[float, _quantity("ml")]
Mass = Annotated[float, _quantity("g")]
Force = Annotated[float, _quantity("N")]
Seconds = Annotated[float, _quantity("s")]
Minutes = Annotated[float, _quantity("min")]
Density = Annotated[float, _quantity("Mg/m3")]
Flow = Annotated[float, _quantity("ml/h")]
ForcePerLength = Annotated[float, _quantity("kN/m")]
VolumeCompliance = Annotated[float, _quantity("ml/kPa")]
LengthCompliance = Annotated[float, _quantity("mm/N")]
StrainRate = Annotated[float, _quantity("%/min")]
Ratio = Annotated[float, BeforeValidator(_ratio)]
