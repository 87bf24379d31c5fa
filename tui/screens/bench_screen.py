"""The screen: the wall of lanes, beneath it the cell in focus and what needs hands."""

from dataclasses import replace
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.reactive import var
from textual.screen import Screen

from tui.bench.picture import Bench
from tui.panes.alarms import AlarmsPane
from tui.panes.hands import HandsPane
from tui.panes.lanes import lanes
from tui.panes.masthead import Masthead
from tui.panes.numbers import NumbersPane
from tui.panes.orders import ORDERS
from tui.panes.pane import Pane, View, picked_cell
from tui.panes.plot import PlotPane
from tui.panes.standing import ComplaintsPane, KeysPane, StandingPane, complaints
from tui.panes.wall import Wall
from tui.panes.wall_head import AxisPane
from tui.screens.acting import ACT_KEYS, CELL_ANSWER_KEYS
from tui.screens.alarms_screen import AlarmsScreen
from tui.screens.arrangement import arrange
from tui.screens.desk import CLOSED, Desk
from tui.screens.focus_screen import FocusScreen
from tui.screens.handover_screen import HandoverScreen
from tui.screens.help_panel import HelpPanel
from tui.screens.seek_screen import SeekScreen
from tui.screens.wall_time import TIME_KEYS, WallTime
from tui.words import raised

ALARMS_FROM = 120
"""From so many columns on there is room for a list of the alarms beside the hands."""
SENDING_S = 0.003
"""For what was painted to go to the terminal: while more is drawn, it gets no turn. [s]"""
OF_WALL = ("axis", "wall", "plot", "numbers")
"""Panes that stand still with the wall while it is frozen."""
LOW = 6
"""Lines that the numbers keep at least beside alarms and hands."""


