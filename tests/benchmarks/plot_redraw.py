"""The plot over the whole screen, drawn anew and ready to be sent, behind many rows and behind few.

What is asked for is at most 10 ms at 160 × 48, whatever lies behind it.
"""

import io
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle
from pathlib import Path
from statistics import median

from pairs import Ratio, ratio, seconds
from rich.console import Console
from row_cost import LongLog

from tui.bench.picture import Bench
from tui.panes.cursor import newest, stepped, whole, zoomed
from tui.panes.focus_plot import FocusPlotPane
from tui.panes.pane import Pane, View

SIZE = (160, 44)
"""Of the plot where it has the whole width. [cells]"""
TIMES = 40


class Redrawn:
    """The pressures of a cell against time, on a pane that no screen shows."""

    def __init__(self, bench: Bench) -> None:
        self._pane = FocusPlotPane()
        self._pane.set_reactive(Pane.bench, bench)
        titles = [plot.title for plot in bench.cells[0].plots]
        self._view = View(plot=titles.index("Pressures against time"))
        self._console = Console(file=io.StringIO(), color_system="truecolor", width=SIZE[0])
        self._look(self._view)
        plot = self._pane.plot
        assert plot is not None
        every = sum(len(series.points) for series in plot.series)
        print(f"  {bench.cells[0].rows_used} rows, {every} points on the plot")
        at = newest(plot)
        self._views = cycle([
            replace(self._view, window=window, cursor=at)
            for window in (None, zoomed(plot, None, at, 2.0), zoomed(plot, None, at, 16.0))
        ])  # fmt: skip
        self._cursors = cycle(self._steps())

    def _steps(self) -> Iterator[View]:
        plot = self._pane.plot
        assert plot is not None
        assert whole(plot) is not None
        at = newest(plot)
        for _ in range(60):
            at = stepped(plot, None, at, -1, SIZE[0])
            yield replace(self._view, cursor=at)

    def _look(self, view: View) -> None:
        self._pane.set_reactive(Pane.view, view)
        for line in self._pane.draw(*SIZE):
            line.strip("dark").render(self._console)

    def zooming(self) -> float:
        """Seconds for a window that was not drawn before; the median of some."""
        return median(seconds(lambda: self._look(next(self._views))) for _ in range(TIMES))

    def reading_off(self) -> float:
        """Seconds for a step of the cursor; the median of some."""
        return median(seconds(lambda: self._look(next(self._cursors))) for _ in range(TIMES))


def measure() -> list[Ratio]:
    """Another window, then the cursor."""
    with tempfile.TemporaryDirectory() as folder:
        long = Redrawn(LongLog(Path(folder) / "long", 600_000).bench)
        short = Redrawn(LongLog(Path(folder) / "short", 1_000).bench)
        return [
            ratio(
                "plot drawn anew behind 600,000 rows / behind 1,000", long.zooming, short.zooming
            ),
            ratio(
                "a step of its cursor behind 600,000 rows / behind 1,000",
                long.reading_off,
                short.reading_off,
            ),
        ]
