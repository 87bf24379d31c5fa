"""The curves of tests as thin columns that charts of a workbook are drawn from.

A chart of every reading of a week is slow to open and shows no more than some hundreds of points:
the first and the last are kept, and between them readings evenly along what the curve runs over.
The readings themselves stand on their own sheet, all of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reduce.columns import Column as Numbers
from tui.papers.exchange.workbook_tables import Cell, Column, Scale, Table
from tui.papers.subject import Subject

Rows = NDArray[np.intp]

MOST = 600
"""Points of a curve."""


@dataclass(frozen=True, slots=True)
class Curve:
    """One line of a chart."""

    test: str
    """Whose it is: the name of the subject."""
    kind: str
    """"root time", "log time", "deviator", "pore pressure", "volume" or "stress path"."""
    x: Column
    y: Column
    points: tuple[Numbers, Numbers]
    """(n,) each, in the units of the columns."""


def curves_of(subject: Subject, scale: Scale) -> list[Curve]:
    """What there is of consolidation and shear.

    Args:
        subject: a test that was reduced.
        scale: for the units.
    """
    assert subject.found is not None
    stages, kind = subject.found.stages, subject.found.record.kind
    found: list[Curve] = []

    def add(
        name: str, x: Numbers, y: Numbers, of_x: tuple[str, str], of_y: tuple[str, str]
    ) -> None:
        points = thinned(x, y)
        if len(points[0]) > 1:
            given = (scale.of(points[0], of_x[1]), scale.of(points[1], of_y[1]))
            columns = scale.column(*of_x), scale.column(*of_y)
            found.append(Curve(subject.name, name, *columns, given))

    if stages.curve is not None:
        minutes, volume = stages.curve.times_min, stages.curve.volume_ml
        drained = ("volume change", "ml")
        add("root time", np.sqrt(minutes), volume, ("root of time", "√min"), drained)
        late = minutes > 0.0
        x, y = np.log10(minutes[late]), volume[late]
        places = _spread(x, y)
        if len(places) > 1:
            columns = scale.column("time", "min"), scale.column(*drained)
            points = minutes[late][places], scale.of(y[places], "ml")
            found.append(Curve(subject.name, "log time", *columns, points))
    if stages.sheared is not None:
        table = stages.sheared.table
        along = table.axial_strain, ("axial strain", "")
        add("deviator", along[0], table.deviator_kPa, along[1], ("deviator", "kPa"))
        if kind == "CU":
            add("pore pressure", along[0], table.excess_pore_kPa, along[1], ("excess pore", "kPa"))
        if kind == "CD":
            strain = table.volumetric_strain
            add("volume", along[0], strain, along[1], ("volumetric strain", ""))
        if kind != "UU":
            path = table.centre_effective_kPa, table.shear_stress_kPa
            add("stress path", *path, ("s′", "kPa"), ("t′", "kPa"))
    return found


def thinned(x: Numbers, y: Numbers) -> tuple[Numbers, Numbers]:
    """Points where both are known, at most `MOST`."""
    places = _spread(x, y)
    return x[places], y[places]


def _spread(x: Numbers, y: Numbers) -> Rows:
    """Rows evenly spread along a curve, by its length in a square frame."""
    known = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
    if len(known) <= MOST:
        return known
    wide, high = np.ptp(x[known]) or 1.0, np.ptp(y[known]) or 1.0
    step = np.hypot(np.diff(x[known]) / wide, np.diff(y[known]) / high)
    way = np.concatenate(([0.0], np.cumsum(step)))
    picked = np.searchsorted(way, np.linspace(0.0, way[-1], MOST))
    ends = np.array([0, len(known) - 1])
    kept: Rows = known[np.unique(np.concatenate((np.clip(picked, 0, len(known) - 1), ends)))]
    return kept


def curve_table(curves: Sequence[Curve]) -> Table:
    """Two columns a curve, in their order."""
    columns: list[Column] = []
    for curve in curves:
        for column in (curve.x, curve.y):
            named = f"{curve.test} · {column.header}"
            columns.append(Column(named, column.digits, max(12.0, 0.8 * len(named))))
    most = max((len(curve.points[0]) for curve in curves), default=0)
    rows: list[list[Cell]] = [
        [float(axis[row]) if row < len(axis) else None for curve in curves for axis in curve.points]
        for row in range(most)
    ]
    return Table(tuple(columns), rows)
