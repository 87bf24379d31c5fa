"""The axes of a plot: scales in the units that are shown, and which lines of a sheet they take."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import tzinfo
from math import ceil, floor

from reduce.units import convert
from tui.bench.picture import Plot, Series
from tui.ink.scales import bounds, label, round_step
from tui.ink.times import TimeAxis, ticks
from tui.panes.cursor import Points, Window, is_marks, place, within
from tui.panes.pane import View
from tui.words import unit_shown

_LEAST = {
    "kPa": 20.0,
    "psi": 4.0,
    "ml": 0.5,
    "in³": 0.05,
    "mm": 0.2,
    "in": 0.01,
    "N": 20.0,
    "°C": 4.0,
}
"""Least span of a scale by unit: below this a curve is noise, and noise must look small."""


_APART = 1.5
"""Rows from one label of y to the next, at least."""


@dataclass(frozen=True, slots=True)
class Scale:
    """What lies along an axis."""

    low: float
    high: float
    step: float
    """Between two labels."""

    def share(self, value: float) -> float:
        """How far along it a value lies; 0 … 1 inside."""
        return (value - self.low) / (self.high - self.low)

    def labels(self) -> list[tuple[float, str]]:
        """Multiples of the step within it."""
        first, last = ceil(self.low / self.step - 1e-6), floor(self.high / self.step + 1e-6)
        return [(k * self.step, label(k * self.step, self.step)) for k in range(first, last + 1)]


@dataclass(frozen=True, slots=True)
class Frame:
    """Where on a sheet a plot lies, and what lies where in it."""

    left: int
    """First column inside the axes."""
    top: int
    width: int
    rows: int
    x: Scale
    """In units that are shown; logarithms of them where the scale is one of logarithms."""
    y: Scale
    x_of: Callable[[float], float]
    """From the plot's own unit to that place."""
    y_of: Callable[[float], float]
    x_back: Callable[[float], float]
    """From a place on the axis, in units that are shown, to one in the plot's own."""
    y_back: Callable[[float], float]

    def column(self, x: float) -> int:
        """The column of the sheet at an x of the plot; it may lie outside."""
        return self.left + round(self.x.share(self.x_of(x)) * (self.width - 1))

    def row(self, y: float) -> int:
        """The row of the sheet at a y of the plot; it may lie outside."""
        return self.top + round((1 - self.y.share(self.y_of(y))) * (self.rows - 1))

    @property
    def reach(self) -> float:
        """Half a column, as a length on the axis in the plot's own unit."""
        return abs(self.x_back(self.x.high) - self.x_back(self.x.low)) / max(1, self.width) / 2.0

    def at(self, column: int, row: int) -> tuple[float, float]:
        """Place on the axis of x, and y, of a cell of the sheet, in the plot's own units."""
        across = (column - self.left) / max(1, self.width - 1)
        up = 1.0 - (row - self.top) / max(1, self.rows - 1)
        return (
            self.x_back(self.x.low + across * (self.x.high - self.x.low)),
            self.y_back(self.y.low + up * (self.y.high - self.y.low)),
        )

    def holds(self, column: int, row: int) -> bool:
        """Whether a cell of the sheet is inside the axes."""
        inside = self.left <= column < self.left + self.width
        return inside and self.top <= row < self.top + self.rows


def _as_it_is(value: float) -> float:
    return value


def converter(unit: str, view: View, *, back: bool = False) -> Callable[[float], float]:
    """From an internal unit to the one that is shown, or back."""
    target = unit_shown(unit, view.manner)
    if target == unit:
        return _as_it_is
    if back:
        return lambda value: convert(value, target, unit)
    return lambda value: convert(value, unit, target)


