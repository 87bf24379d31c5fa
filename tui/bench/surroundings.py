"""What the bench knows beside a cell's own readings."""

from dataclasses import dataclass

from tui.bench.attended import Attended


@dataclass(frozen=True, slots=True)
class Sibling:
    """What another specimen of the same set came to."""

    cell: str
    cv_m2_year: float | None
    """Coefficient of consolidation. [m²/year]"""
    peak_strain: float | None
    """Axial strain at its peak deviator. [-]"""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Given to a cell as it is drawn; no part of what is folded or kept of it."""

    attended: Attended | None = None
    """When somebody is there; None: always."""
    siblings: tuple[Sibling, ...] = ()
    unread: bool = False
    """Whether its logs have not been read to their end yet since somebody began to look."""


ALONE = Surroundings()
"""Always attended, and no specimen of its set."""


def cv_of(siblings: tuple[Sibling, ...]) -> tuple[float, ...]:
    """What is known of the set's coefficients of consolidation. [m²/year]"""
    return tuple(one.cv_m2_year for one in siblings if one.cv_m2_year is not None)
