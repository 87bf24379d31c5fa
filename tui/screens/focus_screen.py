"""The cell in focus over the whole screen: its plots, to be read off, and all that is known."""

import asyncio
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container

from tui.bench.picture import Plot
from tui.journal.tables import JournalError
from tui.panes.cursor import Point, at_end, followed, stepped, zoomed
from tui.panes.facts import FactsPane
from tui.panes.focus_plot import FocusPlotPane
from tui.panes.lanes import lanes
from tui.panes.masthead import Masthead
from tui.panes.pane import ScrollingPane, View, picked_cell
from tui.panes.standing import ComplaintsPane, FocusKeysPane, StandingPane, complaints
from tui.screens.acting import ACT_KEYS, CELL_ANSWER_KEYS
from tui.screens.alarms_screen import AlarmsScreen
from tui.screens.arrangement import focused
from tui.screens.handover_screen import HandoverScreen
from tui.screens.help_over_bench import cell_help
from tui.screens.help_panel import HelpPanel
from tui.screens.over_bench import OverBench

FAST = 10
"""Columns that the cursor goes with shift."""
_JOURNAL_S = 30.0
"""Time of the picture after which the journal is read again. [s]"""


class FocusScreen(OverBench[View]):
    """Gives the view with which somebody left: the cell that is in focus now, its plot, units."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "step(1)", "the next cell"),
        Binding("up,k", "step(-1)", "the cell before"),
        Binding("enter,escape", "back", "back to the wall", key_display="esc"),
        Binding("tab", "plot(1)", "the next plot", priority=True),
        Binding("shift+tab", "plot(-1)", "the plot before", priority=True),
        Binding("left", "cursor(-1)", "read the plot off, to the left"),
        Binding("right", "cursor(1)", "read the plot off, to the right"),
        Binding("shift+left", f"cursor(-{FAST})", show=False),
        Binding("shift+right", f"cursor({FAST})", show=False),
        Binding("home", "cursor_end(False)", "read off the first point"),
        Binding("end", "cursor_end(True)", "read off the last point"),
        Binding("plus,equals_sign", "zoom(2.0)", "less of the plot, around what is read off"),
        Binding("minus", "zoom(0.5)", "more of the plot"),
        Binding("0", "fit", "all of the plot"),
        Binding("pagedown,space", "read_on(1)", "more of what is known"),
        Binding("pageup", "read_on(-1)", "back in what is known"),
        Binding("u", "units", "SI or US units"),
        Binding("question_mark", "help", "help: keys and signs"),
        Binding("a", "alarms", "all alarms, one of them in full"),
        Binding("h", "handover", "the handover to the next shift"),
        *CELL_ANSWER_KEYS,
        *ACT_KEYS,
        *(Binding(str(n), f"pick({n})", show=False) for n in range(1, 10)),
    ]

    _read_at = 0.0
    """Moment of the picture at which the journal was read. [s]"""
    _seen_plot = ""
    """Title of the plot that somebody looks at."""

    def compose(self) -> ComposeResult:
        """Every pane gets the picture and the view; what is known gets the journal as well."""
        both = (OverBench.bench, OverBench.view)
        yield Masthead(id="masthead").data_bind(*both)
        with Container(id="focus"):
            yield FocusPlotPane(id="plot").data_bind(*both)
            yield FactsPane(id="facts").data_bind(*both)
        yield ComplaintsPane(id="complaints").data_bind(*both)
        yield StandingPane(id="standing").data_bind(*both)
        yield FocusKeysPane(id="keys").data_bind(*both)

    def on_mount(self) -> None:
        """What the journal says comes as soon as it is read."""
        super().on_mount()
        self._remember_plot()
        self._read_journal()

    def watch_bench(self) -> None:
        """Plots may have come; others may have entered something meanwhile."""
        self._keep_plot()
        super().watch_bench()
        if self.bench is not None and abs(self.bench.at - self._read_at) >= _JOURNAL_S:
            self._read_journal()

    def _keep_plot(self) -> None:
        """What somebody chose, zoomed or reads off stays, whatever plots come before it."""
        view = self.view
        chosen = view.plot != 0 or view.window is not None or view.cursor is not None
        titles = [plot.title for plot in self._plots()]
        if not chosen or not titles or titles[view.plot % len(titles)] == self._seen_plot:
            return
        if self._seen_plot in titles:
            self.view = replace(view, plot=titles.index(self._seen_plot))
        else:
            self.view = replace(view, plot=0, window=None, cursor=None)

    def watch_view(self, before: View, now: View) -> None:
        """Remember which plot it is."""
        super().watch_view(before, now)
        self._remember_plot()

    def _remember_plot(self) -> None:
        plots = self._plots()
        self._seen_plot = plots[self.view.plot % len(plots)].title if plots else ""

    def _plots(self) -> Sequence[Plot]:
        cell = picked_cell(self.bench, self.view) if self.bench is not None else None
        return cell.plots if cell is not None else ()

    def share_out(self, width: int, height: int) -> None:
        """Plot and what is known share the screen; a cell without a plot has more to say."""
        complaint = bool(complaints(self.bench, self.view)) and height >= 16
        shares = focused(width, height, complaint=complaint)
        drawn = bool(shares.plot_rows) and (bool(self._plots()) or not self.meant_folder())
        self.query_one("#complaints").display = complaint
        self.query_one("#masthead").display = shares.masthead
        self.set_class(shares.beside, "beside")
        self.query_one("#plot").display = drawn
        self.query_one("#plot").styles.height = "100%" if shares.beside else shares.plot_rows
        self.query_one("#facts").styles.width = (drawn and shares.facts_columns) or "100%"
        if shares.form != self.view.form:
            self.view = replace(self.view, form=shares.form)

    def _read_journal(self) -> None:
        """Away from the screen, as it may lie on a share."""
        folder = self.meant_folder()
        if self.desk.root is not None and folder and self.bench is not None:
            self._read_at = self.bench.at
            self.run_worker(self._fill(folder), exclusive=True, group="journal")

    async def _fill(self, folder: str) -> None:
        facts = self.query_one("#facts", FactsPane)
        try:
            entries = await asyncio.to_thread(self.desk.entries, folder)
        except (JournalError, OSError, sqlite3.Error) as error:
            facts.notes = str(error)
            return
        if folder == self.meant_folder():
            facts.notes = entries

    def _entered(self, told: str | None) -> None:
        super()._entered(told)
        self._read_journal()

    def _pick(self, folder: str) -> None:
        if folder == self.meant_folder():
            return
        self.view = replace(self.view, picked=folder, plot=0, window=None, cursor=None)
        facts = self.query_one("#facts", FactsPane)
        facts.notes = ()
        facts.scroll_to(y=0, animate=False)
        self._arrange()
        self._read_journal()

    def action_step(self, by: int) -> None:
        """The cell before or after the one in focus."""
        if self.bench is None or (cell := picked_cell(self.bench, self.view)) is None:
            return
        shown = lanes(self.bench, self.view) or self.bench.cells
        index = shown.index(cell) + by if cell in shown else 0
        self._pick(shown[max(0, min(index, len(shown) - 1))].folder)

    def action_pick(self, number: int) -> None:
        """The cell of a number."""
        shown = lanes(self.bench, self.view) if self.bench is not None else ()
        if number <= len(shown):
            self._pick(shown[number - 1].folder)

    def action_plot(self, by: int) -> None:
        """Another of its plots."""
        if plots := self._plots():
            index = (self.view.plot + by) % len(plots)
            self.view = replace(self.view, plot=index, window=None, cursor=None)

    def _read_at_point(self, point: Point | None) -> None:
        plot = self.query_one(FocusPlotPane).plot
        if plot is not None and point is not None:
            window = followed(plot, self.view.window, point)
            self.view = replace(self.view, cursor=point, window=window)

    def on_focus_plot_pane_pointed(self, message: FocusPlotPane.Pointed) -> None:
        """Somebody pointed at the plot."""
        self._read_at_point(message.point)

    def action_cursor(self, by: int) -> None:
        """The line at which the plot is read off, so many columns on."""
        pane, view = self.query_one(FocusPlotPane), self.view
        if pane.plot is not None:
            self._read_at_point(stepped(pane.plot, view.window, view.cursor, by, pane.columns))

    def action_cursor_end(self, last: bool) -> None:
        """That line at the first or the last point."""
        plot = self.query_one(FocusPlotPane).plot
        if plot is not None:
            self._read_at_point(at_end(plot, last=last))

    def action_zoom(self, by: float) -> None:
        """More or less of the plot."""
        plot, view = self.query_one(FocusPlotPane).plot, self.view
        if plot is not None:
            self.view = replace(view, window=zoomed(plot, view.window, view.cursor, by))

    def action_fit(self) -> None:
        """All of the plot."""
        self.view = replace(self.view, window=None)

    def action_read_on(self, by: int) -> None:
        """More of what is known."""
        self.query_one("#facts", ScrollingPane).read_on(by)

    def action_units(self) -> None:
        """SI or US."""
        manner = self.view.manner
        units = replace(manner, units="US" if manner.units == "SI" else "SI")
        self.view = replace(self.view, manner=units)

    def action_back(self) -> None:
        """Back to the wall, with this cell in focus."""
        self.dismiss(replace(self.view, window=None, cursor=None))

    def action_help(self) -> None:
        """What the keys and signs mean."""
        here = cell_help(len(self._plots()), self.view.signs)
        self.app.push_screen(HelpPanel(self.view.manner, self.possible(), here))

    def action_handover(self) -> None:
        """What one shift hands to the next."""
        if self.bench is not None:
            self.app.push_screen(HandoverScreen(self.bench, self.desk, self.view.manner))

    def action_alarms(self) -> None:
        """All alarms, with the one in focus in full."""
        self.tell("")
        self.app.push_screen(AlarmsScreen(self.bench, self.view, self.desk), self._seen)

    def _seen(self, folder: str | None) -> None:
        """Back from the alarms, perhaps to the cell of one."""
        if folder is not None:
            self._pick(folder)

    def meant_folder(self) -> str:
        """The cell in focus."""
        cell = picked_cell(self.bench, self.view) if self.bench is not None else None
        return cell.folder if cell is not None else ""
