"""The plot of the cell in focus."""

from tui.bench.picture import Cell
from tui.ink.sheet import Line, Sheet
from tui.panes.drawing import draw_plot
from tui.panes.pane import TimelessPane, picked_cell
from tui.words import plain, sanitise


class PlotPane(TimelessPane):
    """One of the cell's plots; a key goes around them."""

    _cell: Cell | None = None
    _key: object = None

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading and picture."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        cell = picked_cell(bench, view) if bench else None
        if bench is None or cell is None:
            return sheet.lines()
        key = (width, height, view.manner, view.plot, view.window, bench.zone)
        if cell is self._cell and key == self._key:
            return self.shown  # a plot does not depend on the moment of looking
        self._cell, self._key = cell, key
        name = plain(sanitise(cell.cell, 40), view.manner)
        if not cell.plots:
            sheet.title(name, "", view.signs.rule, view.signs.more)
            sheet.put(1, 1, "no plot for this phase yet", "dim")
            return sheet.lines()
        index = view.plot % len(cell.plots)
        plot = cell.plots[index]
        title = plain(f"{name} · {sanitise(plot.title)}", view.manner)
        which = f"{index + 1} of {len(cell.plots)}" if len(cell.plots) > 1 else ""
        sheet.title(title, which, view.signs.rule, view.signs.more)
        draw_plot(sheet, plot, bench.zone, view)
        return sheet.lines()
