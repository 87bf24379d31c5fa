"""Charts drawn by matplotlib as vectors: SVG with text as text, PDF pages with embedded fonts.

Nothing of matplotlib's global state is touched but its settings while a figure is drawn; there is
no pyplot. A `$` in a name is a dollar: text is never read as formulas.
"""

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from tui.papers.report.said import Chart, Charts, Line

WIDTH_MM, HEIGHT_MM = 170.0, 80.0
"""Of a chart that stands alone."""
HALF_WIDTH_MM, HALF_HEIGHT_MM = 84.0, 68.0
"""Of one of two beside each other."""

_INCH_MM = 25.4
_RC: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 7.5,
    "axes.linewidth": 0.6,
    "axes.titlesize": 7.5,
    "grid.linewidth": 0.35,
    "grid.color": "#c9c9c9",
    "legend.fontsize": 6.5,
    "legend.framealpha": 0.85,
    "legend.edgecolor": "#c9c9c9",
    "lines.linewidth": 1.0,
    "pdf.fonttype": 42,
    "svg.fonttype": "none",
    "svg.hashsalt": "porewatch",
    "text.parse_math": False,
    "axes.unicode_minus": True,
    "axes.formatter.use_mathtext": False,
    "xtick.labelsize": 6.5,
    "ytick.labelsize": 6.5,
}

_STYLES: dict[str, dict[str, Any]] = {
    "readings": {"color": "#123f6d", "linewidth": 1.1},
    "second": {"color": "#8a4b08", "linewidth": 0.9, "linestyle": (0, (5, 2))},
    "fit": {"color": "#1c7a4a", "linewidth": 1.0},
    "construction": {"color": "#555555", "linewidth": 0.7, "linestyle": (0, (2, 1.5))},
    "limit": {"color": "#a01818", "linewidth": 0.8, "linestyle": (0, (8, 2, 1, 2))},
}
"""Lines differ by their dashes as well: a copier knows no colours."""
_DASHES = ((2, 1.5), (6, 2), (1, 1), (6, 2, 1, 2), (3, 3), (10, 2))
"""Of the lines of one construction, one after the other."""
_FEW = 90
"""Readings that are shown each by itself."""
_SIGNS = ("s", "^", "D", "v")
"""Of marks, so that they can be told without colour."""


@dataclass(frozen=True, slots=True)
class Size:
    """Of a figure. [mm]"""

    width: float
    height: float


def size_of(charts: Charts) -> Size:
    """What each chart of a row takes."""
    if len(charts.charts) > 1:
        return Size(HALF_WIDTH_MM, HALF_HEIGHT_MM)
    chart = charts.charts[0]
    return Size(WIDTH_MM, _height_of(chart) if chart.square else HEIGHT_MM)


def _height_of(chart: Chart) -> float:
    """What a chart with equal scales needs over its whole width. [mm]"""
    x = [point[0] for line in chart.lines for point in line.points]
    y = [point[1] for line in chart.lines for point in line.points]
    wide = max(x, default=1.0) - (0.0 if chart.from_origin else min(x, default=0.0))
    high = max(y, default=1.0)
    rest = 24.0  # axis, names and legend
    return min(max(rest + (WIDTH_MM - 18.0) * high / wide if wide else 0.0, 50.0), HEIGHT_MM)


@contextmanager
def _settings() -> Iterator[None]:
    with rc_context(_RC):
        yield


def as_svg(chart: Chart, size: Size, prefix: str) -> str:
    """A chart as an SVG element for a page; its ids begin with a prefix of their own."""
    stream = io.StringIO()
    with _settings():
        figure = _drawn(chart, size)
        FigureCanvasSVG(figure).print_svg(  # type: ignore[no-untyped-call]
            stream, metadata={"Date": None, "Creator": None, "Format": None, "Type": None}
        )
    return _as_element(stream.getvalue(), chart, prefix)


