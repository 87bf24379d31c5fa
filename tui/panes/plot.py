"""The plot of the cell in focus."""

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Sheet
from tui.panes.drawing import draw_plot
from tui.panes.pane import TimelessPane, View, picked_cell
from tui.words import plain, sanitise


class PlotPane(TimelessPane):
    """One of the cell's plots; a key goes around them."""

    def of_view(self, view: View) -> object:
        """Which plot, and how it is written: where the wall was moved to is no matter here."""
        return view.manner, view.picked, view.plot, view.window

    def of_bench(self, bench: Bench) -> object:
        """The plot in focus, and which of how many it is."""
        cell = picked_cell(bench, self.view)
        if cell is None:
            return None
        plots = cell.plots
        plot = plots[self.view.plot % len(plots)] if plots else None
        return cell.cell, bench.zone, len(plots), plot

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading and picture."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        cell = picked_cell(bench, view) if bench else None
        if bench is None or cell is None:
            return sheet.lines()
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
