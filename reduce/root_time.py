"""Consolidation on the root of time: Taylor's t90, and t100 where the early line meets the end.

Neither takes one line for granted. Every line is tried that goes straight enough through early
readings; the middle answer counts, and the spread of the others is its uncertainty.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import Column, between
from reduce.consolidation_curve import ConsolidationCurve, consolidation_curve
from reduce.construction import Construction, Line, spread
from reduce.crossings import crossings
from reduce.drainage import (
    cv_from_t100,
    cv_from_time,
    degree_of_factor,
    factor_for,
    lambda_factor,
    slenderness_of,
)
from reduce.early_line import EarlyLines, SeriesLines, series_lines_at_times
from reduce.errors import UntoldError
from reduce.line_choice import (
    Choice,
    choices_of,
    converged,
    drawn_early_line,
    in_turns,
    share_used,
    spread_of_times,
)

ENDS_OFFSET = 1.15
"""Taylor's second line with drained ends, as it is usual; theory gives 1.1546. [-]"""
_FINISHED = 0.93
"""U by theory below which the last reading is no end of consolidation. [-]"""


def _t90(curve: ConsolidationCurve, lines: EarlyLines, offset: Column) -> Column:
    """(m,) where the curve falls below the second line of each; NaN where it never does."""
    later = np.arange(len(curve.times)) >= lines.first[:, None]
    second = lines.start[:, None] + (lines.slope / offset)[:, None] * curve.root
    roots = crossings(curve.root, np.where(later, curve.change - second, np.nan), 0.15)
    return roots**2


def _taylor_choices(
    curve: ConsolidationCurve, lines: EarlyLines, drainage: str, slenderness: float
) -> list[Choice]:
    """Each early line to its end; with a drained side the offset and t90 are found in turns."""
    offset, theory = np.full_like(lines.start, ENDS_OFFSET), None
    intercept = np.zeros_like(lines.start)
    minutes = _t90(curve, lines, offset)
    if "radial" in drainage:
        within = lines.within(len(curve.times))

        def again(t90: Column) -> tuple[Column, SeriesLines]:
            theory = series_lines_at_times(drainage, slenderness, curve.times, within, t90)
            return _t90(curve, lines, theory.offset), theory

        minutes, theory = in_turns(minutes, again)
        offset, intercept = theory.offset, theory.intercept
    d90 = lines.start + lines.slope * np.sqrt(minutes) / offset
    primary = (d90 - lines.start) / (0.9 - intercept)
    start = lines.start - intercept * primary
    return choices_of(lines, start, start + primary, minutes, theory)


