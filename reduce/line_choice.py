"""Which early line counts: the middle answer of all that could have been drawn.

Where the early part ends depends on d0 and d100, which follow from the line: a few rounds settle
it. The spread of the answers of the other lines is the uncertainty of the choice.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from reduce.columns import Column
from reduce.consolidation_curve import ConsolidationCurve
from reduce.construction import Line, spread
from reduce.early_line import EarlyLine, EarlyLines, SeriesLine, SeriesLines, early_lines
from reduce.errors import UntoldError

_ROUNDS = 6


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer of one early line."""

    line: EarlyLine
    start: float
    """d0. [as given]"""
    final: float
    """d100. [as given]"""
    minutes: float
    """t90 or t100. [min]"""
    theory: SeriesLine | None
    """None where the rule for drained ends holds."""


def choices_of(
    lines: EarlyLines,
    start: Column,
    final: Column,
    minutes: Column,
    theory: SeriesLines | None,
) -> list[Choice]:
    """The answers of those lines that have one, with d100 above d0.

    Args:
        lines: m of them.
        start, final, minutes, theory: (m,) as `Choice`; NaN of a line without an answer.
    """
    return [
        Choice(
            lines.line(row), float(start[row]), float(final[row]), float(minutes[row]),
            theory.line(row) if theory else None,
        )
        for row in np.flatnonzero((final > start) & np.isfinite(minutes)).tolist()
    ]  # fmt: skip


def in_turns(
    guess: Column, answer: Callable[[Column], tuple[Column, SeriesLines]]
) -> tuple[Column, SeriesLines]:
    """Times, and the lines of theory for them, which want these times: a few rounds settle it.

    Args:
        guess: (m,) a first time for each line. [min]
        answer: from such times to better ones, and the lines of theory on the way. A line whose
            time no longer changes is asked again with the same.
    """
    for _ in range(_ROUNDS):
        minutes, theory = answer(guess)
        moving = np.abs(minutes / guess - 1.0) >= 1e-5
        if not moving.any():
            break
        guess = np.where(moving, minutes, guess)
    return minutes, theory


def _middle(choices: list[Choice]) -> Choice:
    ordered = sorted(choices, key=lambda choice: choice.minutes)
    return ordered[(len(ordered) - 1) // 2]


def converged(
    curve: ConsolidationCurve,
    drainage: str,
    final: float,
    solve: Callable[[EarlyLines], list[Choice]],
    keep_final: bool,
    untold: str,
) -> tuple[Choice, list[Choice]]:
    """The line that counts, and all that could have been drawn.

    Args:
        curve: the readings.
        drainage: decides how far an early line may reach.
        final: d100, or a first guess of it. [as given]
        solve: the answers of those lines that have one.
        keep_final: whether `final` stands.
        untold: what to say if no line has an answer.

    Raises:
        UntoldError: no line can be drawn, or none has an answer.
    """
    start, end = float(min(curve.zero, curve.change[0])), final
    start = float(curve.change[0]) if start < curve.change[0] - 0.3 * curve.reach else start
    seen: set[tuple[int, int]] = set()
    for _ in range(_ROUNDS):
        choices = solve(early_lines(curve, drainage, start, end))
        if not choices:
            raise UntoldError(untold)
        best = _middle(choices)
        start = best.start
        end = final if keep_final else best.final
        if (best.line.first, best.line.last) in seen:
            break
        seen.add((best.line.first, best.line.last))
    return best, choices


def spread_of_times(choices: list[Choice], names: Sequence[str]) -> dict[str, float]:
    """Relative standard deviation of the times, under the names of what goes with them."""
    over = spread([choice.minutes for choice in choices])
    return {} if over is None else dict.fromkeys(names, over)


def share_used(curve: ConsolidationCurve, choice: Choice) -> str:
    """In words, which part of consolidation the early line rests on."""
    ends = curve.change[[choice.line.first, choice.line.last]]
    low, high = 100 * (ends - choice.start) / (choice.final - choice.start)
    return f"early line over {max(low, 0):.0f}-{high:.0f} % of consolidation"


def drawn_early_line(line: EarlyLine, to: float) -> Line:
    """From the start to a change."""
    end = (to - line.start) / line.slope
    return Line("early line", "root time", ((0.0, line.start), (end, to)))
