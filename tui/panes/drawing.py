"""A plot in dots: axes with labels and units, target level, readings, fits and constructions."""

from datetime import tzinfo

import numpy as np
from rich.cells import cell_len

from tui.bench.picture import Plot, Series
from tui.ink.dots import Dots
from tui.ink.sheet import Sheet, clip
from tui.panes.axes import Frame, Scale, converter, in_sight, scales, x_marks
from tui.panes.cursor import Points, is_marks, place
from tui.panes.pane import View
from tui.words import plain, sanitise, shown

_INKS = {"fit": "fit", "construction": "construction", "sibling": "dim"}
_READINGS = ("saturation", "consolidation", "shear")
"""Inks of several series of readings, in turn."""
_ORDER = ("sibling", "construction", "fit", "readings")
"""What is drawn first lies behind."""


def ink_of(plot: Plot, series: Series) -> str:
    """The ink of one of its series."""
    if series.style != "readings":
        return _INKS[series.style]
    alike = [one.name for one in plot.series if one.style == "readings"]
    return _READINGS[alike.index(series.name) % len(_READINGS)]


def draw_plot(
    sheet: Sheet, plot: Plot, zone: tzinfo, view: View, top: int = 1, below: int = 0
) -> Frame | None:
    """Draw a plot, or its part in the window of the view.

    Args:
        sheet: to draw on.
        plot: what to draw.
        zone: of moments.
        view: units, signs, window.
        top: lines left free above.
        below: lines left free beneath.

    Returns:
        Where it lies; None where there was nothing to draw, or no room.
    """
    seen = in_sight(plot, view)
    height = sheet.height - top - below
    if not any(one.points for one in plot.series) or height < 4 or sheet.width < 20:
        some = any(one.points for one in plot.series)
        words = "no room for the plot" if some else "no readings for this plot yet"
        sheet.put(1, top, words, "dim")
        return None
    if not any(one.points for one in seen):
        sheet.put(1, top, "no readings in this window", "dim")
        return None
    named = height >= 11 and not plot.x_is_time  # a line of its own for the name of x
    rows = max(2, height - 3 - named)  # the legend above, the axis and its labels below
    x_scale, y_scale = scales(plot, seen, view, rows)
    labels = y_scale.labels()
    left = max((len(text) for _, text in labels), default=0) + 1
    width = sheet.width - left - 2
    to_x, to_y = converter(plot.x_unit, view), converter(plot.y_unit, view)
    frame = Frame(
        left + 1,
        top + 1,
        width,
        rows,
        x_scale(width),
        y_scale,
        lambda x: to_x(place(plot, x)),
        to_y,
        converter(plot.x_unit, view, back=True),
        converter(plot.y_unit, view, back=True),
    )
    _axes(sheet, plot, view, frame, zone)
    _legend(sheet, plot, view, left, top)
    _curves(sheet, plot, seen, view, frame)
    return frame


def _axis_name(name: str, unit: str, view: View) -> str:
    shown_unit = shown(None, unit, view.manner)[1] if unit else ""
    name = plain(sanitise(name), view.manner)
    return f"{name}, {shown_unit}" if shown_unit else name


def _axes(sheet: Sheet, plot: Plot, view: View, frame: Frame, zone: tzinfo) -> None:
    left, top, width, rows = frame.left - 1, frame.top, frame.width, frame.rows
    signs = view.signs
    for row in range(rows):
        sheet.put(left, top + row, signs.axis, "rule")
    sheet.put(left, top + rows, signs.corner + signs.floor * width, "rule")
    for value, text in frame.y.labels():
        row = min(rows - 1, round((1 - frame.y.share(value)) * (rows - 1)))
        sheet.put(left - len(text), top + row, plain(text.replace("-", "−"), view.manner), "dim")
    line = top + rows + 1
    marks = list(x_marks(plot, frame, zone))
    name = "" if plot.x_is_time else _axis_name(plot.x_label, plot.x_unit, view)
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


def _legend(sheet: Sheet, plot: Plot, view: View, left: int, line: int) -> None:
    """Name and unit of y, then each series behind its sign."""
    signs = view.signs
    x = sheet.put(
        0, line, clip(_axis_name(plot.y_label, plot.y_unit, view), sheet.width, signs.more), "text"
    )
    x = max(x, left) + 3
    shapes = {"construction": signs.path * 2, "sibling": signs.due * 2}
    for one in plot.series:
        if not one.points:
            continue
        shape = shapes.get(one.style, signs.marker if is_marks(one) else signs.floor * 2)
        text = f"{shape} {plain(sanitise(one.name), view.manner)}"
        if x + cell_len(text) > sheet.width:
            break
        x = sheet.put(x, line, text, ink_of(plot, one)) + 2
    if plot.target:
        text = f"{signs.target * 2} {plain(sanitise(plot.target[0]), view.manner)}"
        if x + cell_len(text) <= sheet.width:
            sheet.put(x, line, text, "target")


