"""A plot in dots: target level, readings, fits, constructions and their names, a cursor."""

from collections.abc import Callable
from datetime import tzinfo

import numpy as np
from rich.cells import cell_len

from tui.bench.picture import Plot, Series
from tui.ink.dots import Dots
from tui.ink.sheet import Sheet
from tui.panes.axes import Frame, converter, in_sight, scales, y_labels
from tui.panes.cursor import Points, is_marks, place
from tui.panes.pane import View
from tui.panes.plot_edges import draw_axes, draw_legend, ink_of
from tui.words import plain, sanitise

_ORDER = ("sibling", "construction", "fit", "readings")
"""What is drawn first lies behind."""
_GAPS = {"construction": 3, "sibling": 2}
"""Dots from one to the next along a line that is not drawn through."""
_LOW = 8
"""Lines below which the axis of x has its labels on it."""
_HIGH = 11
"""Lines from which on the name of x has a line of its own."""
_FEW_ROWS = 5
"""Rows below which a reading is a dot, as a sign would hide how high it lies."""
_ROOMY = 12
"""Rows from which on constructed lines have their names beside them."""
_LONGEST_NAME = 18


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
    height = sheet.height - top - below
    seen = in_sight(plot, view)
    why = ""
    if not any(one.points for one in plot.series):
        why = "no readings for this plot yet"
    elif height < 4 or sheet.width < 20:
        why = "no room for the plot"
    elif not any(one.points for one in seen):
        why = "no readings in this window"
    if why:
        sheet.put(1, top, why, "dim")
        return None
    labels_below = 0 if height < _LOW else 2 if height >= _HIGH and not plot.x_is_time else 1
    rows = height - 2 - labels_below  # the legend above, the axis below
    x_scale, y_scale = scales(plot, seen, view, rows)
    left = max((len(text) for _, text in y_labels(y_scale, rows)), default=0) + 1
    width = sheet.width - left - 2
    to_x = converter(plot.x_unit, view)
    frame = Frame(
        left + 1,
        top + 1,
        width,
        rows,
        x_scale(width),
        y_scale,
        lambda x: to_x(place(plot, x)),
        converter(plot.y_unit, view),
        converter(plot.x_unit, view, back=True),
        converter(plot.y_unit, view, back=True),
    )
    draw_axes(sheet, plot, view, frame, zone, labels_below=labels_below)
    marker = view.signs.marker if rows >= _FEW_ROWS else view.signs.due * 2
    draw_legend(sheet, plot, view, left, top, marker=marker)
    _curves(sheet, plot, seen, view, frame)
    return frame


def _curves(sheet: Sheet, plot: Plot, seen: list[Series], view: View, frame: Frame) -> None:
    left, top = frame.left, frame.top
    dots = Dots(frame.width, frame.rows, view.manner.ascii)

    def dots_at(points: Points) -> list[tuple[int, int]]:
        wide, high = dots.wide - 1, dots.high - 1
        along, up = frame.x.share, frame.y.share
        return [(round(along(x) * wide), round((1 - up(y)) * high)) for x, y in points]

    if plot.target is not None:
        row = dots_at(((frame.x.low, frame.y_of(plot.target[1])),))[0][1]
        dots.level(row, "target", 2 * dots.per_x)
    places = [(name, dots_at(((frame.x_of(x), frame.y_of(y)),))[0]) for name, x, y in plot.marks]
    for _, (x, y) in places:
        down = np.arange(max(y, 0), dots.high, 2)
        dots.dots(np.full_like(down, x), down, "construction")
    marks: list[tuple[int, int, str]] = []
    pairs = sorted(zip(plot.series, seen, strict=True), key=lambda p: _ORDER.index(p[1].style))
    for whole, part in pairs:
        ink, found = ink_of(plot, whole), dots_at(part.points)
        if not is_marks(plot, whole):
            dots.path(found, ink, _GAPS.get(whole.style, 1))
        elif frame.rows < _FEW_ROWS:
            xs, ys = np.array(found, np.int64).reshape(-1, 2).T
            dots.dots(xs, ys, ink)
        else:
            marks += [(x, y, ink) for x, y in found]
    dots.onto(sheet, left, top)
    for x, y, ink in marks:
        if 0 <= x < dots.wide and 0 <= y < dots.high:
            sheet.put(left + x // dots.per_x, top + y // dots.per_y, view.signs.marker, ink)
    for name, (x, y) in places:
        if 0 <= x < dots.wide:
            _name(sheet, frame, (left + x // dots.per_x, top + y // dots.per_y), name, view)
    _name_lines(sheet, plot, pairs, view, frame)


def _name(
    sheet: Sheet, frame: Frame, at: tuple[int, int], name: str, view: View, ink: str = "text"
) -> None:
    """A short name beside a point, where nothing stands."""
    said = plain(sanitise(name, _LONGEST_NAME), view.manner)
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
    wanted: dict[str, Callable[[int], bool]] = {
        "readings": lambda lines: lines > 1,
        "sibling": lambda lines: lines > 0,
        "construction": lambda lines: lines > 0 and frame.rows >= _ROOMY,
    }
    for style, is_wanted in wanted.items():
        alike = [(one, part) for one, part in pairs if one.style == style and part.points]
        for one, part in alike if is_wanted(len(alike)) else ():
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
