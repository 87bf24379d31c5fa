"""Phase and step boundaries graded: every true one found or not, how late, and those that are none.

Pure: true spans and found spans in, numbers out. A found boundary belongs to a true one of its kind
if it lies between the true boundaries before and after it; what belongs to none is false.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from drawn import Case
from numpy.typing import NDArray

from tui.bench.picture import PhaseSpan

NEAR_S, NEAR_ROWS = 120.0, 2
"""A boundary this near, whichever is longer, is found."""
PHASES = ("saturation", "consolidation", "shear", "ended")
STEPS = ("raise", "b-check", "drained", "sheared")
"""That pressures, volume or the ram can show; `sheared` is the step shear, after the dock."""
KINDS = (*PHASES, *STEPS, "hold")
"""Each kind is named for what begins; `hold` shows in no pressure and is graded apart."""
AXIAL = ("axial_displacement", "axial_load")


@dataclass(frozen=True)
class Boundary:
    """One that was, with the moments that are right for it."""

    kind: str
    at: tuple[float, ...]
    """Times of the first reading that belongs to it; more where more than one is right. [s]"""


@dataclass(frozen=True)
class Graded:
    """A true boundary and what was made of it; or a found one that is none."""

    kind: str
    true: float | None
    """None: there was none. [s]"""
    found: float | None
    """None: it was not found. [s]"""
    late_rows: int = 0

    @property
    def late_s(self) -> float:
        """How late it was set, negative: early; for one that was found. [s]"""
        assert self.true is not None
        assert self.found is not None
        return self.found - self.true

    @property
    def within(self) -> bool:
        """Whether it was found within two readings or two minutes."""
        if self.true is None or self.found is None:
            return False
        return abs(self.late_s) <= NEAR_S or abs(self.late_rows) <= NEAR_ROWS


def true_boundaries(case: Case, times: NDArray, without: Sequence[str] = ()) -> list[Boundary]:
    """What really began, and when.

    Args:
        case: the test.
        times: of its readings. (n,) [s]
        without: channels that its cell does not have. Without displacement the approach of the
            ram shows in nothing that is sure to be measured, nor does its stop: shear may begin
            with the first load, and the test may end when the pressures are let go.
    """
    stamps = times.tolist()

    def first_after(second: float) -> float:
        at = bisect_left(stamps, case.started + second + 1e-6)
        return stamps[min(at, len(stamps) - 1)]

    steps = case.run.steps
    begins = {(step.phase, step.step): first_after(step.act_s) for step in reversed(steps)}
    blind = AXIAL[0] in without
    right = {
        "saturation": (begins["saturation", "raise"],),
        # As the contract has it: the loading, or the opening of drainage.
        "consolidation": (begins["consolidation", "build-up"], begins["consolidation", "drained"]),
        "shear": (begins["shear", "dock"], *((begins["shear", "shear"],) if blind else ())),
        "ended": (
            begins["ended", ""],
            *((first_after(case.run.end_s - 1800.0),) if blind else ()),
        ),
    }
    found = [Boundary(phase, at) for phase, at in right.items()]
    for number, step in enumerate(steps):
        kind = _kind(step.phase, step.step)
        # Of a phase that begins with a raise the raise is no boundary of its own.
        if kind is not None and not (kind == "raise" and steps[number - 1].phase == "setup"):
            found.append(Boundary(kind, (first_after(step.act_s),)))
    return sorted(found, key=lambda one: one.at)


def found_boundaries(spans: Iterable[PhaseSpan]) -> list[tuple[str, float]]:
    """Kind and time of what was found."""
    found, before = [], None
    for span in spans:
        if before is not None and span.name != before:
            found.append((span.name, span.start))
        kind = _kind(span.name, span.step or "")
        if kind is not None and not (kind == "raise" and before != "saturation"):
            found.append((kind, span.start))
        before = span.name
    return found


def _kind(phase: str, step: str) -> str | None:
    """What a step is graded as; None: not at all."""
    if phase == "saturation" and step in ("raise", "b-check", "hold"):
        return step
    if (phase, step) == ("consolidation", "drained"):
        return "drained"
    return "sheared" if (phase, step) == ("shear", "shear") else None


def graded(true: list[Boundary], found: list[tuple[str, float]], times: NDArray) -> list[Graded]:
    """Every true boundary with the nearest found one of its kind, then the false ones."""
    stamps = times.tolist()
    moments = sorted({moment for one in true for moment in one.at})
    neighbours = {at: (before, after) for before, at, after in _with_neighbours(moments)}
    pairs = sorted(
        (abs(moment - at), number, index, at)
        for number, one in enumerate(true)
        for at in one.at
        for index, (kind, moment) in enumerate(found)
        if kind == one.kind and neighbours[at][0] <= moment <= neighbours[at][1]
    )
    matched: dict[int, tuple[int, float]] = {}
    for _, number, index, at in pairs:
        if number not in matched and all(index != other for other, _ in matched.values()):
            matched[number] = (index, at)
    results = []
    for number, one in enumerate(true):
        if number not in matched:
            results.append(Graded(one.kind, one.at[0], None))
            continue
        index, at = matched[number]
        moment = found[index][1]
        rows = bisect_left(stamps, moment) - bisect_left(stamps, at)
        results.append(Graded(one.kind, at, moment, rows))
    used = {index for index, _ in matched.values()}
    loaded = [at for one in true if one.kind == "consolidation" for at in one.at]
    for index, (kind, moment) in enumerate(found):
        # The loading gives a check as well: taken for one of saturation it is not false.
        is_loading = kind == "b-check" and any(abs(moment - at) <= NEAR_S for at in loaded)
        if index not in used and not is_loading:
            results.append(Graded(kind, None, moment))
    return results


def _with_neighbours(moments: list[float]) -> list[tuple[float, float, float]]:
    framed = [-inf, *moments, inf]
    return [(a, b, c) for (a, b), (_, c) in pairwise(pairwise(framed))]


@dataclass(frozen=True)
class Tally:
    """What many boundaries of one kind came to."""

    kind: str
    number: int
    within: int
    missed: int
    false: int
    late_s: tuple[float, ...]
    """Of those that were found. [s]"""

    @property
    def share(self) -> float:
        """Of those that were, how many were found where they were. [-]"""
        return self.within / self.number if self.number else 1.0


def tallies(found: Iterable[Graded]) -> list[Tally]:
    """A tally for each kind that was or was found."""
    every = list(found)
    lines = []
    for kind in KINDS:
        mine = [one for one in every if one.kind == kind]
        true = [one for one in mine if one.true is not None]
        lines.append(
            Tally(
                kind,
                len(true),
                sum(one.within for one in true),
                sum(one.found is None for one in true),
                len(mine) - len(true),
                tuple(one.late_s for one in true if one.found is not None),
            )
        )
    return [line for line in lines if line.number or line.false]
