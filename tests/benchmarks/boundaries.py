"""How many boundaries of drawn tests are told within two readings or two minutes.

Long form: `python tests/benchmarks boundaries` takes the seeds that nothing was built on; in
`tests/campaign/test_boundaries.py` stands the short one. Nothing is a ratio here.
"""

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing import Pool
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "campaign"))

from boundary_grades import Graded, tallies
from drawn import draw
from replayed import rows_of, settings_of
from told import APART, SETS, Moved, grades, told

SEEDS = range(20_000, 20_240)
UNSEEN = range(20_000, 20_080)
PROCESSES = 2
LONGEST = 300_000
"""Rows of the longest test that is followed: of a very slow one at ten seconds there are more."""


@dataclass(frozen=True)
class Followed:
    """One test followed with each set of channels."""

    rows: str
    """Scheduled or steady."""
    noise: float
    """Of the instruments, over the usual. [-]"""
    found: dict[str, list[Graded]]
    moved: tuple[Moved, ...]
    """By single rows, with all channels."""


def follow(asked: tuple[int, bool]) -> Followed | None:
    """A test by its seed; None: it is too long."""
    seed, unseen = asked
    case = draw(seed, unseen=unseen)
    rows = rows_of(case)
    if len(rows) > LONGEST:
        return None
    return Followed(
        "scheduled rows" if case.every_s is None else "steady rows",
        case.made.errors,
        {name: grades(case, without, rows) for name, without in {**SETS, **APART}.items()},
        told(rows, settings_of(case)).moved,
    )


def table(name: str, found: list[Graded]) -> Iterator[str]:
    """A line for each kind of boundary."""
    for one in tallies(found):
        late = np.percentile(one.late_s, (5, 50, 95)) if one.late_s else (np.nan,) * 3
        yield (
            f"{name:<26} {one.kind:<14} {one.within:5d} of {one.number:5d}  {one.share:7.2%}   "
            f"not found {one.missed:3d}   false {one.false:3d}   "
            f"late {late[0]:7.0f} {late[1]:5.0f} {late[2]:7.0f} s"
        )


def how_far_back(followed: list[Followed]) -> Iterator[str]:
    """How long a boundary may still move or be set, by what begins."""
    by_kind: dict[str, list[float]] = defaultdict(list)
    for one in followed:
        for moved in one.moved:
            by_kind[moved.kind].append(moved.back_s)
    for kind, back in by_kind.items():
        parts = np.percentile(back, (50, 95, 99))
        yield (
            f"set back: {kind:<12} {len(back):5d} times   half within {parts[0]:6.0f} s, 95 % "
            f"{parts[1]:7.0f} s, 99 % {parts[2]:7.0f} s, farthest {max(back):8.0f} s"
        )


def measure() -> Iterator[str]:
    """Seeds that nothing was built on; then soils and faults that were never looked at."""
    with Pool(PROCESSES) as pool:
        for title, unseen, seeds in (("seen soils", False, SEEDS), ("unseen soils", True, UNSEEN)):
            asked = [(seed, unseen) for seed in seeds]
            every = pool.map(follow, asked, chunksize=4)
            followed = [one for one in every if one is not None]
            left_out = len(every) - len(followed)
            yield f"— {title}: {len(followed)} tests, {left_out} left out as too long"
            for name in {**SETS, **APART}:
                yield from table(name, [g for one in followed for g in one.found[name]])
            for part in sorted({one.rows for one in followed}):
                mine = [one for one in followed if one.rows == part]
                yield from table(part, [g for one in mine for g in one.found["all channels"]])
            for noise in sorted({one.noise for one in followed}):
                mine = [one for one in followed if one.noise == noise]
                yield from table(
                    f"noise × {noise:g}", [g for one in mine for g in one.found["all channels"]]
                )
            yield from how_far_back(followed)
