"""Sentences of ours about a cell, with their numbers in the units that are shown.

Alarms, forecasts and advice are worded once, in SI, beside the rule that finds them; they stand so
in the journal. Whoever reads them sees the units of all other numbers.
"""

import re

from reduce.units import convert
from tui.words.plain import Manner, plain, sanitise

_US = {"kPa": "psi", "ml": "in³", "mm": "in", "N": "lbf"}
_NUMBER = r"[+−-]?\d+(?:\.\d+)?(?:e[+−-]?\d+)?"
_QUANTITY = re.compile(
    rf"(?P<before>temperature )?(?P<numbers>{_NUMBER}(?: (?:to|…) {_NUMBER})*) "
    rf"(?P<unit>kPa|ml|mm|N|°C)(?P<per>/h|/min)?(?![\w²³/])(?P<sure> \(± {_NUMBER}\))?"
)
_EACH = re.compile(_NUMBER)


def message(text: str, manner: Manner, longest: int = 500) -> str:
    """A sentence of ours as it is shown, on one line.

    Args:
        text: as it was worded, in SI.
        manner: how it is to be written.
        longest: so many signs at most.

    Example:
        >>> message("fell from 210 to 60.5 kPa, limit 5 kPa", Manner(units="US"))
        'fell from 30.5 to 8.77 psi, limit 0.7 psi'
        >>> message("0.42 ml/h (± 0.12) since 9:30; B 0.90 of 0.95", Manner(units="US"))
        '0.026 in³/h (± 0.007) since 9:30; B 0.90 of 0.95'
        >>> message("temperature 20.0 °C, changed by 2.0 °C", Manner(units="US"))
        'temperature 68.0 °F, changed by 3.6 °F'
    """
    clean = sanitise(text, longest)
    return plain(_QUANTITY.sub(_in_us, clean) if manner.units == "US" else clean, manner)


def _in_us(found: re.Match[str]) -> str:
    unit, per, sure = found["unit"], found["per"] or "", found["sure"] or ""
    before = found["before"] or ""
    shown = _US.get(unit, "°F")

    def converted(one: re.Match[str]) -> str:
        number = one[0].replace("−", "-")
        value, digits = float(number), len(number.partition("e")[0].partition(".")[2])
        if unit == "°C":  # all but the temperature itself are differences
            value = 1.8 * value + (32.0 if before else 0.0)
        else:  # a US unit is several of ours
            value, digits = convert(value, unit, shown), digits + 1
        sign = "+" if number.startswith("+") else ""
        return f"{value:{sign}.{digits}f}".replace("-", "−" if "−" in one[0] else "-")

    numbers = _EACH.sub(converted, found["numbers"])
    return f"{before}{numbers} {shown}{per}{_EACH.sub(converted, sure)}"
