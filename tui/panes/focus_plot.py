"""A plot of the cell in focus over the whole width: its siblings behind it, a window, a cursor."""

from textual import events
from textual.message import Message

from tui.bench.picture import Bench, Cell, Plot
from tui.bench.set_envelopes import in_its_set
from tui.ink.sheet import Line, Piece, Sheet
from tui.panes.axes import Frame
from tui.panes.cursor import Point, main_series, pointed, read_off, whole
from tui.panes.drawing import draw_cursor, draw_plot
from tui.panes.pane import TimelessPane, picked_cell
from tui.panes.plot_edges import ink_of
from tui.words import plain, sanitise
from tui.words.plots import x_words, y_words

_LOW = 9
"""Lines below which what is read off stands in place of the legend."""

_WEIGHTS = {"readings": 9, "fit": 7, "sibling": 6, "construction": 4}


class FocusPlotPane(TimelessPane):
    """What is drawn rests on the plot alone; the cursor is laid over it."""

    class Pointed(Message):
        """Somebody pointed at the plot."""

        def __init__(self, point: Point) -> None:
            super().__init__()
            self.point = point

    plot: Plot | None = None
    """What is on it."""
    frame: Frame | None = None
    """Where that lies."""
    _key: object = None
    _base: Sheet | None = None

    @property
    def columns(self) -> int:
        """Over which the axis of x goes."""
        return self.frame.width if self.frame is not None else 1

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading, plot, and what is read off."""
        bench, view = self.bench, self.view
        cell = picked_cell(bench, view) if bench else None
        if bench is None or cell is None or not cell.plots:
            self.plot = self.frame = self._base = None
            return Sheet(width, height).lines()
        index = view.plot % len(cell.plots)
        plot = in_its_set(bench, cell, cell.plots[index])
        key = (width, height, view.manner, view.window, bench.zone, cell.cell, index, plot)
        if key != self._key or self._base is None:
            self.plot = plot
            self._base = self._laid_out(bench, cell, index, plot, Sheet(width, height))
            self._key = key
        if self.frame is None or view.cursor is None:
            return self._base.lines()
        sheet = self._base.copy()
        self._read_off(sheet, bench, plot, self.frame, view.cursor)
        return sheet.lines()

    def _laid_out(self, bench: Bench, cell: Cell, index: int, plot: Plot, sheet: Sheet) -> Sheet:
        view = self.view
        name = plain(sanitise(cell.cell, 40), view.manner)
        title = plain(f"{name} · {sanitise(plot.title)}", view.manner)
        which = f"{index + 1} of {len(cell.plots)}"
        everything = whole(plot)
        if view.window is not None and everything is not None:
            times = (everything[1] - everything[0]) / (view.window[1] - view.window[0])
            which = plain(f"× {times:.0f} · {which}", view.manner)
        sheet.title(title, which, view.signs.rule, view.signs.more)
        below = 0 if sheet.height < _LOW else 1
        self.frame = draw_plot(sheet, plot, bench.zone, view, below=below)
        return sheet

    def _read_off(
        self, sheet: Sheet, bench: Bench, plot: Plot, frame: Frame, cursor: Point
    ) -> None:
        view, manner = self.view, self.view.manner
        found = [one for one in read_off(plot, cursor, frame.reach) if one.y is not None]
        main = main_series(plot)
        draw_cursor(
            sheet, view, frame, [one.y for one in found if one.series is main and one.y is not None]
        )
        pieces = [Piece(x_words(plot, cursor[0], bench.zone, manner), "key", 10)]
        alone = sum(one.style == "readings" for one in plot.series) == 1
        for one in found:
            assert one.y is not None
            name = plot.y_label if alone and one.series is main else one.series.name
            words = f" {plain(sanitise(name, 24), manner)} {y_words(plot, one.y, manner)}"
            ink = ink_of(plot, one.series)
            pieces.append(Piece(words, ink, _WEIGHTS[one.series.style]))
        line = sheet.height - 1 if sheet.height >= _LOW else 1
        sheet.put(0, line, " " * sheet.width, "text")
        sheet.flow(0, line, sheet.width, pieces, view.signs.more)

    def on_click(self, event: events.Click) -> None:
        """The cursor goes to the point nearest to there."""
        plot, frame = self.plot, self.frame
        if plot is None or frame is None or not frame.holds(event.x, event.y):
            return
        point = pointed(plot, *frame.at(event.x, event.y))
        if point is not None:
            self.post_message(self.Pointed(point))
