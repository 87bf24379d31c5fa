"""Pressures that are let go end a shear; one reading of one gauge does not."""

import pytest
from told_alarms import followed, sheared

from tui.bench.picture import Cell
from tui.bench.readings import Reading

FALLS = 20
"""The reading that falls, counted from the last."""


def low(rows: list[Reading], channels: tuple[str, ...], by_kpa: float, count: int) -> Cell:
    """The picture as of the last of so many low readings in the midst of a shear."""
    changed = list(rows)
    first = len(rows) - FALLS
    for place in range(first, first + count):
        row = changed[place]
        fallen = {name: getattr(row, name) - by_kpa for name in channels}
        changed[place] = row._replace(**fallen)
    return followed(changed[: first + count])


@pytest.mark.parametrize("by_kpa", [30.0, 60.0, 150.0])
def test_one_reading_of_cell_pressure_ends_no_shear(by_kpa: float) -> None:
    cell = low(sheared().rows, ("cell_pressure",), by_kpa, 1)
    assert cell.phase is not None
    assert (cell.phase.name, cell.phase.step) == ("shear", "shear")


@pytest.mark.parametrize("by_kpa", [30.0, 60.0, 150.0])
def test_the_second_ends_it_with_the_first(by_kpa: float) -> None:
    rows = sheared().rows
    cell = low(rows, ("cell_pressure",), by_kpa, 2)
    assert cell.phase is not None
    assert (cell.phase.name, cell.phase.since) == ("ended", rows[-FALLS].time)


@pytest.mark.parametrize("other", ["pore_pressure", "back_pressure"])
def test_one_reading_is_enough_where_another_pressure_falls_with_it(other: str) -> None:
    rows = sheared().rows
    cell = low(rows, ("cell_pressure", other), 60.0, 1)
    assert cell.phase is not None
    assert (cell.phase.name, cell.phase.since) == ("ended", rows[-FALLS].time)


def test_a_row_without_cell_pressure_confirms_nothing() -> None:
    rows = sheared().rows
    first = len(rows) - FALLS
    rows[first] = rows[first]._replace(cell_pressure=rows[first].cell_pressure - 60.0)
    rows[first + 1] = rows[first + 1]._replace(cell_pressure=float("nan"))
    cell = followed(rows[: first + 2])
    assert cell.phase is not None
    assert cell.phase.name == "shear"


def test_back_pressure_that_falls_to_nothing_is_another_however_far_cell_pressure_fell() -> None:
    rows = sheared().rows
    first = len(rows) - FALLS
    rows[first] = rows[first]._replace(cell_pressure=0.0, back_pressure=0.0, pore_pressure=60.0)
    cell = followed(rows[: first + 1])
    assert cell.phase is not None
    assert cell.phase.name == "ended"
