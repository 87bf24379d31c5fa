"""The phases of a drawn test told row by row, and how far back each row still moved them."""

from dataclasses import dataclass

from boundary_grades import Graded, found_boundaries, graded, true_boundaries
from drawn import Case
from replayed import rows_of, settings_of

from tui.bench.aims import aims_of
from tui.bench.picture import PhaseSpan
from tui.bench.readings import each
from tui.bench.rebasing import Rebasing
from tui.bench.telling import Telling
from tui.feed.rows import Rows
from tui.settings.cell_toml import CellToml

SETS: dict[str, tuple[str, ...]] = {
    "all channels": (),
    "no axial": ("axial_displacement", "axial_load"),
    "no back volume": ("back_volume",),
    "no cell volume": ("cell_volume",),
    "no volumes": ("back_volume", "cell_volume"),
}
"""What a cell lacks."""
APART: dict[str, tuple[str, ...]] = {
    "no axial, no cell volume": ("axial_displacement", "axial_load", "cell_volume"),
    "pressures only": ("axial_displacement", "axial_load", "cell_volume", "back_volume"),
}
"""Cells in which nothing shows the ram: graded apart."""


@dataclass(frozen=True)
class Moved:
    """A row that changed what had been told."""

    kind: str
    """What stands there now."""
    back_s: float
    """From the row back to the first thing that it changed. [s]"""
    back_rows: int


@dataclass(frozen=True)
class Told:
    """A test followed to its end."""

    spans: tuple[PhaseSpan, ...]
    moved: tuple[Moved, ...]


def told(rows: Rows, settings: CellToml, without: tuple[str, ...] = ()) -> Told:
    """Follow the rows of a cell without some channels, one by one."""
    kept = {name: column for name, column in rows.channels.items() if name not in without}
    rows, _ = Rebasing(settings, ()).take(Rows(rows.times, kept))
    telling = Telling(aims_of(settings), ())
    before, moved = (), []
    for number, (reading, jumped) in enumerate(
        zip(each(rows), telling.jumps_in(rows), strict=True)
    ):
        telling.add(reading, may_be_spike=jumped)
        spans = telling.phases.told.spans
        if spans is not before and spans != before:
            same = sum(1 for old, new in zip(before, spans, strict=False) if old == new)
            changed = [*before[same : same + 1], *spans[same : same + 1]]
            since = min(span.start for span in changed)
            kind = changed[-1].step if changed[-1].step else changed[-1].name
            if (changed[-1].name, changed[-1].step) == ("shear", "shear"):
                kind = "sheared"
            back = number - int(rows.times.searchsorted(since))
            moved.append(Moved(kind, reading.time - since, back))
            before = spans
    return Told(telling.phases.spans, tuple(moved))


def grades(case: Case, without: tuple[str, ...] = (), rows: Rows | None = None) -> list[Graded]:
    """The boundaries of a test as a cell without some channels tells them."""
    rows = rows_of(case) if rows is None else rows
    spans = told(rows, settings_of(case), without).spans
    return graded(true_boundaries(case, rows.times, without), found_boundaries(spans), rows.times)
