"""The bench on disk: which folders are cells, which hold logs but were not adopted."""

from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path

from tui.settings.bench_toml import BenchToml
from tui.settings.cell_toml import CellToml
from tui.settings.problems import Problem


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A cell's folder and what its settings say."""

    name: str
    """Of the cell: from its settings, else the folder's name."""
    folder: str
    """Relative to the bench, with forward slashes."""
    path: Path
    settings: CellToml | None
    """None when they could not be used; `problems` says why."""
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """A bench as it lies on disk at one moment."""

    root: Path
    bench: BenchToml
    zone: tzinfo
    """Of naive timestamps."""
    places: tuple[Place, ...]
    """Sorted by name the way people count: C2 before C10."""
    not_adopted: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_layout(root: Path) -> Layout:
    """Look at a bench folder: its settings, its cells (up to 3 folders deep), the rest."""
    raise NotImplementedError  # SETTINGS helper
