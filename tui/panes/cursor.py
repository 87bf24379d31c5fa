"""Where on a plot somebody looks, and what stands there: a window and a cursor. It draws nothing.

A place on the axis of x is x itself, or its logarithm where the scale is one of logarithms. A
cursor is a point (x, y) in the units of the plot; y tells only where x goes to and fro.
"""

from bisect import bisect_left, bisect_right
from itertools import pairwise
from math import hypot, log10
from typing import NamedTuple

from tui.bench.picture import Plot, Series

Point = tuple[float, float]
Points = tuple[Point, ...]
Window = tuple[float, float]
"""First and last place on the axis."""

MANY = 60
"""From so many points on, readings are a line instead of marks."""
_DEEPEST = 4096.0
"""How much narrower than everything a window may be."""


class ReadOff(NamedTuple):
    """What a series says at the cursor."""

    series: Series
    y: float | None
    """None where it says nothing there."""


def place(plot: Plot, x: float) -> float:
    """The place of x on the axis."""
    return log10(x) if plot.x_is_log else x


def x_at(plot: Plot, where: float) -> float:
    """The x of a place on the axis."""
    return 10.0**where if plot.x_is_log else where


def is_marks(plot: Plot, series: Series) -> bool:
    """Whether its points are marks of their own, with no line between them.

    All readings of a plot are drawn alike: marks while there are few of each.
    """
    alike = (one for one in plot.series if one.style == "readings")
    return series.style == "readings" and all(len(one.points) < MANY for one in alike)


def main_series(plot: Plot) -> Series | None:
    """The readings that a cursor begins at."""
    filled = [series for series in plot.series if series.points]
    return next((one for one in filled if one.style == "readings"), filled[0] if filled else None)


def whole(plot: Plot) -> Window | None:
    """From the first to the last point of all series; None where there is none."""
    xs = [x for series in plot.series for x, _ in series.points if x > 0.0 or not plot.x_is_log]
    return (place(plot, min(xs)), place(plot, max(xs))) if xs else None


def zoomed(plot: Plot, window: Window | None, at: Point | None, by: float) -> Window | None:
    """A window so many times narrower, in which the cursor stands where it stood.

    Args:
        plot: what is looked at.
        window: before; None for everything.
        at: the cursor; the middle of the window without one.
        by: 2.0 for half the width, 0.5 for twice.

    Returns:
        None where it would hold everything.
    """
    everything = whole(plot)
    if everything is None or everything[0] == everything[1]:
        return None
    low, high = window or everything
    most = everything[1] - everything[0]
    width = max((high - low) / by, most / _DEEPEST)
    if width >= most * (1.0 - 1e-9):
        return None
    middle = (low + high) / 2.0 if at is None else place(plot, at[0])
    if not low <= middle <= high:
        middle = (low + high) / 2.0
    first = middle - (middle - low) / (high - low) * width
    first = max(everything[0], min(first, everything[1] - width))
    return first, first + width


def followed(plot: Plot, window: Window | None, at: Point) -> Window | None:
    """The window, moved along so that the cursor stands in it."""
    if window is None:
        return None
    low, high = window
    where = place(plot, at[0])
    shift = min(0.0, where - low) + max(0.0, where - high)
    return low + shift, high + shift


def stops(plot: Plot) -> tuple[float, ...]:
    """Places at which a cursor may stand, in order.

    Those of the readings, as they are what is read off; beyond them those of every other line.
    """
    own, others = set[float](), set[float]()
    for series in plot.series:
        places = own if series.style == "readings" else others
        places.update(place(plot, x) for x, _ in series.points if x > 0.0 or not plot.x_is_log)
    if own:
        low, high = min(own), max(own)
        others = {one for one in others if not low <= one <= high}
    return tuple(sorted(own | others))


def newest(plot: Plot) -> Point | None:
    """Where a cursor begins: the last of the readings."""
    series = main_series(plot)
    return series.points[-1] if series else None


