"""What the specimens of one set tell each other: cv, and the strain at the peak.

Only what is sure is handed on, to two digits, so that two specimens never go by each other's guess.
"""

from collections.abc import Iterable

from reduce.forecast import ConsolidationForecast
from tui.bench.picture import Cell, Phase
from tui.bench.surroundings import Sibling

SURE_DEGREE = 0.6
"""From this degree of consolidation on its own readings decide on cv: common practice."""
PASSED = 0.97
"""Deviator below this share of its greatest value: the peak has passed, common practice."""
LEAST_STRAIN = 0.002
"""Before this the deviator has no peak: contact and seating. [-]"""

Points = tuple[tuple[float, float], ...]


def came_to(
    cell: str, phase: Phase, fit: ConsolidationForecast | None, peak: float | None
) -> Sibling | None:
    """What a specimen has come to; None while nothing is sure.

    Args:
        cell: its name.
        phase: its present one.
        fit: of its consolidation.
        peak: axial strain at its greatest deviator, once that has passed. [-]
    """
    cv = None
    # Without a degree of its own a specimen's cv is what was expected of it, perhaps by its set.
    if fit is not None and fit.cv_m2_year is not None and fit.U_now is not None:
        over = phase.name in ("shear", "ended")
        if over or fit.U_now >= SURE_DEGREE:
            cv = float(f"{fit.cv_m2_year:.1e}")
    strain = None if peak is None else float(f"{peak:.1e}")
    return None if cv is None and strain is None else Sibling(cell, cv, strain)


def peak_strain(deviators: Points, *, over: bool) -> float | None:
    """Axial strain at the greatest deviator; None while that may still grow. [-]"""
    own = [(strain, q) for strain, q in deviators if strain >= LEAST_STRAIN]
    if not own:
        return None
    top = max(own, key=lambda point: point[1])
    return top[0] if over or own[-1][1] < PASSED * top[1] else None


def siblings_of(cell: Cell, cells: Iterable[Cell]) -> tuple[Sibling, ...]:
    """What the other specimens of its set came to."""
    if cell.set_name is None:
        return ()
    return tuple(
        other.came_to
        for other in cells
        if other.came_to is not None
        and other.set_name == cell.set_name
        and other.folder != cell.folder
    )
