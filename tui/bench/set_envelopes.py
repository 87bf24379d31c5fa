"""What the specimens of one set show together: the envelope of their peaks, curves side by side."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from math import isnan

from reduce.errors import ReductionError
from tui.bench.curves import Curves
from tui.bench.picture import Bench, Cell, Plot, Series, SetEnvelope

FEWEST = 2
"""Specimens that make a line."""
_BEYOND = 1.1
"""An envelope is drawn to this many times the greatest stress."""


def failure(curves: Curves, peak: float | None) -> tuple[float, float] | None:
    """s′ and t′ at the greatest deviator; None while that may still grow. [kPa]

    Args:
        curves: of a cell.
        peak: axial strain at its greatest deviator, once that has passed. [-]
    """
    if curves.top is None or isnan(curves.top[2]) or peak is None:
        return None
    return curves.top[2], curves.top[1] / 2.0


def envelopes(
    cells: Iterable[Cell], before: tuple[SetEnvelope, ...] = ()
) -> tuple[SetEnvelope, ...]:
    """Of every set of which at least two specimens have passed their peak.

    Args:
        cells: of the bench.
        before: those of the last look; they stand while their points do.
    """
    sets: dict[str, list[tuple[str, float, float]]] = defaultdict(list)
    for cell in cells:
        if cell.set_name is not None and cell.failure is not None and cell.test != "UU":
            sets[cell.set_name].append((cell.folder, *cell.failure))
    known = {(one.set_name, one.points): one for one in before}
    found = []
    for name, points in sets.items():
        if len(points) >= FEWEST:
            one = known.get((name, tuple(points))) or _envelope(name, points)
            found += [] if one is None else [one]
    return tuple(found)


def _envelope(name: str, points: list[tuple[str, float, float]]) -> SetEnvelope | None:
    from reduce.strength.envelope import line_through_tops_st  # noqa: PLC0415 (few looks need it)

    major = [centre + radius for _, centre, radius in points]
    minor = [centre - radius for _, centre, radius in points]
    try:
        found = line_through_tops_st(major, minor)
    except ReductionError:
        return None  # such points have no envelope; `strength` says why
    line = found.line
    return SetEnvelope(name, tuple(points), line.intercept, line.slope, found.c_kPa, found.phi_deg)


def in_its_set(bench: Bench, cell: Cell, plot: Plot) -> Plot:
    """The plot with the curves of the other specimens behind it, and the envelope if it is known.

    Args:
        bench: the picture.
        cell: whose plot it is.
        plot: one of its plots.
    """
    if not plot.of_set or cell.set_name is None:
        return plot
    behind = [
        Series(other.cell, "sibling", same.series[0].points)
        for other in bench.cells
        if other.set_name == cell.set_name and other.folder != cell.folder
        for same in other.plots
        if same.title == plot.title and same.series
    ]
    line = next((one for one in bench.envelopes if one.set_name == cell.set_name), None)
    if plot.is_path and line is not None:
        farthest = max(x for one in (*plot.series, *behind) for x, _ in one.points)
        ends = (0.0, farthest * _BEYOND)
        points = tuple((s, line.intercept_kPa + line.slope * s) for s in ends)
        behind.append(Series(f"envelope of {len(line.points)}", "fit", points))
    return replace(plot, series=(*plot.series, *behind)) if behind else plot