def as_pdf_pages(charts: Sequence[tuple[Chart, Size]]) -> bytes:
    """Charts as the pages of one PDF, so that they share their fonts."""
    stream = io.BytesIO()
    with (
        _settings(),
        PdfPages(
            stream, metadata={"CreationDate": None, "Creator": None, "Producer": None}
        ) as pages,
    ):
        for chart, size in charts:
            figure = _drawn(chart, size)
            FigureCanvasPdf(figure)
            pages.savefig(figure)
    return stream.getvalue()


_REFERENCE = re.compile(r'(\bid="|xlink:href="#|url\(#)')


def _as_element(svg: str, chart: Chart, prefix: str) -> str:
    """The element alone, so that many can stand in one page: no two ids are alike."""
    begin = svg.index("<svg")
    body = _REFERENCE.sub(lambda found: found[1] + prefix, svg[begin:])
    head, rest = body.split(">", 1)
    rest = re.sub(r"<metadata>.*?</metadata>", "", rest, flags=re.DOTALL)
    return f'{head} role="img" aria-label="{_attribute(chart.title)}">{rest}'


def _attribute(text: str) -> str:
    return text.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")


def _drawn(chart: Chart, size: Size) -> Figure:
    figure = Figure(figsize=(size.width / _INCH_MM, size.height / _INCH_MM))
    axes: Axes = figure.add_axes(_frame(chart, size))
    constructed = 0
    for line in chart.lines:
        _draw_line(axes, line, constructed)
        constructed += line.style == "construction"
    _draw_marks(axes, chart)
    axes.set_xlabel(chart.x.words)
    axes.set_ylabel(chart.y.words)
    if chart.x.log:
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.grid(True, which="both" if chart.x.log else "major")
    if chart.square:
        axes.set_aspect("equal", adjustable="box")
        axes.set_ylim(bottom=0.0)
    if chart.from_origin:
        axes.set_xlim(left=0.0)
    if chart.y.downwards:
        axes.invert_yaxis()
    _, names = axes.get_legend_handles_labels()
    if names and chart.square:
        # A path may go anywhere: no corner is free for sure
        figure.legend(loc="lower center", ncols=2)
    elif names:
        axes.legend(loc="best")
    return figure


def _frame(chart: Chart, size: Size) -> tuple[float, float, float, float]:
    """Where the axes stand: left, bottom, width and height as shares of the figure.

    Margins are as wide as their words need. To let matplotlib find them takes as long as to draw.
    """
    left, right, top, bottom = 14.0, 4.0, 3.0, 10.0
    if chart.square:
        bottom += 4.0 + 3.6 * -(-_entries(chart) // 2)
    wide, high = size.width - left - right, size.height - top - bottom
    return left / size.width, bottom / size.height, wide / size.width, high / size.height


def _entries(chart: Chart) -> int:
    """Of the legend."""
    named = {mark.name for mark in chart.marks}
    return sum(bool(line.name and line.points) for line in chart.lines) + len(named)


def _draw_line(axes: Axes, line: Line, constructed: int) -> None:
    if not line.points:
        return
    look = dict(_STYLES[line.style])
    if line.style == "construction":
        look["linestyle"] = (0, _DASHES[constructed % len(_DASHES)])
    if line.dots and len(line.points) <= _FEW:
        sign = "x" if line.style == "second" else "o"
        look |= {"marker": sign, "markersize": 2.6, "markeredgewidth": 0.7}
    x, y = zip(*line.points, strict=True)
    # A name that begins with "_" would be left out of the legend
    axes.plot(x, y, label=f" {line.name}" if line.name else "_", **look)


def _draw_marks(axes: Axes, chart: Chart) -> None:
    for number, name in enumerate(dict.fromkeys(mark.name for mark in chart.marks)):
        alike = [mark for mark in chart.marks if mark.name == name]
        axes.plot(
            [mark.x for mark in alike],
            [mark.y for mark in alike],
            linestyle="none",
            marker=_SIGNS[number % len(_SIGNS)],
            markersize=4.5,
            markerfacecolor="none",
            markeredgecolor="#a01818",
            label=f" {name}",
            zorder=4,
        )
