"""Ranges and strokes that suit a test, as a technician chooses them who knows what will come."""

import math
from dataclasses import replace

import numpy as np

from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import sense
from tui.rehearsed.dialects import LogColumn
from tui.rehearsed.log_text import raw_of
from tui.rehearsed.setup import CellSetup

MOST = 0.85
"""Of a range that a test may need: the alarms for its end begin at 0.9. [-]"""

_LADDER = (1.0, 1.5, 2.0, 2.5, 5.0, 7.5)
"""Ranges that are made, times a power of ten."""

_PRESSURES = ("cell_pressure", "back_pressure", "pore_pressure")

_COMPOUND = {"kPa": -100.0, "bar": -1.0, "psi": -15.0}
"""Where a transducer begins that also reads below the atmosphere, by unit."""


def with_fitting_gauges(setup: CellSetup, run: TestRun) -> CellSetup:
    """Larger ranges where those of the dialect are too small for the test; else the setup itself.

    Of several gauges of one channel the coarsest covers it all. A volume gauge is set to where
    its stroke suffices both ways.

    Args:
        setup: the cell.
        run: what will happen in it, undisturbed.
    """
    needs = _needs(setup, run)
    last = {column.channel: column for column in setup.dialect.columns}
    columns = tuple(
        _fitting(column, *needs[column.channel], covers=column is last[column.channel])
        for column in setup.dialect.columns
    )
    return replace(setup, dialect=replace(setup.dialect, columns=columns))


def _fitting(column: LogColumn, low: float, high: float, covers: bool) -> LogColumn:
    if column.stroke is not None:
        return _with_stroke(column, low, high)
    if column.range is not None and covers:
        return replace(column, range=_range(column, low, high))
    return column


def _needs(setup: CellSetup, run: TestRun) -> dict[str, tuple[float, float]]:
    """Least and greatest value of each channel, in internal units."""
    read = sense(run, run.trace.seconds, replace(setup.made, errors=0.0), 0.0)
    needs = {name: (float(np.min(v)), float(np.max(v))) for name, v in read.values.items()}
    plan = setup.plan
    if plan.kind != "UU":
        # The plan is judged by its limits: a transducer must bear what it allows.
        allowed = plan.back_limit_kPa + max(
            plan.effective_kPa, plan.excess_kPa + plan.cell_step_kPa
        )
        for name in _PRESSURES:
            needs[name] = needs[name][0], max(needs[name][1], allowed)
    return needs


def _raw_ends(column: LogColumn, low: float, high: float) -> tuple[float, float]:
    first, second = raw_of(column, np.array([low, high])).tolist()
    return min(first, second), max(first, second)


def _made_above(wanted: float) -> float:
    """The smallest range of the ladder that reaches so far."""
    ten = 10.0 ** math.floor(math.log10(wanted))
    return next((step * ten for step in _LADDER if step * ten >= wanted), 10.0 * ten)


def _range(column: LogColumn, low: float, high: float) -> tuple[float, float]:
    assert column.range is not None
    start, end = column.range
    least, greatest = _raw_ends(column, low, high)
    if least < start - 0.01 * (end - start) and column.channel in _PRESSURES:
        start = _COMPOUND[column.unit]
    if greatest > MOST * end:
        end = _made_above(greatest / MOST)
    return start, end


def _with_stroke(column: LogColumn, low: float, high: float) -> LogColumn:
    assert column.stroke is not None
    start, end = column.stroke
    least, greatest = _raw_ends(column, low, high)
    spare = 0.5 * (1.0 - MOST) * (end - start)
    if start + spare <= least and greatest <= end - spare:
        return column
    if greatest - least > MOST * (end - start):
        end = start + _made_above((greatest - least) / MOST)
    shift = round(0.5 * (start + end) - 0.5 * (least + greatest))
    return replace(column, zero=column.zero + shift, stroke=(start, end))