class BenchScreen(WallTime, Screen[None]):
    """All cells of a bench; keys change the view, or open what is said about the cell in focus."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "step(1)", "the next cell"),
        Binding("up,k", "step(-1)", "the cell before"),
        Binding("pagedown", "page(1)", "as many cells on as there are in sight"),
        Binding("pageup", "page(-1)", "as many cells back"),
        Binding("enter", "whole", "the cell in focus over the whole screen", key_display="enter"),
        Binding("tab", "plot", "the next plot of the cell in focus", priority=True),
        *TIME_KEYS,
        Binding("o", "order", "order of the lanes: bench, most urgent, next hands"),
        Binding("slash", "seek", "only lanes that tell of what is typed"),
        Binding("u", "units", "SI or US units"),
        Binding("question_mark", "help", "help: keys and signs"),
        Binding("a", "alarms", "all alarms, one of them in full"),
        Binding("h", "handover", "the handover to the next shift"),
        *CELL_ANSWER_KEYS,
        *ACT_KEYS,
        *(Binding(str(n), f"pick({n})", show=False) for n in range(1, 10)),
    ]

    bench: var[Bench | None] = var(None, init=False)
    """The picture."""
    shown: var[Bench | None] = var(None, init=False)
    """The picture that the wall has: it stays where it was frozen."""
    view: var[View] = var(View(), init=False)
    """How it is wanted."""
    answered: var[View] = var(View(), init=False)
    """The same for what is not the wall: the wall answers a key first, and is painted meanwhile."""

    def __init__(self, view: View, desk: Desk = CLOSED) -> None:
        super().__init__()
        self.desk = desk
        self._arranged: object = None
        self._panes: tuple[Pane, ...] = ()
        self.set_reactive(BenchScreen.view, view)
        self.set_reactive(BenchScreen.answered, view)

    def compose(self) -> ComposeResult:
        """Every pane gets the picture and the view, and nothing else."""
        view, answered = BenchScreen.view, BenchScreen.answered
        yield Masthead(id="masthead").data_bind(view=answered)
        yield AxisPane(id="axis").data_bind(view)
        yield Wall(id="wall").data_bind(view)
        with Horizontal(id="below"):
            yield PlotPane(id="plot").data_bind(view=answered)
            with Vertical(id="side"):
                yield NumbersPane(id="numbers").data_bind(view=answered)
                with Vertical(id="asking"):
                    yield AlarmsPane(id="alarms").data_bind(view=answered)
                    yield HandsPane(id="hands").data_bind(view=answered)
        yield ComplaintsPane(id="complaints").data_bind(view=answered)
        yield StandingPane(id="standing").data_bind(view=answered)
        yield KeysPane(id="keys").data_bind(view=answered)

    def on_mount(self) -> None:
        """The first arrangement, and the picture if there is one already."""
        self._panes = tuple(self.query(Pane))
        self._arrange()
        self._hand_on(self.shown, of_wall=True)
        self._hand_on(self.bench, of_wall=False)

    def _hand_on(self, bench: Bench | None, *, of_wall: bool) -> None:
        """Every pane gets its picture, that of the wall or that of now.

        By hand, as this happens every second: a binding looks after all that a widget has first.
        """
        for pane in self._panes:
            if (pane.id in OF_WALL) == of_wall:
                pane.show(bench)
            elif isinstance(pane, Wall):
                pane.going = bench

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._arrange()

    def watch_bench(self, before: Bench | None, now: Bench | None) -> None:
        """Cells may have come or gone, and with them the room for each."""
        if self.view.frozen is None:
            self.shown = now
        else:
            self._arrange()
        self._hand_on(now, of_wall=False)
        if before is None and now is not None:  # the lane that was in focus is to be seen
            self.call_after_refresh(lambda: self.query_one(Wall).show_picked())

    def watch_view(self, before: View, now: View) -> None:
        """The wall answers, and when that is painted everything else."""
        super().watch_view(before, now)
        if (before.unfocused, before.picked) == (now.unfocused, now.picked):
            self._answer()  # another plot is no matter of the wall
            return
        # what is to be painted of the wall is known here only once it has drawn
        self.query_one(Wall).call_after_refresh(self.call_after_refresh, self._answer_soon)

    def _answer_soon(self) -> None:
        self.set_timer(SENDING_S, self._answer)

    def _answer(self) -> None:
        self.answered = self.view

    def watch_shown(self) -> None:
        """The wall goes on."""
        self._arrange()
        self._hand_on(self.shown, of_wall=True)

    def show_trouble(self, trouble: str) -> None:
        """Say on screen why the last look at the bench failed; "" when it did not."""
        self.view = replace(self.view, trouble=trouble)
        self._arrange()

    def _arrange(self) -> None:
        width, height = self.size
        if not width or not self.is_mounted:
            return
        cells = len(lanes(self.shown, self.view)) if self.shown is not None else 0
        cells = max(cells, 1) if self.shown is not None and self.shown.cells else cells
        complaint = bool(complaints(self.bench, self.view))
        shares = arrange(width, height, cells, complaint)
        alarms = len(raised(self.bench)) if self.bench is not None and width >= ALARMS_FROM else 0
        arranged = (width, height, shares, complaint, cells > 0, alarms)
        if arranged == self._arranged and shares.lane_rows == self.view.lane_rows:
            return
        self._arranged = arranged
        self.query_one("#complaints").display = complaint
        self.query_one("#wall").styles.height = shares.wall
        self.query_one("#axis").display = cells > 0
        below, columns = shares.below, shares.columns
        self.query_one("#below").display = columns > 0
        self.query_one("#below").styles.height = below
        self.query_one("#plot").display = columns != 1
        self.query_one("#numbers").display = columns != 1
        self.set_class(columns == 3, "three")
        # numbers and hands share a column unless there are three
        hands = below if columns in (1, 3) else max(3, below // 3)
        listed = min(alarms + 1, max(2, below // 3)) if alarms else 0
        self.query_one("#alarms").display = listed > 0
        self.query_one("#alarms").styles.height = listed
        self.query_one("#asking").styles.height = (
            "1fr" if columns in (1, 3) else min(hands + listed, max(3, below - LOW))
        )
        if (shares.form, shares.lane_rows) != (self.view.form, self.view.lane_rows):
            self.view = replace(self.view, form=shares.form, lane_rows=shares.lane_rows)

    def _pick(self, index: int) -> None:
        shown = lanes(self.shown, self.view) if self.shown is not None else ()
        if not shown:
            return
        folder = shown[max(0, min(index, len(shown) - 1))].folder
        wall = self.query_one(Wall)
        self.view = replace(self.view, picked=folder, plot=0)
        wall.show_picked()
        self.paint_now(wall)

    def on_wall_picked(self, message: Wall.Picked) -> None:
        """Somebody pointed at a lane."""
        self.view = replace(self.view, picked=message.folder, plot=0)

    def action_step(self, by: int) -> None:
        """The cell before or after the one in focus."""
        if self.shown is None or (cell := picked_cell(self.shown, self.view)) is None:
            return
        shown = lanes(self.shown, self.view)
        self._pick(shown.index(cell) + by if cell in shown else 0)

    def action_page(self, by: int) -> None:
        """As many cells on as there are lanes in sight."""
        wall = self.query_one(Wall)
        self.action_step(by * max(1, wall.size.height // max(1, self.view.lane_rows)))

    def action_pick(self, number: int) -> None:
        """The cell of a number."""
        if self.shown is not None and number <= len(lanes(self.shown, self.view)):
            self._pick(number - 1)

    def action_plot(self) -> None:
        """The next plot of the cell in focus."""
        cell = picked_cell(self.shown, self.view) if self.shown is not None else None
        if cell is not None and cell.plots:
            self.view = replace(self.view, plot=(self.view.plot + 1) % len(cell.plots))

    def action_units(self) -> None:
        """SI or US."""
        manner = self.view.manner
        self.view = replace(
            self.view, manner=replace(manner, units="US" if manner.units == "SI" else "SI")
        )

    @property
    def _live(self) -> View:
        """The view for other screens, on which nothing is frozen."""
        return replace(self.view, frozen=None)

    def action_whole(self) -> None:
        """The cell in focus over the whole screen."""
        if self.meant_folder():
            self.tell("")
            self.app.push_screen(FocusScreen(self.bench, self._live, self.desk), self._left)

    def _left(self, view: View | None) -> None:
        """Back from the whole screen, with the cell, plot and units that were in focus there."""
        if view is not None:
            self.view = replace(self.view, picked=view.picked, plot=view.plot, manner=view.manner)
            self.tell(view.said)  # for a while, like all that is said
            self._narrow(self.view.sought)
            self.query_one(Wall).show_picked()

    def action_help(self) -> None:
        """What the keys and signs mean."""
        self.app.push_screen(HelpPanel(self.view.manner, self.possible()))

    def action_order(self) -> None:
        """The next order of the lanes; what comes first in it is in focus."""
        orders = tuple(ORDERS)
        place = orders.index(self.view.order) if self.view.order in orders else 0
        self.view = replace(self.view, order=orders[(place + 1) % len(orders)])
        if self.view.order == orders[0]:
            self.query_one(Wall).show_picked()
        else:
            self._pick(0)  # who asks what comes first wants to see it

    def action_seek(self) -> None:
        """Narrow the wall by typing."""
        self.app.push_screen(SeekScreen(self.view.sought, self._narrow))

    def _narrow(self, sought: str) -> None:
        self.view = replace(self.view, sought=sought)
        shown = lanes(self.shown, self.view) if self.shown is not None else ()
        if shown and self.meant_folder() not in [cell.folder for cell in shown]:
            self._pick(0)  # what is in focus is to be seen
        self._arrange()
        wall = self.query_one(Wall)  # only once it has drawn there is room to go to the lane
        wall.call_after_refresh(self.call_after_refresh, wall.show_picked)

    def action_handover(self) -> None:
        """What one shift hands to the next."""
        if self.bench is not None:
            self.app.push_screen(HandoverScreen(self.bench, self.desk, self.view.manner))

    def action_alarms(self) -> None:
        """All alarms, with the one in focus in full."""
        self.tell("")
        self.app.push_screen(AlarmsScreen(self.bench, self._live, self.desk), self._seen)

    def _seen(self, folder: str | None) -> None:
        """Back from the alarms, perhaps to the cell of one."""
        cells = lanes(self.shown, self.view) if self.shown is not None else ()
        if folder is not None and folder not in [cell.folder for cell in cells]:
            self._narrow("")  # an alarm's cell is shown, whatever was sought
            cells = lanes(self.shown, self.view) if self.shown is not None else ()
        for index, cell in enumerate(cells):
            if cell.folder == folder:
                self._pick(index)

    def meant_folder(self) -> str:
        """The cell in focus."""
        cell = picked_cell(self.shown, self.view) if self.shown is not None else None
        return cell.folder if cell is not None else ""
