"""How a plan may say when consolidation ends."""

import re
from dataclasses import dataclass
from typing import Literal

from reduce.errors import ReductionError, UnitError
from reduce.units import parse

_DISSIPATION = re.compile(r"(?:dissipation\s*)?(\d+(?:\.\d+)?)\s*%$")
_LOG_CYCLES = re.compile(r"t100(?:\s*\+\s*(\d+(?:\.\d+)?)\s*log cycles?)?$")


@dataclass(frozen=True, slots=True)
class Ending:
    """A criterion that ends consolidation."""

    kind: Literal["dissipation", "log cycles", "time"]
    """What is watched: a degree of consolidation, multiples of t100, or the clock."""
    value: float
    """Degree [-], number of log cycles of time after t100 [-], or time [s]."""


def ending(text: str) -> Ending:
    """Understand a text such as "dissipation 95 %", "t100 + 1 log cycle" or "24 h".

    Raises:
        ReductionError: it is none of these, or a percentage outside 0 … 100.

    Example:
        >>> ending("t100 + 1 log cycle")
        Ending(kind='log cycles', value=1.0)
    """
    plain = " ".join(text.split())
    if found := _DISSIPATION.match(plain):
        degree = float(found[1]) / 100
        if not 0 < degree < 1:
            raise ReductionError(f"end of consolidation is {text!r}; write 1 % … 99.9 %")
        return Ending("dissipation", degree)
    if found := _LOG_CYCLES.match(plain):
        return Ending("log cycles", float(found[1] or 0))
    try:
        seconds = parse(plain, "s")
    except UnitError:
        seconds = 0.0
    if seconds <= 0.0:
        raise ReductionError(
            f"end of consolidation is {text!r}; "
            'write "dissipation 95 %", "t100 + 1 log cycle" or a time such as "24 h"'
        )
    return Ending("time", seconds)
