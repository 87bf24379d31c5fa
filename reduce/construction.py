"""What a construction on a consolidation curve comes to, and the lines that a plot draws of it.

Change is what moves in consolidation, positive when the specimen shrinks: ml of volume or mm of
height, as it was given. Nothing in a construction depends on which.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median, stdev
from typing import Literal

Axis = Literal["root time", "log time"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line of a construction, from one end to the other."""

    name: str
    axis: Axis
    points: tuple[tuple[float, float], tuple[float, float]]
    """(x, change) of both ends; x is √min on the root-time axis, log10 of min on the other."""


@dataclass(frozen=True, slots=True)
class Construction:
    """What one construction found; None where it does not give a quantity, or cannot."""

    method: str
    """Whose it is, and what it gives."""
    drainage: str
    """The surfaces it assumed to drain."""
    start_change: float | None = None
    """d0: change at which consolidation starts, bedding taken off. [as given]"""
    final_change: float | None = None
    """d100: change at the end of primary consolidation. [as given]"""
    t50_min: float | None = None
    t90_min: float | None = None
    t100_min: float | None = None
    cv_m2_per_year: float | None = None
    offset: float | None = None
    """How much longer the abscissae of Taylor's second line are than those of the first. [-]"""
    lines: tuple[Line, ...] = ()
    first_index: int | None = None
    """First reading that the early part rests on, counted in the columns as given."""
    last_index: int | None = None
    """The last such reading."""
    relative_uncertainty: Mapping[str, float] = field(default_factory=dict)
    """Standard deviation over the lines that could as well have been drawn, by field. [-]"""
    assumption: str | None = None
    """In words: drainage, share of consolidation and factors that the answer rests on."""
    why: str | None = None
    """In words: why something could not be told."""


def spread(values: Sequence[float]) -> float | None:
    """Relative standard deviation over choices; None of fewer than two.

    Example:
        >>> round(spread([9.0, 10.0, 11.0]), 2)
        0.1
    """
    return stdev(values) / abs(median(values)) if len(values) > 1 else None
