"""One test as it is handed on: its settings, what was read, what it came to, what people said."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from reduce.errors import ReductionError
from reduce.reduction.whole import Reduction, reduce_test
from reduce.shearing.table import Shape
from tui.bench.one_test import OneTest, read_test
from tui.bench.reduction_json import reduction_json
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.settings.cell_toml import CellToml
from tui.settings.places import Layout, Place


@dataclass(frozen=True, slots=True)
class Asked:
    """Which test, and how it is to be reduced."""

    name: str
    """As the user called it: C4, or C4/T014."""
    layout: Layout
    """The bench."""
    place: Place
    """The cell with the settings of the test that is meant."""
    at: float | None = None
    """Rows whose own time is later are ignored, acts count by the time they hold. [s]"""
    shape: Shape = "cylinder"
    """Of the corrected area."""


@dataclass(frozen=True, slots=True, eq=False)
class Subject:
    """One test; whatever could not be had says why, so that the rest can still be handed on."""

    name: str
    """As the user called it: C4, or C4/T014."""
    layout: Layout
    place: Place
    test: OneTest | None
    """None when its settings or logs could not be read at all."""
    found: Reduction | None
    """None when nothing could be reduced of it."""
    results: Mapping[str, Any]
    """The numbers of `reduce --json`, unrounded, in SI; empty without `found`."""
    why: str | None
    """Why there is no test or no reduction."""
    entries: tuple[Entry, ...]
    """Of the journal about this cell and test, by the time they hold; none that was taken back."""

    @property
    def settings(self) -> CellToml | None:
        """Of the cell and the test."""
        return self.place.settings


def subject_of(asked: Asked) -> Subject:
    """Read and reduce one test, and gather what people said of it."""
    layout, place = asked.layout, asked.place
    test: OneTest | None = None
    found: Reduction | None = None
    why: str | None = None
    try:
        test = read_test(layout, place, asked.at)
        found = reduce_test(test.record, asked.shape)
    except (ReductionError, LookupError) as error:
        why = str(error)
    results = {} if found is None else reduction_json(found, layout.zone)
    entries = _entries(layout, place, asked.at)
    return Subject(asked.name, layout, place, test, found, results, why, entries)


def _entries(layout: Layout, place: Place, at: float | None) -> tuple[Entry, ...]:
    """What counts of the journal for this test; troubles of the journal are the test's problems."""
    journal = Journal.open(layout.root)
    entries = journal.entries(at)
    journal.close()
    test_id = None if place.settings is None else place.settings.test.id
    about = [
        one
        for one in entries
        if one.act.cell == place.folder
        and one.act.test in (None, test_id)
        and one.undone_by is None
    ]
    return tuple(sorted(about, key=lambda one: (one.act.held_at, one.number)))