def taylor(
    times_min: ArrayLike,
    change: ArrayLike,
    *,
    drainage: str,
    height_mm: float,
    diameter_mm: float,
) -> Construction:
    """t90 after Taylor: a second line through d0, with longer abscissae, meets the curve at 90 %.

    d100 = d0 + (d90 − d0)/0.9;  cv = F90 D² / t90, F90 from the exact series

    With drained ends the abscissae are 1.15 times as long, as is usual. That is wrong with a
    drained curved surface: the factor then comes from the series for this drainage, for the
    readings on the early line, and d0 is where the series, not the line, starts.

    Args:
        times_min: (n,) since drainage opened; 0 is the zero reading; rows with NaN are left
            out. [min]
        change: (n,) positive when the specimen shrinks. [ml or mm]
        drainage: one of `reduce.drainage.DRAINAGES`.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]

    Returns:
        d0, d100, t90 and cv with their lines, or `why` not.

    Raises:
        ReductionError: columns of unequal length, time that runs backwards, an unknown drainage or
            a dimension that is not above zero.

    Source:
        Taylor (1948), Fundamentals of soil mechanics; the factors beside 1.15: `series_line`.

    Example:
        >>> t = [0, 0.25, 1, 2.25, 4, 9, 16, 25, 36, 49, 64]  # a Heriot-Watt class example
        >>> thickness = [19.0, 18.908, 18.857, 18.805, 18.76, 18.665, 18.567, 18.478, 18.419]
        >>> fall = [19.0 - d for d in [*thickness, 18.391, 18.377]]
        >>> found = taylor(t, fall, drainage="both ends", height_mm=19.0, diameter_mm=75.0)
        >>> abs(found.t90_min / 6.65**2 - 1) < 0.05
        True
    """
    method = "root time to t90, after Taylor"
    slenderness = slenderness_of(drainage, height_mm, diameter_mm)
    try:
        curve = consolidation_curve(times_min, change)
        best, choices = converged(
            curve,
            drainage,
            curve.end,
            lambda lines: _taylor_choices(curve, lines, drainage, slenderness),
            keep_final=False,
            untold="the curve does not come down to Taylor's second line: it ends before 90 %",
        )
    except UntoldError as untold:
        return Construction(method, drainage, why=str(untold))
    line, offset = best.line, best.theory.offset if best.theory else ENDS_OFFSET
    root = math.sqrt(best.minutes)
    over_final = spread([choice.final for choice in choices])
    drawn = (
        drawn_early_line(line, best.final),
        Line(
            f"abscissae × {offset:.4g}",
            "root time",
            ((0.0, line.start), (1.1 * root, line.start + line.slope * 1.1 * root / offset)),
        ),
        Line("100 %", "root time", ((0.0, best.final), (1.5 * root, best.final))),
    )
    rule = (
        f"offset {offset:.3f} from the exact series for this share"
        if best.theory
        else f"offset {offset:g} as usual for drained ends (theory: 1.1546)"
    )
    return Construction(
        method,
        drainage,
        start_change=best.start,
        final_change=best.final,
        t90_min=best.minutes,
        cv_m2_per_year=cv_from_time(
            drainage, 0.9, 60.0 * best.minutes, height_mm=height_mm, diameter_mm=diameter_mm
        ),
        offset=offset,
        lines=drawn,
        first_index=curve.first_index[line.first],
        last_index=curve.last_index[line.last],
        relative_uncertainty=spread_of_times(choices, ("t90_min", "cv_m2_per_year"))
        | ({} if over_final is None else {"final_change": over_final}),
        assumption=f"drainage: {drainage}; {share_used(curve, best)}; {rule}",
    )


def _t100_choices(
    curve: ConsolidationCurve, lines: EarlyLines, drainage: str, slenderness: float, final: float
) -> list[Choice]:
    """Each early line to the final change; with a drained side, its tangent at the start."""
    primary = np.where(lines.start < final, final - lines.start, np.nan)
    minutes, theory = (primary / lines.slope) ** 2, None
    if "radial" in drainage:
        within = lines.within(len(curve.times))
        t90_over_t100 = (
            factor_for(drainage, 0.9, slenderness) * lambda_factor(drainage, slenderness) / math.pi
        )

        def again(t100: Column) -> tuple[Column, SeriesLines]:
            theory = series_lines_at_times(
                drainage, slenderness, curve.times, within, t100 * t90_over_t100
            )
            whole = primary / (1.0 - theory.intercept)
            return (whole / (lines.slope * theory.steeper)) ** 2, theory

        minutes, theory = in_turns(minutes, again)
        primary = primary / (1.0 - theory.intercept)
    return choices_of(lines, final - primary, np.full_like(primary, final), minutes, theory)


def _degree_at_end(drainage: str, slenderness: float, end_over_t100: float) -> float:
    """U by theory of the last reading, which was taken for the end when t100 was constructed.

    Taken for 1 while it is U, that reading made t100 too short, by U².
    """
    f100 = math.pi / lambda_factor(drainage, slenderness)
    degree = 1.0
    for _ in range(60):
        factor = f100 * end_over_t100 * degree**2
        nearer = float(degree_of_factor(drainage, factor, slenderness))
        if nearer == degree:
            break
        degree = nearer
    return degree