def _curves(sheet: Sheet, plot: Plot, seen: list[Series], view: View, frame: Frame) -> None:
    left, top = frame.left, frame.top
    dots = Dots(frame.width, frame.rows, view.manner.ascii)

    def all_at(points: Points) -> list[tuple[int, int]]:
        return _dots_of(points, frame.x, frame.y, dots)

    if plot.target is not None:
        row = all_at(((frame.x.low, frame.y_of(plot.target[1])),))[0][1]
        dots.level(row, "target", 2 * dots.per_x)
    places = [(name, all_at(((frame.x_of(x), frame.y_of(y)),))[0]) for name, x, y in plot.marks]
    for _, (x, y) in places:
        down = np.arange(max(y, 0), dots.high, 2)
        dots.dots(np.full_like(down, x), down, "construction")
    marks: list[tuple[int, int, str]] = []
    pairs = sorted(zip(plot.series, seen, strict=True), key=lambda p: _ORDER.index(p[1].style))
    for whole, part in pairs:
        ink = ink_of(plot, whole)
        if is_marks(whole):
            marks += [(x, y, ink) for x, y in all_at(part.points)]
        else:
            every = {"construction": 3, "sibling": 2}.get(whole.style, 1)
            dots.path(all_at(part.points), ink, every)
    dots.onto(sheet, left, top)
    for x, y, ink in marks:
        if 0 <= x < dots.wide and 0 <= y < dots.high:
            sheet.put(left + x // dots.per_x, top + y // dots.per_y, view.signs.marker, ink)
    for name, (x, y) in places:
        if 0 <= x < dots.wide:
            _name(sheet, frame, (left + x // dots.per_x, top + y // dots.per_y), name, view)
    _name_lines(sheet, plot, pairs, view, frame)


def _dots_of(points: Points, across: Scale, up: Scale, dots: Dots) -> list[tuple[int, int]]:
    wide, high = dots.wide - 1, dots.high - 1
    return [(round(across.share(x) * wide), round((1 - up.share(y)) * high)) for x, y in points]


def _name(
    sheet: Sheet, frame: Frame, at: tuple[int, int], name: str, view: View, ink: str = "text"
) -> None:
    """A short name beside a point, where nothing stands."""
    said = plain(sanitise(name, 12), view.manner)
    wide = cell_len(said)
    right = frame.left + frame.width
    for row in (at[1] - 1, at[1] + 1, at[1] - 2, at[1] + 2, at[1] - 3, at[1] + 3):
        for x in (at[0] + 1, min(at[0], right - wide), at[0] - wide):
            if frame.holds(x, row) and x + wide <= right and sheet.free(x, row, wide):
                sheet.put(x, row, said, ink)
                return


def _name_lines(
    sheet: Sheet, plot: Plot, pairs: list[tuple[Series, Series]], view: View, frame: Frame
) -> None:
    """Lines of one kind are told apart without colour: each has its name at its last point."""
    for style in ("readings", "sibling"):
        alike = [(one, part) for one, part in pairs if one.style == style and part.points]
        if style == "readings" and len(alike) < 2:
            continue
        for one, part in alike:
            x, y = part.points[-1]
            column = frame.left + round(frame.x.share(x) * (frame.width - 1))
            row = frame.top + round((1 - frame.y.share(y)) * (frame.rows - 1))
            _name(sheet, frame, (column, row), one.name, view, ink_of(plot, one))


def draw_cursor(sheet: Sheet, view: View, frame: Frame, ys: list[float]) -> None:
    """A vertical line at the cursor of the view, and a sign at each of these values of y."""
    if view.cursor is None:
        return
    column = frame.column(view.cursor[0])
    for row in range(frame.top, frame.top + frame.rows):
        if frame.holds(column, row) and sheet.free(column, row, 1):
            sheet.put(column, row, view.signs.now, "now")
    for y in ys:
        row = frame.row(y)
        if frame.holds(column, row):
            sheet.put(column, row, view.signs.event, "now")
