"""A scripted cell followed row by row, and the spells of one kind that it raises."""

from datetime import UTC

from scripted import Script, as_rows, settings, whole_test

from tui.bench.alarms.spells import Spell
from tui.bench.cell_fold import CellFold
from tui.bench.phases import Mark
from tui.bench.picture import Cell
from tui.bench.readings import Reading
from tui.feed.rows import Arrivals, LiveRow
from tui.settings.cell_toml import CellToml

SCHEDULED = settings(log={"rows": "scheduled"})


def followed(
    rows: list[Reading],
    now: float | None = None,
    cell: CellToml = SCHEDULED,
    *,
    marks: tuple[Mark, ...] = (),
    lives: tuple[LiveRow, ...] = (),
    every: int = 10_000,
) -> Cell:
    """The picture of these rows at a moment; taken in portions, with a look at each."""
    fold = CellFold("C1", "C1", cell, marks, UTC)
    for begin in range(0, len(rows), every):
        fold = fold.take(Arrivals("C1", as_rows(rows[begin : begin + every])))
        fold.picture(rows[min(begin + every, len(rows)) - 1].time, ())
    for live in lives:
        fold = fold.take(Arrivals("C1", live=live))
    return fold.picture(rows[-1].time if now is None else now, ())


def of(cell: Cell, kind: str) -> list[Spell]:
    """Its spells of a kind."""
    return [one for one in cell.spells if one.kind == kind]


def sheared(to_strain: float = 0.10, **more: float) -> Script:
    """A scripted test up to its shear."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.96)
    script.raise_back(60.0)
    script.check(0.97, 140.0, build_up=True)
    script.drain()
    script.shear(to_strain, **more)
    return script


__all__ = ["SCHEDULED", "Script", "followed", "of", "settings", "sheared", "whole_test"]
