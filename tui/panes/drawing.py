"""A plot in dots: axes with labels and units, target level, readings, fits and constructions."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo

from rich.cells import cell_len

from reduce.units import convert
from tui.bench.picture import Plot, Series
from tui.ink.dots import Dots
from tui.ink.scales import bounds, label
from tui.ink.sheet import Sheet, clip
from tui.ink.times import TimeAxis, ticks
from tui.panes.pane import View
from tui.words import plain, sanitise, shown, unit_shown

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
_INKS = {"readings": "saturation", "fit": "fit", "construction": "construction"}
_MANY = 60
"""From so many points on, readings are a line of dots instead of marks."""


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    step: float

    def share(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low)


def _converter(unit: str, view: View) -> Callable[[float], float]:
    target = unit_shown(unit, view.manner)
    if target == unit:
        return lambda value: value
    return lambda value: convert(value, unit, target)


def _series_in_units(plot: Plot, view: View) -> list[Series]:
    x_of, y_of = _converter(plot.x_unit, view), _converter(plot.y_unit, view)
    return [
        Series(s.name, s.style, tuple((x_of(x), y_of(y)) for x, y in s.points)) for s in plot.series
    ]


def _scale(values: list[float], unit: str, view: View, most: int) -> _Scale:
    least = _LEAST.get(unit_shown(unit, view.manner), 0.0) if unit else 0.2
    return _Scale(*bounds(min(values), max(values), least or 1e-9, most))


def draw_plot(sheet: Sheet, plot: Plot, zone: tzinfo, view: View, top: int = 1) -> None:
    """Draw a plot below `top` lines of the sheet."""
    series = _series_in_units(plot, view)
    points = [point for one in series for point in one.points]
    height = sheet.height - top
    if not points or height < 4 or sheet.width < 20:
        words = "no readings for this plot yet" if not points else "no room for the plot"
        sheet.put(1, top, words, "dim")
        return
    level = _converter(plot.y_unit, view)(plot.target[1]) if plot.target else None
    named = height >= 11 and not plot.x_is_time  # a line of its own for the name of x
    rows = max(2, height - 3 - named)  # the legend above, the axis and its labels below
    ys = [y for _, y in points] + ([level] if level is not None else [])
    y_scale = _scale(ys, plot.y_unit, view, max(1, min(6, rows // 2)))
    labels = _labels(y_scale)
    left = max(len(text) for _, text in labels) + 1
    width = sheet.width - left - 2
    xs = [x for x, _ in points]
    if plot.x_is_time:
        x_scale = _Scale(min(xs), max(xs) if max(xs) > min(xs) else min(xs) + 60.0, 0.0)
    else:
        x_scale = _scale(xs, plot.x_unit, view, max(2, min(8, width // 10)))
    _frame(sheet, plot, view, (left, top + 1, width, rows), (x_scale, y_scale), labels, zone)
    _legend(sheet, plot, series, view, left, top)
    _curves(sheet, series, level, view, (left + 1, top + 1, width, rows), (x_scale, y_scale))


def _labels(scale: _Scale) -> list[tuple[float, str]]:
    count = round((scale.high - scale.low) / scale.step)
    values = [scale.low + k * scale.step for k in range(count + 1)]
    return [(value, label(value, scale.step)) for value in values]


def _axis_name(name: str, unit: str, view: View) -> str:
    shown_unit = shown(None, unit, view.manner)[1] if unit else ""
    name = plain(sanitise(name), view.manner)
    return f"{name}, {shown_unit}" if shown_unit else name


def _frame(
    sheet: Sheet,
    plot: Plot,
    view: View,
    place: tuple[int, int, int, int],
    scales: tuple[_Scale, _Scale],
    labels: list[tuple[float, str]],
    zone: tzinfo,
) -> None:
    left, top, width, rows = place
    x_scale, y_scale = scales
    signs = view.signs
    for row in range(rows):
        sheet.put(left, top + row, signs.axis, "rule")
    sheet.put(left, top + rows, signs.corner + signs.floor * width, "rule")
    for value, text in labels:
        row = min(rows - 1, round((1 - y_scale.share(value)) * (rows - 1)))
        sheet.put(left - len(text), top + row, plain(text.replace("-", "−"), view.manner), "dim")
    line = top + rows + 1
    if plot.x_is_time:
        axis = TimeAxis(x_scale.high, (x_scale.high - x_scale.low) / width, width, width - 1)
        marks = [(column, text) for column, text in ticks(axis, zone, 10)]
        name = ""
    else:
        marks = [(round(x_scale.share(v) * (width - 1)), text) for v, text in _labels(x_scale)]
        name = _axis_name(plot.x_label, plot.x_unit, view)
    apart = line + 1 < sheet.height
    end = sheet.width - cell_len(name) - 2 if name and not apart else sheet.width
    for column, text in marks:
        sheet.put(left + 1 + column, top + rows, signs.notch, "rule")
        said = plain(text.replace("-", "−"), view.manner)
        x = max(0, min(left + 1 + column - len(said) // 2, sheet.width - len(said)))
        if x + len(said) <= end and sheet.free(max(0, x - 1), line, len(said)):
            sheet.put(x, line, said, "dim")
    if name and sheet.width - cell_len(name) - 1 > left:
        sheet.put(sheet.width - cell_len(name) - 1, line + apart, name, "text")


def _legend(
    sheet: Sheet, plot: Plot, series: list[Series], view: View, left: int, line: int
) -> None:
    """Name and unit of y, then each series behind its sign."""
    signs = view.signs
    x = sheet.put(
        0, line, clip(_axis_name(plot.y_label, plot.y_unit, view), sheet.width, signs.more), "text"
    )
    x = max(x, left) + 3
    shapes = {"fit": signs.floor * 2, "construction": signs.path * 2}
    for one in series:
        if not one.points:
            continue
        shape = shapes.get(one.style, signs.marker if len(one.points) < _MANY else signs.floor * 2)
        text = f"{shape} {plain(sanitise(one.name), view.manner)}"
        if x + cell_len(text) > sheet.width:
            break
        x = sheet.put(x, line, text, _INKS[one.style]) + 2
    if plot.target:
        text = f"{signs.target * 2} {plain(sanitise(plot.target[0]), view.manner)}"
        if x + cell_len(text) <= sheet.width:
            sheet.put(x, line, text, "target")


def _curves(
    sheet: Sheet,
    series: list[Series],
    level: float | None,
    view: View,
    place: tuple[int, int, int, int],
    scales: tuple[_Scale, _Scale],
) -> None:
    left, top, width, rows = place
    x_scale, y_scale = scales
    dots = Dots(width, rows, view.manner.ascii)

    def at(x: float, y: float) -> tuple[int, int]:
        across = round(x_scale.share(x) * (dots.wide - 1))
        down = round((1 - y_scale.share(y)) * (dots.high - 1))
        return across, max(-1, min(dots.high, down))

    if level is not None:
        row = at(x_scale.low, level)[1]
        for x in range(0, dots.wide, 2 * dots.per_x):
            dots.dot(x, row, "target")
    order = {"construction": 0, "fit": 1, "readings": 2}
    marks: list[tuple[int, int]] = []
    for one in sorted(series, key=lambda s: order[s.style]):
        if one.style == "readings" and len(one.points) < _MANY:
            marks += [at(x, y) for x, y in one.points]
        else:
            every = 3 if one.style == "construction" else 1
            dots.path((at(x, y) for x, y in one.points), _INKS[one.style], every)
    dots.onto(sheet, left, top)
    for x, y in marks:
        sheet.put(left + x // dots.per_x, top + y // dots.per_y, view.signs.marker, "saturation")