def in_sight(plot: Plot, view: View) -> list[Series]:
    """The series as far as they lie in the window, x as places on the axis, in shown units."""
    to_x, to_y = converter(plot.x_unit, view), converter(plot.y_unit, view)

    def seen(series: Series) -> Points:
        points = series.points
        if plot.x_is_log:
            points = tuple((place(plot, x), y) for x, y in points if x > 0.0)
        if view.window is not None and not plot.is_path:
            low, high = view.window
            if is_marks(plot, series):
                points = tuple((x, y) for x, y in points if low <= x <= high)
            else:
                points = within(points, low, high)
        if to_x is to_y is _as_it_is:
            return points
        return tuple((to_x(x), to_y(y)) for x, y in points)

    return [Series(one.name, one.style, seen(one)) for one in plot.series]


def scales(
    plot: Plot, seen: list[Series], view: View, rows: int
) -> tuple[Callable[[int], Scale], Scale]:
    """The scale of x once the width is known, and that of y.

    Args:
        plot: what is drawn.
        seen: its series as `in_sight`; not all empty.
        view: window and units.
        rows: of the plot.
    """
    to_x, to_y = converter(plot.x_unit, view), converter(plot.y_unit, view)
    points = [point for series in seen for point in series.points]
    window: Window | None = None
    if view.window is not None:
        low, high = (to_x(end) for end in view.window)
        window = low, high
        points = [point for point in points if low <= point[0] <= high] or points
    ys = [y for _, y in points]
    if plot.target is not None:
        ys.append(to_y(plot.target[1]))
    if window is not None:
        ys = [y for _, y in points]
    y_scale = _scale(ys, plot.y_unit, view, max(4, min(6, rows // 2)))

    def x_scale(width: int) -> Scale:
        xs = [x for x, _ in points]
        most = max(2, min(8, width // 10))
        if window is not None:
            return Scale(*window, round_step(window[1] - window[0], most))
        if plot.x_is_time or plot.x_is_log:
            low, high = min(xs), max(xs)
            least = 60.0 if plot.x_is_time else 1.0
            high = high if high > low else low + least
            return Scale(low, high, round_step(high - low, most))
        return _scale(xs, plot.x_unit, view, most)

    return x_scale, y_scale


def y_labels(scale: Scale, rows: int) -> list[tuple[float, str]]:
    """As many labels as stand apart on so many rows, evenly; at least those of both ends.

    Example:
        >>> [text for _, text in y_labels(Scale(0.0, 30.0, 10.0), 8)]
        ['0', '10', '20', '30']
        >>> [text for _, text in y_labels(Scale(0.0, 30.0, 10.0), 3)]
        ['0', '30']
    """
    found = scale.labels()
    parts = max(1, len(found) - 1)
    apart = (
        every
        for every in range(1, parts + 1)
        if parts % every == 0 and (rows - 1) * every >= _APART * parts
    )
    return found[:: next(apart, parts)]


def _scale(values: list[float], unit: str, view: View, most: int) -> Scale:
    least = _LEAST.get(unit_shown(unit, view.manner), 0.0) if unit else 0.2
    return Scale(*bounds(min(values), max(values), least or 1e-9, most))


def x_marks(plot: Plot, frame: Frame, zone: tzinfo) -> Iterator[tuple[int, str]]:
    """Column inside the axes, and label, along the axis of x."""
    scale, width = frame.x, frame.width
    if plot.x_is_time:
        axis = TimeAxis(scale.high, (scale.high - scale.low) / width, width, width - 1)
        yield from ticks(axis, zone, 10)
        return
    found = _log_labels(scale) if plot.x_is_log else scale.labels()
    for value, text in found:
        yield round(scale.share(value) * (width - 1)), text


def _log_labels(scale: Scale) -> list[tuple[float, str]]:
    """Powers of ten; twice and five times them as well where there are few."""
    first, last = floor(scale.low), ceil(scale.high)
    sub = (0.0,) if last - first > 4 else (0.0, 0.30103, 0.69897)
    if scale.step < 0.2:  # a window so narrow that it may hold none of these
        return [(value, f"{10.0**value:.3g}") for value, _ in scale.labels()]
    return [
        (decade + part, f"{10.0 ** (decade + part):g}"[:6])
        for decade in range(first, last + 1)
        for part in sub
        if scale.low - 1e-9 <= decade + part <= scale.high + 1e-9
    ]
