"""What the values of columns do in a test: who leads, who follows, which way water goes.

Every judgement rests on what happens in any triaxial cell, at any bench: cell pressure confines
the others; drainage closed, pore pressure answers to it and back pressure does not; water that
enters the specimen while cell pressure stands raises its pore pressure. Bounds are common
practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tui.feed.adopting.proposals import Sign
from tui.feed.rows import Column

_BLOCKS = 400
"""Rows are put together to so many means: between neighbours of a fast log there is only noise."""
MOSTLY = 0.9
"""Share of the time for which cell pressure leads."""
HEARS, DEAF = 0.2, 0.1
"""Answers to cell pressure above which one follows it, and below which it does not. [-]"""

_STANDS_KPA = 2.0
"""Cell pressure stands while it moves less than this."""
_STEP_KPA = 5.0
"""A move of cell pressure that others may answer to."""
_UNDER_PRESSURE_KPA = 20.0
_LEAST_ML = 0.1
"""Water that must have gone in or out to tell its direction."""
_LEAST_AGREEMENT = 0.6
"""Share of all water that must have moved the same way."""
_LEAST_INTERVALS = 5
_NOISE_KPA = 0.2
_SOON = 5
"""Readings after which pores have begun to answer to cell pressure."""


@dataclass(frozen=True, slots=True)
class Direction:
    """Which sign makes a gauge's readings positive as the contract wants them, and why."""

    sign: Sign
    why: str


def thinned(columns: Sequence[Column]) -> list[Column]:
    """Means of blocks of rows, alike for all columns. (n,) each → (≤ 400,) each"""
    count = len(columns[0]) if columns else 0
    size = max(1, count // _BLOCKS)
    whole = count // size * size
    found = []
    for column in columns:
        blocks = column[:whole].reshape(-1, size)
        good = np.isfinite(blocks)
        held = good.sum(axis=1)
        total = np.where(good, blocks, 0.0).sum(axis=1)
        found.append(np.where(held > 0, total / np.maximum(held, 1), np.nan))
    return found


def leads(column: Column, others: Sequence[Column]) -> float | None:
    """How often a pressure is the highest while any is under pressure. [share]

    Args:
        column: (n,) [kPa]
        others: (n,) each [kPa]

    Returns:
        None where nothing is under pressure, or there is no other.
    """
    if not others:
        return None
    highest = np.fmax.reduce([column, *others])
    told = np.isfinite(column) & (highest > _UNDER_PRESSURE_KPA)
    if told.sum() < 3:
        return None
    return float(np.mean(column[told] >= highest[told] - 1.0))


def answer(column: Column, cell: Column) -> float | None:
    """How much of a rise of cell pressure a pressure shows soon after: median ratio. [-]

    Returns:
        None where cell pressure made no two rises.
    """
    rises = np.flatnonzero(np.diff(cell) > _STEP_KPA)
    before = rises[rises + _SOON < len(cell)]
    d_cell = cell[before + _SOON] - cell[before]
    d_column = column[before + _SOON] - column[before]
    good = (d_cell > _STEP_KPA) & np.isfinite(d_column)
    if good.sum() < 2:
        return None
    return float(np.median(d_column[good] / d_cell[good]))


def _agreement(volume: Column, other: Column, where: NDArray[np.bool_]) -> float | None:
    """Water that moved along with another quantity, less what moved against it: -1 … 1.

    Returns:
        None where too little water moved to tell.
    """
    where = where & np.isfinite(volume) & np.isfinite(other)
    along = float((volume * np.sign(other))[where].sum())
    whole = float(np.abs(volume)[where].sum())
    if where.sum() < _LEAST_INTERVALS or abs(along) < _LEAST_ML:
        return None
    return along / whole if abs(along) > _LEAST_AGREEMENT * whole else None


def into_specimen(volume: Column, pore: Column, cell: Column | None) -> Direction | None:
    """The direction of the gauge in the specimen's line, from what pore pressure did meanwhile.

    Args:
        volume: (n,) as the gauge reads [ml]
        pore: (n,) pore pressure, or back pressure where none is measured [kPa]
        cell: (n,) [kPa]
    """
    d_pore = np.diff(pore)
    where = np.abs(d_pore) > _NOISE_KPA
    if cell is not None:
        where &= np.abs(np.diff(cell)) < _STANDS_KPA
    along = _agreement(np.diff(volume), d_pore, where)
    if along is None:
        return None
    if along > 0:
        return Direction(1, "it rises when water enters the specimen")
    return Direction(-1, "it falls when water enters the specimen, hence sign = -1")


def into_cell(volume: Column, inward: Column | None, cell: Column) -> Direction | None:
    """The direction of the gauge in the cell's line.

    Args:
        volume: (n,) as the gauge reads [ml]
        inward: (n,) water into the specimen, its sign known [ml]
        cell: (n,) [kPa]
    """
    d_cell = np.diff(cell)
    if inward is not None:
        # While pressure stands, a specimen that gives water off shrinks and the cell takes as much.
        outward = -np.diff(inward)
        along = _agreement(np.diff(volume), outward, np.abs(d_cell) < _STANDS_KPA)
        if along is not None and float(np.nansum(np.abs(outward))) > 10 * _LEAST_ML:
            if along > 0:
                return Direction(1, "it rises when water leaves the specimen")
            return Direction(-1, "it falls when water leaves the specimen, hence sign = -1")
    along = _agreement(np.diff(volume), d_cell, np.abs(d_cell) > _STEP_KPA)
    if along is None:
        return None
    if along > 0:
        return Direction(1, "it rises when the cell fills")
    return Direction(-1, "it falls when the cell fills, as a reservoir does: sign = -1")


def pressing(travel: Column, load: Column) -> tuple[Direction, Direction] | None:
    """The directions of displacement and load, from the stretch in which the ram moves.

    Args:
        travel: (n,) as the gauge reads [mm]
        load: (n,) as the cell reads [N]

    Returns:
        None unless the ram moved and was loaded.
    """
    good = np.isfinite(travel) & np.isfinite(load)
    travel, load = travel[good], load[good]
    if len(travel) < 8:
        return None
    away = np.abs(travel - travel[0])
    begin = int(np.argmax(away > 0.1)) if (away > 0.1).any() else None
    if begin is None or len(travel) - begin < 5:
        return None
    # The last reading before the ram moved: what the load was without it.
    base = load[max(begin - 1, 0)]
    peak = begin + int(np.argmax(np.abs(load[begin:] - base)))
    d_load = load[peak] - base
    d_travel = travel[peak] - travel[max(begin - 1, 0)]
    if abs(d_load) < 10.0 or abs(d_travel) < 0.1:
        return None
    return _pressed(float(d_travel)), _pressed(float(d_load))


def _pressed(change: float) -> Direction:
    if change > 0:
        return Direction(1, "it rises while the ram presses")
    return Direction(-1, "it falls while the ram presses, hence sign = -1")


def share_with(volume: Column, cell: Column) -> float:
    """How much of a volume's course happens while cell pressure moves. [share]"""
    d_volume, d_cell = np.abs(np.diff(volume)), np.abs(np.diff(cell))
    whole = float(np.nansum(d_volume))
    return float(np.nansum(d_volume[d_cell > _STEP_KPA])) / whole if whole > 0.0 else 0.0