def stepped(
    plot: Plot, window: Window | None, at: Point | None, by: int, columns: int
) -> Point | None:
    """The cursor so many columns on, at the next point there.

    Args:
        plot: what is looked at.
        window: what of it is in sight; None for everything.
        at: the cursor; None begins at the newest reading.
        by: columns, negative to the left; along a path points.
        columns: of the plot.
    """
    series, everything = main_series(plot), whole(plot)
    if series is None or everything is None:
        return None
    if at is None:
        return series.points[-1]
    if plot.is_path:
        index = _nearest(series.points, at, everything) + by
        return series.points[max(0, min(index, len(series.points) - 1))]
    low, high = window or everything
    found = stops(plot)
    here, step = place(plot, at[0]), (high - low) / max(1, columns)
    slack = step / 1000.0
    if by > 0:
        index = bisect_left(found, here + by * step - slack)
    else:
        index = bisect_right(found, here + by * step + slack) - 1
    where = found[max(0, min(index, len(found) - 1))]
    return x_at(plot, where), at[1]


def at_end(plot: Plot, *, last: bool) -> Point | None:
    """The cursor at the first or the last point."""
    series = main_series(plot)
    if series is None:
        return None
    if plot.is_path:
        return series.points[-1 if last else 0]
    return x_at(plot, stops(plot)[-1 if last else 0]), 0.0


def pointed(plot: Plot, where: float, y: float) -> Point | None:
    """The cursor at the point nearest to where somebody points.

    Args:
        where: place on the axis of x.
        y: in the unit of the plot.
    """
    series, everything = main_series(plot), whole(plot)
    if series is None or everything is None:
        return None
    if plot.is_path:
        return series.points[_nearest(series.points, (where, y), everything)]
    return x_at(plot, min(stops(plot), key=lambda stop: abs(stop - where))), y


def _nearest(points: Points, at: Point, everything: Window) -> int:
    wide = (everything[1] - everything[0]) or 1.0
    high = (max(y for _, y in points) - min(y for _, y in points)) or 1.0
    away = [hypot((x - at[0]) / wide, (y - at[1]) / high) for x, y in points]
    return away.index(min(away))


def read_off(plot: Plot, at: Point, reach: float) -> tuple[ReadOff, ...]:
    """What each series says at the cursor.

    A line says what lies between its points, a mark only what was read there.

    Args:
        plot: what is looked at.
        at: the cursor.
        reach: how far from it a mark may stand, as a length on the axis.
    """
    main = main_series(plot)
    found = []
    for series in plot.series:
        if not series.points:
            continue
        if plot.is_path and series is main:
            y: float | None = at[1]
        elif is_marks(plot, series) and not plot.is_path:
            y = _mark_at(plot, series.points, at[0], reach)
        else:
            y = _line_at(plot, series.points, at[0])
        found.append(ReadOff(series, y))
    return tuple(found)


def _mark_at(plot: Plot, points: Points, x: float, reach: float) -> float | None:
    """Of the nearest mark; of several at one place the latest."""
    where = place(plot, x)
    near = [
        (abs(place(plot, one) - where), -k)
        for k, (one, _) in enumerate(points)
        if one > 0.0 or not plot.x_is_log
    ]
    away, k = min(near, default=(reach + 1.0, 0))
    return points[-k][1] if away <= reach else None


def _line_at(plot: Plot, points: Points, x: float) -> float | None:
    """On the straight line between two points, as it is drawn; None beside it, or where x goes to
    and fro."""
    xs = [one for one, _ in points]
    if not xs[0] <= x <= xs[-1] or any(b < a for a, b in pairwise(xs)):
        return None
    index = bisect_left(xs, x)
    if xs[index] == x:
        return points[bisect_right(xs, x) - 1][1]
    (x0, y0), (x1, y1) = points[index - 1], points[index]
    if plot.x_is_log and x0 <= 0.0:
        return None
    share = (place(plot, x) - place(plot, x0)) / (place(plot, x1) - place(plot, x0))
    return y0 + share * (y1 - y0)


def within(points: Points, low: float, high: float) -> Points:
    """The part of a line, x not falling, that lies in a window, with its ends on the edges.

    Example:
        >>> within(((0.0, 0.0), (2.0, 4.0), (3.0, 3.0)), 1.0, 2.5)
        ((1.0, 2.0), (2.0, 4.0), (2.5, 3.5))
    """
    xs = [x for x, _ in points]
    first, last = bisect_left(xs, low), bisect_right(xs, high)
    part = list(points[first:last])
    for edge, index in ((low, first), (high, last)):
        if 0 < index < len(points):
            (x0, y0), (x1, y1) = points[index - 1], points[index]
            if x0 < edge < x1:
                point = (edge, y0 + (edge - x0) / (x1 - x0) * (y1 - y0))
                part = [point, *part] if edge == low else [*part, point]
    return tuple(part)
