"""A bench of one scripted cell, and what it shows of given rows."""

from dataclasses import replace
from datetime import UTC
from pathlib import Path

from scripted import as_rows, settings

from tui.bench.advance import advance, empty_bench
from tui.bench.picture import Cell
from tui.bench.readings import Reading
from tui.feed.rows import Arrivals
from tui.settings.bench_toml import BenchToml
from tui.settings.cell_toml import CellToml
from tui.settings.places import Layout, Place


def layout(*places: Place) -> Layout:
    given_places = places or (Place("C1", "C1", Path("bench/C1"), settings()),)
    return Layout(Path("bench"), BenchToml.model_validate({}), UTC, given_places)


def arrived(rows: list[Reading], **more: object) -> Arrivals:
    return replace(Arrivals("C1", as_rows(rows)), **more)  # type: ignore[arg-type]


def shown(rows: list[Reading], now: float, cell: CellToml | None = None) -> Cell:
    places = (Place("C1", "C1", Path("bench/C1"), cell or settings()),)
    bench = empty_bench(layout(*places), now)
    return advance(bench, now=now, arrivals=[arrived(rows)]).cells[0]
