"""Which early line counts: the middle answer of all that could have been drawn.

Where the early part ends depends on d0 and d100, which follow from the line: a few rounds settle
it. The spread of the answers of the other lines is the uncertainty of the choice.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reduce.consolidation_curve import ConsolidationCurve
from reduce.construction import Line, spread
from reduce.early_line import EarlyLine, SeriesLine, early_lines
from reduce.errors import UntoldError

ROUNDS = 6


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


def _middle(choices: list[Choice]) -> Choice:
    ordered = sorted(choices, key=lambda choice: choice.minutes)
    return ordered[(len(ordered) - 1) // 2]


def converged(
    curve: ConsolidationCurve,
    drainage: str,
    final: float,
    solve: Callable[[EarlyLine], Choice | None],
    keep_final: bool,
    untold: str,
) -> tuple[Choice, list[Choice]]:
    """The line that counts, and all that could have been drawn.

    Args:
        curve: the readings.
        drainage: decides how far an early line may reach.
        final: d100, or a first guess of it. [as given]
        solve: the answer of one line; None if it has none.
        keep_final: whether `final` stands.
        untold: what to say if no line has an answer.

    Raises:
        UntoldError: no line can be drawn, or none has an answer.
    """
    start, end = float(min(curve.zero, curve.change[0])), final
    start = float(curve.change[0]) if start < curve.change[0] - 0.3 * curve.reach else start
    seen: set[tuple[int, int]] = set()
    for _ in range(ROUNDS):
        choices = [
            choice
            for line in early_lines(curve, drainage, start, end)
            if (choice := solve(line)) is not None and choice.final > choice.start
        ]
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