def root_time_to_t100(
    times_min: ArrayLike,
    change: ArrayLike,
    *,
    drainage: str,
    height_mm: float,
    diameter_mm: float,
    final_change: float | None = None,
) -> Construction:
    """t100: where the early line on the root of time, carried on, meets the final change.

    √t100 = (d100 − d0)/slope;  cv = π D²/(λ t100)

    λ belongs to the tangent at the start. With drained ends the early line is that tangent. With a
    drained curved surface a line over the first quarter is flatter, and t100 would come out a
    seventh to a fifth too long: the line is made steeper by what the exact series says for the
    readings on it.

    Args:
        times_min, change, drainage, height_mm, diameter_mm: as for `taylor`.
        final_change: d100; None: the median of the readings in the last tenth of the time, if by
            theory consolidation had come to its end there. [as change]

    Returns:
        d0, d100, t100 and cv with their lines, or `why` not.

    Raises:
        ReductionError: as `taylor`; a final change not above the first reading.

    Source:
        BS 1377-8:1990, 6.3.6 (from memory), with the λ of `reduce.drainage.lambda_factor`.

    Example:
        >>> t = [0, 0.25, 1, 2.25, 4, 9, 16, 25, 36, 49, 64, 81, 100, 196, 400]
        >>> from reduce.drainage import degree
        >>> out = 4 * degree("both ends", [60 * m for m in t], cv_m2_year=30,
        ...                  height_mm=76, diameter_mm=38)
        >>> found = root_time_to_t100(t, out, drainage="both ends", height_mm=76, diameter_mm=38)
        >>> round(found.cv_m2_per_year, 1)
        30.0
    """
    method = "root time to t100, after BS 1377-8"
    slenderness = slenderness_of(drainage, height_mm, diameter_mm)
    try:
        curve = consolidation_curve(times_min, change)
        final = curve.end
        if final_change is not None:
            first = float(curve.change[0])
            final = between("final change", final_change, first, math.inf, "as the readings")
        best, choices = converged(
            curve,
            drainage,
            final,
            lambda lines: _t100_choices(curve, lines, drainage, slenderness, final),
            keep_final=True,
            untold=f"no early line rises to the final change of {final:g}",
        )
    except UntoldError as untold:
        return Construction(method, drainage, why=str(untold))
    last = float(curve.times[-1])
    at_end = 1.0
    if final_change is None:
        at_end = _degree_at_end(drainage, slenderness, last / best.minutes)
    if at_end < _FINISHED:
        return Construction(
            method,
            drainage,
            lines=(drawn_early_line(best.line, final),),
            why=f"by theory consolidation was at {100 * at_end:.0f} % with the last reading at "
            f"{last:.3g} min: there is no final change to draw the early line to",
        )
    doubt = spread_of_times(choices, ("t100_min", "cv_m2_per_year"))
    if final_change is None:
        # What primary consolidation still lacked at the last reading counts as not known.
        lacking = 2.0 * (1.0 - at_end)
        doubt = {name: math.hypot(value, lacking) for name, value in doubt.items()}
    root = math.sqrt(best.minutes)
    drawn = [drawn_early_line(best.line, final)]
    rule = "the early line is the tangent at the start"
    if best.theory:
        drawn.append(Line("tangent at the start", "root time", ((0.0, best.start), (root, final))))
        rule = (
            f"made steeper by {best.theory.steeper:.3f}, from the exact series for this share, "
            "to be the tangent at the start"
        )
    drawn.append(Line("final change", "root time", ((0.0, final), (1.5 * root, final))))
    return Construction(
        method,
        drainage,
        start_change=best.start,
        final_change=final,
        t100_min=best.minutes,
        cv_m2_per_year=cv_from_t100(
            drainage, 60.0 * best.minutes, height_mm=height_mm, diameter_mm=diameter_mm
        ),
        lines=tuple(drawn),
        first_index=curve.first_index[best.line.first],
        last_index=curve.last_index[best.line.last],
        relative_uncertainty=doubt,
        assumption=f"drainage: {drainage}; {share_used(curve, best)}; {rule}",
    )
