"""What the feed hands on: batches of readings, live rows, and rows that could not be used."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tui.settings.problems import Problem

Column = NDArray[np.float64]


def extent(column: Column) -> tuple[float, float]:
    """Lowest and highest of a column that is not empty; NaN if one of its numbers is."""
    if len(column) == 1:  # what most looks find: no need to search it
        return float(column[0]), float(column[0])
    return float(column.min()), float(column.max())


@dataclass(frozen=True, slots=True)
class UnusedRow:
    """A row or one field of it that was not used. It is data, not an exception."""

    file: str
    """Path relative to the bench."""
    line: int
    """Line of the file, from 1."""
    reason: str
    """Why: "repeated", "unreadable time", "OVER", …"""
    field: str | None = None
    """The column, when the rest of the row was used."""
    time: float | None = None
    """Its own, or that of the last row above it in the file where it cannot be read; None where
    there is none. [s since the epoch]"""


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """A batch of readings in file order, in internal units (kPa, ml, mm, N, °C)."""

    times: Column
    """(n,) seconds since the epoch, UTC."""
    channels: dict[str, Column]
    """By channel name, (n,) each; NaN where there is no reading."""
    words: dict[str, tuple[str | None, ...]] = field(default_factory=dict)
    """`phase` and `drainage`, n each, as the log wrote them (phase after `[log] phases`)."""
    stamps: Column | None = None
    """(n,) as the logger stamped them, where its clock was not as it is since; else None. [s]"""

    def __len__(self) -> int:
        return len(self.times)


@dataclass(frozen=True, slots=True)
class LiveRow:
    """The newest row of a live file: feeds live values, takes no slot, enters no reduction."""

    time: float
    """Seconds since the epoch, UTC."""
    values: dict[str, float]
    """By channel name, internal units; absent where there is no reading."""


@dataclass(frozen=True, slots=True, eq=False)
class Arrivals:
    """What came from the files of one cell since the last look."""

    folder: str
    """The cell, by its folder relative to the bench."""
    rows: Rows | None = None
    """New readings, or None."""
    live: LiveRow | None = None
    """The live row if it changed, or None."""
    unused: tuple[UnusedRow, ...] = ()
    """Newly found rows and fields that could not be used."""
    problems: tuple[Problem, ...] | None = None
    """All problems that the feed of this cell has now; None when they have not changed."""
    restart: bool = False
    """The rows are all rows from the beginning: forget what came before."""
    more: bool = False
    """Whether more of what stands in the files by now comes behind."""
    counted_back_s: float = 0.0
    """How far some of the rows are counted back, because the clock was set back after them. [s]"""
    mark: bytes | None = None
    """State of the source behind all that it has handed on: what a checkpoint goes on from."""
