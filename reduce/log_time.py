"""Consolidation on the logarithm of time: Casagrande's t50.

Neither the pair of readings for the start, nor the tail, nor the tangent is taken for granted: all
that could have been chosen are tried, the middle answer counts, and the spread is its uncertainty.
"""

import math
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import Column
from reduce.consolidation_curve import ConsolidationCurve, consolidation_curve
from reduce.construction import Construction, Line, spread
from reduce.crossings import crossings
from reduce.drainage import cv_from_time, factor_for, slenderness_of
from reduce.early_line import STRAIGHT_TO, STRAIGHT_TO_RADIAL, straight_line, straight_lines
from reduce.errors import UntoldError

_ROUNDS = 6
TAIL_FROM = (0.99, 0.975, 0.95)
"""U by theory from which a tail may begin; a later one is taken only for want of readings. [-]"""
_TANGENT_DECADES = (0.3, 0.45, 0.6)
"""How long a part of log time a tangent rests on."""


@dataclass(frozen=True, slots=True)
class _Straight:
    """change = at + slope · log10 t through readings from `first` on."""

    at: float
    slope: float
    first: int = 0


@dataclass(frozen=True, slots=True)
class _Start:
    """d0 of one pair of times."""

    d0: float
    t1: float
    """The earlier of the pair. [min]"""


@dataclass(frozen=True, slots=True)
class _Choice:
    start: _Start
    tangent: _Straight
    tail: _Straight
    final: float
    t50: float
    t100: float


def _starts(curve: ConsolidationCurve, drainage: str, d0: float, d100: float) -> list[_Start]:
    """d0 by the parabola for pairs within the early part; those that cannot be are left out."""
    radial = "radial" in drainage
    first, last = curve.times[0], curve.times[-1] / 4.0
    if last <= first:
        return []
    t1 = np.geomspace(first, last, max(int(24 * np.log10(last / first)), 8))
    early, late = curve.at_root(np.sqrt(t1)), curve.at_root(2.0 * np.sqrt(t1))
    found = 2.0 * early - late
    share = (late - d0) / (d100 - d0)
    # It cannot lie before the zero reading, nor after the reading that it is worked out from.
    slack = min(curve.scatter, 0.01 * curve.reach)
    possible = (found >= curve.zero - slack) & (found < early)
    for low, high in (
        [(0.12, STRAIGHT_TO_RADIAL), (0.05, 0.4), (0.0, 0.6)]
        if radial
        else [(0.25, 0.5), (0.1, STRAIGHT_TO), (0.0, 0.75)]
    ):
        good = np.flatnonzero(possible & (share >= low) & (share <= high))
        if good.size:
            return [_Start(float(found[i]), float(t1[i])) for i in good]
    return []


def _tangents(curve: ConsolidationCurve) -> list[_Straight]:
    """The steepest line over each length of log time."""
    found, reading = [], np.arange(len(curve.times))
    first = reading[:-2]
    for decades in _TANGENT_DECADES:
        last = np.searchsorted(curve.log, curve.log[first] + decades)
        last = np.maximum(last, first + 2)
        within = (first[:, None] <= reading) & (reading <= last[:, None])
        at, slope = straight_lines(curve.log, curve.change, within)
        best = int(slope.argmax())
        found.append(_Straight(float(at[best]), float(slope[best]), best))
    return found


