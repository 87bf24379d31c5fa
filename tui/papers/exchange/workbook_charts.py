"""Charts of a workbook: native ones, so that whoever opens it can change them."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from tui.papers.exchange.workbook_curves import Curve
from tui.papers.exchange.workbook_sheets import text

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.chart import Chart
    from xlsxwriter.worksheet import Worksheet

CURVES = "Curves"
"""The sheet that the curves stand on."""
WIDE, HIGH = 620, 380
"""Of a chart. [pixels]"""
ROWS = 20
"""Rows of a sheet that a chart covers."""

Look = Literal["line", "points", "both"]


def chart_of(book: "Workbook", title: str, x: dict[str, Any], y: dict[str, Any]) -> "Chart":
    """An empty chart; axes as the writer of the file wants them."""
    chart = book.add_chart({"type": "scatter", "subtype": "straight"})
    assert chart is not None
    grid = {"major_gridlines": {"visible": True, "line": {"color": "#D9D9D9"}}}
    chart.set_title({"name": title, "name_font": {"size": 11}, "overlay": False})
    chart.set_x_axis({"label_position": "low"} | grid | x)
    chart.set_y_axis({"label_position": "low"} | grid | y)
    chart.set_size({"width": WIDE, "height": HIGH})
    chart.set_legend({"position": "bottom"})
    return chart


def add_line(
    chart: "Chart",
    name: str,
    sheet: str,
    columns: tuple[int, int],
    rows: tuple[int, int],
    look: Look = "line",
) -> None:
    """One line of a chart from cells of a sheet.

    Args:
        chart: to draw in.
        name: in the legend.
        sheet: where the cells are.
        columns: of x and y, from 0.
        rows: first and last, from 0.
        look: with or without marks.
    """
    first, last = rows
    series: dict[str, Any] = {
        "name": text(name).lstrip("="),  # what begins so would be read as a reference
        "categories": [sheet, first, columns[0], last, columns[0]],
        "values": [sheet, first, columns[1], last, columns[1]],
    }
    if look != "line":
        series["marker"] = {"type": "circle", "size": 6}
    if look == "points":
        series["line"] = {"none": True}
    chart.add_series(series)


def curve_chart(
    book: "Workbook",
    curves: Sequence[Curve],
    kind: str,
    title: str,
    *,
    falling: bool = False,
    strains: tuple[str, ...] = (),
) -> "Chart | None":
    """A chart of all curves of a kind; None where there is none.

    Args:
        book: the workbook.
        curves: all that stand on the sheet of curves, in their order.
        kind: which of them.
        title: of the chart.
        falling: whether y grows downwards.
        strains: axes, x or y, that are ratios and show percent.
    """
    found = [(place, curve) for place, curve in enumerate(curves) if curve.kind == kind]
    if not found:
        return None
    x: dict[str, Any] = {"name": found[0][1].x.header}
    y: dict[str, Any] = {"name": found[0][1].y.header}
    for name, axis in (("x", x), ("y", y)):
        if name in strains:
            axis |= {"num_format": "0.0 %", "name": axis["name"].replace(" [-]", "")}
    if falling:
        y["reverse"] = True
        x["label_position"] = "high"  # so that times stand along the lower edge
    if kind == "log time":
        least = min(float(curve.points[0].min()) for _, curve in found)
        x |= {"log_base": 10, "min": 10.0 ** math.floor(math.log10(least)), "crossing": "min"}
    chart = chart_of(book, title, x, y)
    for place, curve in found:
        columns = 2 * place, 2 * place + 1
        add_line(chart, curve.test, CURVES, columns, (1, len(curve.points[0])))
    return chart


def place_charts(sheet: "Worksheet", charts: "Sequence[Chart | None]", row: int) -> None:
    """In pairs below the tables."""
    drawn = [chart for chart in charts if chart is not None]
    for count, chart in enumerate(drawn):
        beside = {"x_offset": (count % 2) * (WIDE + 20)}
        sheet.insert_chart(row + 1 + (count // 2) * ROWS, 0, chart, beside)
