"""How a plan may say when consolidation ends."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from reduce.errors import ReductionError, UnitError
from reduce.units import parse

_DISSIPATION = re.compile(r"(?:dissipation\s*)?(\d+(?:\.\d+)?)\s*%$")
_LOG_CYCLES = re.compile(r"t100(?:\s*\+\s*(\d+(?:\.\d+)?)\s*log cycles?)?$")
_FLOW = re.compile(r"flow\s*(\d+(?:\.\d+)?)\s*%\s*/\s*h$")


@dataclass(frozen=True, slots=True)
class Ending:
    """A criterion that ends consolidation."""

    kind: Literal["dissipation", "log cycles", "flow", "time"]
    """What is watched: a degree of consolidation, multiples of t100, the rate at which water
    leaves (after common practice, no source), or the clock."""
    value: float
    """Degree [-], number of log cycles of time after t100 [-], share of the specimen's volume that
    leaves in an hour [1/h], or time [s]."""


@lru_cache(maxsize=64)  # asked at every reading
def ending(text: str) -> Ending:
    """Understand "dissipation 95 %", "t100 + 1 log cycle", "flow 0.1 %/h" or "24 h".

    Raises:
        ReductionError: it is none of these, or a percentage outside its bounds.

    Example:
        >>> ending("t100 + 1 log cycle")
        Ending(kind='log cycles', value=1.0)
        >>> ending("flow 0.1 %/h")
        Ending(kind='flow', value=0.001)
    """
    plain = " ".join(text.split())
    if found := _DISSIPATION.match(plain):
        degree = float(found[1]) / 100
        if not 0 < degree < 1:
            raise ReductionError(f"end of consolidation is {text!r}; write 1 % … 99.9 %")
        return Ending("dissipation", degree)
    if found := _LOG_CYCLES.match(plain):
        return Ending("log cycles", float(found[1] or 0))
    if found := _FLOW.match(plain):
        share = float(found[1]) / 100
        if not 0 < share < 1:
            raise ReductionError(f"end of consolidation is {text!r}; write 0.01 … 10 %/h")
        return Ending("flow", share)
    try:
        seconds = parse(plain, "s")
    except UnitError:
        seconds = 0.0
    if seconds <= 0.0:
        raise ReductionError(
            f'end of consolidation is {text!r}; write "dissipation 95 %", "t100 + 1 log cycle", '
            '"flow 0.1 %/h" or a time such as "24 h"'
        )
    return Ending("time", seconds)
