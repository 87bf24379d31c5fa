"""What a column of readings tells about its gauge: the step it is written in, and its noise.

Both are looked for in a part of a long column: in `BLOCKS` stretches spread over it.
"""

import numpy as np
from numpy.typing import NDArray

from reduce.columns import Column
from reduce.errors import ReductionError

BLOCKS, BLOCK_ROWS = 16, 512
"""Stretches of a long column that are looked at, and readings of each."""
FUZZ = 1e-9
"""Differences below this share of the greatest reading are rounding. [-]"""
FINEST = 50.0 * FUZZ
"""A step finer than this share of the greatest reading is none. [-]"""
LEAST_STEPS = 32
"""A column that spans fewer of its steps may move by set points."""
LEAST_MOVES = 3
"""Moves by one step both up and down that show that it is the gauge's."""
LEAST_TRIPLES = 10
"""Fewer neighbourhoods tell no noise."""
CHANGES_SIDE = 0.5
"""Noise changes side more often than this from reading to reading: 0.73 if white. [-]"""
STRETCH = 24
"""Readings of a stretch that is looked at where a whole block bends."""
WITHIN_ONE_SIGMA = 0.6827
"""Of normal deviations. [-]"""
OF_THREE_SIGMAS = 0.98658
"""Standard deviation of a normal quantity cut off at three of its own. [-]"""


def resolution_of(column: Column) -> float | None:
    """The step in which a column is written: the greatest that all its readings are steps of.

    The step is told where the column spans many of them, or moves by one step up and down again.
    Else it may be that of a set point. Readings that have all moved by the same multiple of the
    gauge's step show that multiple.

    Args:
        column: (n,) readings in the order of time; NaN is passed over.

    Returns:
        The step, in the column's unit; None where it cannot be told: too few different readings,
        or readings on no step coarser than their digits.

    Source:
        The common divisor of differences, by Euclid.

    Example:
        >>> round(resolution_of(np.round(300.0 + np.sin(np.arange(500.0)), 2)), 9)
        0.01
    """
    blocks = _blocks(np.flatnonzero(np.isfinite(column)))
    if not blocks:
        return None
    values = np.unique(np.concatenate([column[rows] for rows in blocks]))
    greatest = max(abs(float(values[0])), abs(float(values[-1])))
    fuzz = FUZZ * greatest
    gaps = np.diff(values)
    gaps = gaps[gaps > fuzz]
    step = _common_step(gaps, fuzz) if len(gaps) else None
    if step is None or step < FINEST * greatest:
        return None
    if len(gaps) > 3 and values[-1] - values[0] > (LEAST_STEPS - 0.5) * step:
        return step
    moves = np.concatenate([np.diff(column[rows]) for rows in blocks])
    ups, downs = (int(np.sum(np.abs(moves - way * step) < 0.5 * step)) for way in (1.0, -1.0))
    return step if min(ups, downs) >= LEAST_MOVES else None


def noise_of(times_s: Column, column: Column) -> float | None:
    """Standard deviation of one reading about the smooth course of its column.

    Each reading is compared with the straight line between its two neighbours, so that no slow
    trend counts; deviations beyond three times what holds 68 % of them are left out, so that no
    step does. A course that bends goes on bending the same way, noise changes side: a block
    that does not change side tells no noise. Where none does, as with pore pressure that settles
    after every step, its short stretches are asked, which rest in between. Noise of the last digit
    is contained.

    Args:
        times_s: (n,) not falling. [s]
        column: (n,) readings; NaN is passed over.

    Returns:
        In the column's unit; 0 where most readings lie on the lines; None where it cannot be
        told: too few readings, or a course that bends more than it is noisy.

    Raises:
        ReductionError: columns of different length.

    Source:
        Second differences, after von Neumann et al. (1941), The mean square successive
        difference, Ann. Math. Statist. 12(2), 153-162 (from memory); the limits are common
        practice, no source.

    Example:
        >>> times = np.arange(5000.0)
        >>> read = 300.0 + 0.01 * times + np.random.default_rng(1).normal(0.0, 0.2, 5000)
        >>> round(noise_of(times, read), 1)
        0.2
    """
    if times_s.shape != column.shape:
        raise ReductionError(
            f"{len(times_s)} times and {len(column)} readings; each reading needs both"
        )
    known = np.flatnonzero(np.isfinite(column) & np.isfinite(times_s))
    deviations = [_off_neighbours(times_s[rows], column[rows]) for rows in _blocks(known)]
    told = [block for block in deviations if _changes_side(block)] or _restless(deviations)
    found = np.abs(np.concatenate(told)) if told else np.empty(0)
    if len(found) < LEAST_TRIPLES:
        return None
    spread = float(np.quantile(found, WITHIN_ONE_SIGMA))
    if spread == 0.0:
        return 0.0
    kept = found[found <= 3.0 * spread]
    return float(np.sqrt(np.mean(kept**2))) / OF_THREE_SIGMAS


def _blocks(known: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Rows to look at: all of a short column, stretches of a long one."""
    if len(known) <= BLOCKS * BLOCK_ROWS:
        return [known[i : i + BLOCK_ROWS] for i in range(0, len(known), BLOCK_ROWS)]
    starts = np.linspace(0, len(known) - BLOCK_ROWS, BLOCKS).astype(np.intp)
    return [known[start : start + BLOCK_ROWS] for start in starts]


def _common_step(gaps: Column, fuzz: float) -> float | None:
    step = float(gaps.min())
    while step > fuzz:
        counts = np.round(gaps / step)
        rest = np.abs(gaps - counts * step)
        beyond = rest[rest > fuzz]
        if len(beyond) == 0:
            # All gaps together know the step better than the smallest
            return float(gaps.sum() / counts.sum())
        step = float(beyond.min())
    return None


def _off_neighbours(times: Column, values: Column) -> Column:
    """How far each reading lies off the line between its neighbours, as one reading's error."""
    span = times[2:] - times[:-2]
    usable = (span > 0.0) & (times[1:-1] >= times[:-2]) & (times[2:] >= times[1:-1])
    share = (times[1:-1][usable] - times[:-2][usable]) / span[usable]
    line = values[:-2][usable] + share * (values[2:] - values[:-2])[usable]
    off: Column = (values[1:-1][usable] - line) / np.sqrt(1.0 + share**2 + (1.0 - share) ** 2)
    off[np.abs(off) <= FUZZ * np.abs(values).max(initial=0.0)] = 0.0
    return off


def _restless(blocks: list[Column]) -> list[Column]:
    """Short stretches that change side: what lies on lines there says nothing of the rest."""
    cut = [block[i : i + STRETCH] for block in blocks for i in range(0, len(block), STRETCH)]
    moving = [stretch for stretch in cut if np.count_nonzero(stretch) >= LEAST_TRIPLES]
    return [stretch for stretch in moving if _changes_side(stretch)]


def _changes_side(deviations: Column) -> bool:
    sides = np.sign(deviations[deviations != 0.0])
    if len(sides) < LEAST_TRIPLES:
        # Few readings moved at all: the rest lies on lines
        return len(deviations) > 2 * len(sides)
    return bool(np.mean(sides[1:] != sides[:-1]) > CHANGES_SIDE)
