"""What stands around a plot: its axes with labels, names and units, and the legend."""

from datetime import tzinfo

from rich.cells import cell_len

from tui.bench.picture import Plot, Series
from tui.ink.sheet import Sheet, clip
from tui.panes.axes import Frame, x_marks, y_labels
from tui.panes.cursor import is_marks
from tui.panes.pane import View
from tui.words import plain, sanitise, unit_shown

_INKS = {"fit": "fit", "construction": "construction", "sibling": "dim"}
_READINGS = ("saturation", "consolidation", "shear")
"""Inks of several series of readings, in turn."""
_LOG = " (log scale: the reading at 0 has no place)"


def ink_of(plot: Plot, series: Series) -> str:
    """The ink of one of its series."""
    if series.style != "readings":
        return _INKS[series.style]
    alike = [one.name for one in plot.series if one.style == "readings"]
    return _READINGS[alike.index(series.name) % len(_READINGS)]


def draw_axes(
    sheet: Sheet, plot: Plot, view: View, frame: Frame, zone: tzinfo, *, labels_below: int
) -> None:
    """Draw both axes.

    Args:
        sheet: to draw on.
        plot: whose axes.
        view: units and signs.
        frame: where the plot lies.
        zone: of moments.
        labels_below: lines beneath the axis of x: none has its labels on it, of two the second
            has its name.
    """
    left, floor, signs = frame.left - 1, frame.top + frame.rows, view.signs
    for row in range(frame.rows):
        sheet.put(left, frame.top + row, signs.axis, "rule")
    sheet.put(left, floor, signs.corner + signs.floor * frame.width, "rule")
    for value, text in y_labels(frame.y, frame.rows):
        row = min(frame.rows - 1, round((1 - frame.y.share(value)) * (frame.rows - 1)))
        sheet.put(left - len(text), frame.top + row, _number(text, view), "dim")
    name = "" if plot.x_is_time else axis_name(plot.x_label, plot.x_unit, view)
    on = floor + min(labels_below, 1)
    end = sheet.width
    if labels_below < 2 and cell_len(name) > sheet.width // 4:
        name = axis_name("", plot.x_unit, view)  # the numbers matter more
    if name and labels_below < 2:
        end -= cell_len(name) + 2
    taken = -1
    for column, text in x_marks(plot, frame, zone):
        if labels_below:
            sheet.put(frame.left + column, floor, signs.notch, "rule")
        said = _number(text, view)
        x = max(0, min(frame.left + column - len(said) // 2, sheet.width - len(said)))
        if x > taken and x + len(said) <= end:
            sheet.put(x, on, said, "dim")
            taken = x + len(said)
    if plot.x_is_log and labels_below > 1:
        longer = name + plain(_LOG, view.manner)
        name = longer if cell_len(longer) + left + 2 < sheet.width else name
    if name and sheet.width - cell_len(name) - 1 > left:
        sheet.put(sheet.width - cell_len(name) - 1, floor + labels_below, name, "text")


def _number(text: str, view: View) -> str:
    return plain(text.replace("-", "−"), view.manner)


def axis_name(name: str, unit: str, view: View) -> str:
    """A quantity and the unit that it is shown in: "u, kPa"."""
    name = plain(sanitise(name), view.manner)
    symbol = plain(sanitise(unit_shown(unit, view.manner)), view.manner) if unit else ""
    return ", ".join(part for part in (name, symbol) if part)


def draw_legend(sheet: Sheet, plot: Plot, view: View, left: int, line: int, *, marker: str) -> None:
    """Name and unit of y, then each series behind its sign; of marks that is the marker."""
    signs = view.signs
    name = clip(axis_name(plot.y_label, plot.y_unit, view), sheet.width, signs.more)
    x = max(sheet.put(0, line, name, "text"), left) + 3
    shapes = {"construction": signs.dashed, "sibling": signs.due * 2}
    pieces = [
        (shapes.get(one.style, marker if is_marks(plot, one) else signs.floor * 2),
         one.name, ink_of(plot, one))
        for one in plot.series if one.points
    ]  # fmt: skip
    if plot.target:
        pieces.append((signs.target, plot.target[0], "target"))
    for shape, what, ink in pieces:
        text = f"{shape} {plain(sanitise(what), view.manner)}"
        if x + cell_len(text) > sheet.width:
            break
        x = sheet.put(x, line, text, ink) + 2