def _tails(
    curve: ConsolidationCurve, drainage: str, slenderness: float, t50: float, steepest: float
) -> list[_Straight]:
    """Straight lines through the last readings, where theory says primary is over."""
    f50 = factor_for(drainage, 0.5, slenderness)
    for degree in TAIL_FROM:
        begins = t50 * factor_for(drainage, degree, slenderness) / f50
        within = np.flatnonzero(curve.times >= begins)
        if len(within) < 2:
            continue
        # At least two readings, and half of the time there: the rest is the spread.
        fewest = max(2, min(3, len(within)))
        starts = within[: max(len(within) // 2, 1)]
        starts = starts[starts <= len(curve.times) - fewest]
        found = []
        for first in np.unique(np.linspace(0, len(starts) - 1, min(6, len(starts))).round()):
            at = int(starts[int(first)])
            level, slope = straight_line(curve.log[at:], curve.change[at:])
            if slope < 0:  # scatter: no specimen swells here
                level, slope = float(curve.change[at:].mean()), 0.0
            if slope < 0.5 * steepest:
                found.append(_Straight(level, slope, at))
        if found:
            return found
    return []


def _choices(
    curve: ConsolidationCurve,
    starts: list[_Start],
    tangents: list[_Straight],
    tails: list[_Straight],
) -> list[_Choice]:
    ends = []
    for tangent, tail in product(tangents, tails):
        if tail.slope >= 0.5 * tangent.slope:
            continue
        log100 = (tail.at - tangent.at) / (tangent.slope - tail.slope)
        if curve.log[0] < log100 < curve.log[-1]:
            ends.append((tangent, tail, tail.at + tail.slope * log100, 10.0**log100))
    pairs = [(start, end) for end in ends for start in starts if end[2] > start.d0]
    middles = np.array([(start.d0 + end[2]) / 2.0 for start, end in pairs])
    return [
        _Choice(start, tangent, tail, final, t50, t100)
        for (start, (tangent, tail, final, t100)), t50 in zip(
            pairs, _times_of(curve, middles).tolist(), strict=True
        )
        if math.isfinite(t50)
    ]


def _times_of(curve: ConsolidationCurve, changes: Column) -> Column:
    """(m,) when the curve passes each of (m,) changes; NaN where it never does. [min]"""
    roots = crossings(curve.root, changes[:, None] - curve.change, 0.15)
    return roots**2


def _middle(choices: list[_Choice]) -> _Choice:
    return sorted(choices, key=lambda choice: choice.t50)[(len(choices) - 1) // 2]


def _solve(
    curve: ConsolidationCurve, drainage: str, slenderness: float
) -> tuple[_Choice, list[_Choice]]:
    """Early part and tail depend on d0, d100 and t50, which follow from them: a few rounds."""
    tangents = _tangents(curve)
    d0, d100 = float(curve.change[0]), curve.end
    t50 = float(_times_of(curve, np.array([(d0 + d100) / 2.0]))[0])
    previous = math.inf
    for _ in range(_ROUNDS):
        starts = _starts(curve, drainage, d0, d100)
        if not starts:
            raise UntoldError(
                "no pair of readings at t and 4 t in the early part gives a start: each comes out "
                f"before the zero reading of {curve.zero:g}, or after the readings themselves"
            )
        if math.isnan(t50):
            raise UntoldError("the curve does not pass half of its change")
        tails = _tails(curve, drainage, slenderness, t50, max(line.slope for line in tangents))
        if not tails:
            raise UntoldError(
                "the readings end before the straight tail of secondary compression: by theory "
                f"primary lasts to about {_tail_time(drainage, slenderness, t50):.3g} min, the "
                f"last readings are at {curve.times[-2]:.3g} and {curve.times[-1]:.3g} min"
            )
        choices = _choices(curve, starts, tangents, tails)
        if not choices:
            raise UntoldError(
                "tangent and tail do not cross above the start: no end of primary consolidation"
            )
        best = _middle(choices)
        d0, d100, t50 = best.start.d0, best.final, best.t50
        if abs(best.t50 / previous - 1) < 1e-6:
            break
        previous = t50
    return best, choices


def _tail_time(drainage: str, slenderness: float, t50: float) -> float:
    share = factor_for(drainage, TAIL_FROM[-1], slenderness)
    return t50 * share / factor_for(drainage, 0.5, slenderness)


def _drawn(curve: ConsolidationCurve, best: _Choice) -> tuple[Line, ...]:
    begin, end = float(curve.log[0]), float(curve.log[-1])
    log50, log100 = float(np.log10(best.t50)), float(np.log10(best.t100))
    middle = (best.start.d0 + best.final) / 2.0
    foot = (best.start.d0 - best.tangent.at) / best.tangent.slope
    last = best.tail.at + best.tail.slope * end
    return (
        Line("0 %", "log time", ((begin, best.start.d0), (log50, best.start.d0))),
        Line("50 %", "log time", ((begin, middle), (log50, middle))),
        Line("100 %", "log time", ((begin, best.final), (end, best.final))),
        Line("steepest tangent", "log time", ((foot, best.start.d0), (log100, best.final))),
        Line("tail", "log time", ((log100, best.final), (end, last))),
    )


def casagrande(
    times_min: ArrayLike,
    change: ArrayLike,
    *,
    drainage: str,
    height_mm: float,
    diameter_mm: float,
) -> Construction:
    """t50 after Casagrande: half-way between a start by the parabola and the foot of the tail.

    d0 = d(t1) − [d(4 t1) − d(t1)];  d100 where the steepest tangent and the tail cross on log t;
    t50 at (d0 + d100)/2;  cv = F50 D² / t50, F50 from the exact series

    A pair t1, 4 t1 whose d0 lies before the zero reading is not used. The parabola holds as long as
    consolidation goes with √t: pairs reach to 50 % of it with drained ends, 25 % with a drained
    curved surface (more only where there are no earlier readings).

    Args:
        times_min: (n,) since drainage opened; 0 is the zero reading; rows with NaN are left
            out. [min]
        change: (n,) positive when the specimen shrinks. [ml or mm]
        drainage: one of `reduce.drainage.DRAINAGES`.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]

    Returns:
        d0, d100, t50, t100 and cv with their lines, or `why` not. This t100 is where tangent and
        tail cross, not that of the root-time construction.

    Raises:
        ReductionError: columns of unequal length, time that runs backwards, an unknown drainage or
            a dimension that is not above zero.

    Source:
        Casagrande & Fadum (1940), Notes on soil testing for engineering purposes; ASTM D2435,
        method A (both from memory).

    Example:
        >>> from reduce.drainage import degree
        >>> t = [0, 0.25, 0.5, 1, 2, 4, 8, 15, 30, 60, 120, 240, 480, 1440]
        >>> out = 4 * degree("both ends", [60 * m for m in t], cv_m2_year=30,
        ...                  height_mm=76, diameter_mm=38)
        >>> found = casagrande(t, out, drainage="both ends", height_mm=76, diameter_mm=38)
        >>> abs(found.cv_m2_per_year / 30 - 1) < 0.03
        True
    """
    method = "log time to t50, after Casagrande"
    slenderness = slenderness_of(drainage, height_mm, diameter_mm)
    try:
        curve = consolidation_curve(times_min, change)
        best, choices = _solve(curve, drainage, slenderness)
    except UntoldError as untold:
        return Construction(method, drainage, why=str(untold))
    pair = np.searchsorted(curve.times, [best.start.t1, 4.0 * best.start.t1])
    over = {
        "t50_min": spread([choice.t50 for choice in choices]),
        "cv_m2_per_year": spread([choice.t50 for choice in choices]),
        "t100_min": spread([choice.t100 for choice in choices]),
        "final_change": spread([choice.final for choice in choices]),
    }
    share = 100 * (curve.at_root(2 * np.sqrt(np.array([best.start.t1])))[0] - best.start.d0)
    share /= best.final - best.start.d0
    return Construction(
        method,
        drainage,
        start_change=best.start.d0,
        final_change=best.final,
        t50_min=best.t50,
        t100_min=best.t100,
        cv_m2_per_year=cv_from_time(
            drainage, 0.5, 60.0 * best.t50, height_mm=height_mm, diameter_mm=diameter_mm
        ),
        lines=_drawn(curve, best),
        first_index=curve.first_index[max(int(pair[0]) - 1, 0)],
        last_index=curve.last_index[min(int(pair[1]), len(curve.times) - 1)],
        relative_uncertainty={name: value for name, value in over.items() if value is not None},
        assumption=f"drainage: {drainage}; start from the pair {best.start.t1:.3g} and "
        f"{4 * best.start.t1:.3g} min, which reaches to {share:.0f} % of consolidation; tail from "
        f"{curve.times[best.tail.first]:.3g} min",
    )
