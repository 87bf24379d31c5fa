"""What the reduction refuses, and how it says so.

ValueError
└── ReductionError      a quantity that cannot be computed from what was given
    ├── UnitError       a text that is not a number with a known unit
    └── UntoldError     readings on which nothing can be constructed; caught, and said as `why`
"""


class ReductionError(ValueError):
    """A quantity that cannot be computed: the message names it, its value, unit and bound."""


class UnitError(ReductionError):
    """A text that is not a number with a unit of the wanted kind."""


class UntoldError(ReductionError):
    """Readings on which nothing can be constructed: the message says why."""


def require_positive(name: str, value: float, unit: str) -> float:
    """Give the value back if it is a finite number above zero.

    Raises:
        ReductionError: it is not; the message names quantity, value, unit and bound.
    """
    if not 0.0 < value < float("inf"):
        of = f" {unit}" if unit else ""
        raise ReductionError(f"{name} is {value:g}{of}; it must be a finite number above 0{of}")
    return value
