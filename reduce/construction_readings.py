"""Which readings a construction on a consolidation curve has, and which it still needs, and when.

The forecast says how fast the specimen drains; theory then says when each part of the curve that
a construction rests on begins and ends. What is wanted there follows from the constructions
themselves (`root_time`, `log_time`): where they refuse, or begin to shift, readings are wanted.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import Column
from reduce.consolidation_curve import FEWEST
from reduce.drainage import factor_for, slenderness_of
from reduce.early_line import FEWEST_ON_LINE, STRAIGHT_TO_RADIAL
from reduce.errors import require_positive
from reduce.log_time import TAIL_FROM

Wanted = Literal["root time to t90", "root time to t100", "log time"]
Kind = Literal["early line", "parabola", "middle", "t90", "end", "tail"]
Standing = Literal["covered", "to come", "missed"]

FARTHEST = 2.6
"""Readings farther apart in time than this leave a hole: the doubling times of the standards pass,
times threefold shift t90 by up to 6 % (measured). Common practice, no source. [-]"""
_EARLY_TO, _EARLY_TO_RADIAL = 0.5, 0.45
"""Of U: early lines reach to 0.6 and 0.5, of a change that at first is taken too small. [-]"""
_LEVELLED = 0.975
"""Of U: from here on t100 to the last reading comes out at most 5 % short (U²). [-]"""
_TAIL_LASTS = 2.0
"""A tail is read from U = 0.99 to this many times as late: half a log cycle after primary, where
t50 comes within 3 %. Common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the curve that a construction rests on, with the readings it has there."""

    kind: Kind
    """"parabola" is the pairs at t and 4 t, "middle" from there past the steepest tangent, "t90"
    both sides of it, "end" the final change that an early line is drawn to."""
    begin_min: float
    """Since drainage opened, by the even bet. [min]"""
    until_min: float
    """Readings are wanted until here. [min]"""
    latest_min: float
    """The same for the slowest drainage that the forecast holds likely. [min]"""
    have: int
    """Readings that count, at most `wanted`; the fewest over what the forecast holds likely."""
    wanted: int
    standing: Standing
    """Missed: its time is over whatever the forecast holds likely, and readings lack."""


@dataclass(frozen=True, slots=True)
class _Found:
    begin: float
    until: float
    lacking: int
    wanted: int
    over: bool
    """Whether what lacks cannot be read any more."""


def construction_readings(
    construction: Wanted,
    times_min: ArrayLike,
    *,
    t50_min: float,
    drainage: str,
    height_mm: float,
    diameter_mm: float,
    t50_range_min: tuple[float, float] | None = None,
) -> tuple[Part, ...]:
    """The parts of the curve that a construction rests on, in the order of time.

    Root time: three readings on the early line, which is drawn to U = 0.5 (0.45 with a drained
    side), the first in a quarter of its time. To t90: no hole between t50 and t90, two readings
    beyond t90, one of them beyond t95. To t100: two beyond t95, one of them beyond U = 0.975.
    Log time: three readings for pairs at t and 4 t, within U = 0.5, or 0.25 with a drained side; no
    hole from there to t95; two beyond t99, one of them at twice t99.

    Args:
        construction: the one that is wanted.
        times_min: (n,) of the readings since drainage opened, in any order; those at or before 0
            and NaN are left out. [min]
        t50_min: as forecast. [min]
        drainage: one of `reduce.drainage.DRAINAGES`.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]
        t50_range_min: within it as far as is known; a part counts as covered, or as missed, only
            if it is so throughout. [min]

    Returns:
        The parts with what they have and want.

    Raises:
        ReductionError: an unknown drainage, or a time or dimension that is not above zero.

    Source:
        Common practice, no source; tried against the constructions on the exact series in
        tests/reduce/test_construction_readings.py.

    Example:
        >>> cell = {"drainage": "both ends", "height_mm": 76.0, "diameter_mm": 38.0}
        >>> parts = construction_readings("log time", [1, 2, 4, 8, 15, 30, 64], t50_min=28, **cell)
        >>> [(part.kind, part.have, part.wanted, part.standing) for part in parts]
        [('parabola', 3, 3, 'covered'), ('middle', 1, 2, 'to come'), ('tail', 0, 2, 'to come')]
        >>> round(parts[-1].until_min)
        507
    """
    require_positive("t50", t50_min, "min")
    slenderness = slenderness_of(drainage, height_mm, diameter_mm)
    times = np.asarray(times_min, dtype=np.float64)
    times = np.sort(times[times > 0.0])
    half = factor_for(drainage, 0.5, slenderness)

    def at(t50: float, degree: float) -> float:
        return t50 * factor_for(drainage, degree, slenderness) / half

    radial = "radial" in drainage
    paces = (t50_min, *(t50_range_min or ()))
    judged = [_judge(construction, times, partial(at, t50), radial) for t50 in paces]
    return tuple(_part(kind, [found[kind] for found in judged]) for kind in judged[0])


def _judge(
    construction: Wanted, times: Column, at: Callable[[float], float], radial: bool
) -> dict[Kind, _Found]:
    """The parts for one pace; `at` gives the time of a degree of consolidation."""
    if construction == "log time":
        pairs_to = STRAIGHT_TO_RADIAL if radial else _EARLY_TO
        tail = at(TAIL_FROM[0])
        return {
            "parabola": _early(times, at(pairs_to)),
            "middle": _without_hole(times, at(pairs_to), at(0.95)),
            "tail": _beyond(times, tail, _TAIL_LASTS * tail),
        }
    found: dict[Kind, _Found] = {
        "early line": _early(times, at(_EARLY_TO_RADIAL if radial else _EARLY_TO))
    }
    if construction == "root time to t100":
        return found | {"end": _beyond(times, at(0.95), at(_LEVELLED))}
    around, after = _without_hole(times, at(0.5), at(0.9)), _beyond(times, at(0.9), at(0.95))
    both = _Found(
        around.begin,
        after.until,
        around.lacking + after.lacking,
        around.wanted + after.wanted,
        around.over,
    )
    return found | {"t90": both}


def _early(times: Column, until: float) -> _Found:
    """Readings on the first part, which is straight on √t: one in its first half, two after."""
    before = int(np.searchsorted(times, until / 4.0, side="right"))
    after = int(np.searchsorted(times, until, side="right")) - before
    have = min(before, 1) + min(after, FEWEST_ON_LINE - 1)
    over = len(times) > 0 and times[-1] > (until if before else until / 4.0)
    return _Found(0.0, until, FEWEST_ON_LINE - have, FEWEST_ON_LINE, bool(over))


def _without_hole(times: Column, begin: float, until: float) -> _Found:
    """Readings that are nowhere farther apart than `FARTHEST` between two moments."""
    first = max(int(np.searchsorted(times, begin, side="right")) - 1, 0)
    last = int(np.searchsorted(times, until)) + 1
    known = times[first:last]
    holes = np.diff(np.log(known)) / math.log(FARTHEST)
    passed = int(np.maximum(np.ceil(holes - 1e-9) - 1, 0).sum())
    newest = max(float(known[-1]), begin) if len(known) else begin
    ahead = max(math.ceil(math.log(until / newest) / math.log(FARTHEST)), 0)
    wanted = math.ceil(math.log(until / begin) / math.log(FARTHEST))
    return _Found(begin, until, min(passed + ahead, wanted), wanted, passed > 0)


def _beyond(times: Column, begin: float, until: float) -> _Found:
    """Two readings after a moment, one of them after another; they can always still be taken."""
    have = min(len(times) - int(np.searchsorted(times, begin)), 2)
    if len(times) < FEWEST or times[-1] < until:
        have = min(have, 1)
    return _Found(begin, until, 2 - have, 2, over=False)


def _part(kind: Kind, found: list[_Found]) -> Part:
    """What holds at every pace; begin and end are those of the first."""
    even = found[0]
    standing: Standing = "to come"
    if all(one.lacking == 0 for one in found):
        standing = "covered"
    elif all(one.over and one.lacking for one in found):
        standing = "missed"
    return Part(
        kind,
        even.begin,
        even.until,
        max(one.until for one in found),
        even.wanted - max(one.lacking for one in found),
        even.wanted,
        standing,
    )
