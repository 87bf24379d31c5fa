"""All alarms: a list, the most pressing first, and the one in focus in full."""

from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container

from tui.bench.answering import Answer
from tui.panes.alarms import AlarmListPane, AlarmPane
from tui.panes.masthead import Masthead
from tui.panes.pane import ScrollingPane, picked_alarm
from tui.panes.standing import AlarmKeysPane, ComplaintsPane, StandingPane, complaints
from tui.screens.acting import ACT_KEYS, ANSWER_KEYS
from tui.screens.arrangement import form_of
from tui.screens.forms import NotYetError
from tui.screens.help_over_bench import alarm_help
from tui.screens.help_panel import HelpPanel
from tui.screens.over_bench import OverBench
from tui.words import Raised, raised


class AlarmsScreen(OverBench[str | None]):
    """Gives the folder of the cell that somebody wants to see, or None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "step(1)", "the next alarm"),
        Binding("up,k", "step(-1)", "the alarm before"),
        Binding("pagedown,space", "read_on(1)", "more of what it says"),
        Binding("pageup", "read_on(-1)", "back in what it says"),
        Binding("enter", "cell", "the cell of the alarm", key_display="enter"),
        Binding("escape", "dismiss(None)", "back to the wall"),
        Binding("question_mark", "help", "help: keys and signs"),
        *ANSWER_KEYS,
        *ACT_KEYS,
    ]
    answers_of_cell: ClassVar[bool] = False

    def compose(self) -> ComposeResult:
        """Every pane gets the picture and the view, and nothing else."""
        both = (OverBench.bench, OverBench.view)
        yield Masthead(id="masthead").data_bind(*both)
        with Container(id="raised"):
            yield AlarmListPane(id="list").data_bind(*both)
            yield AlarmPane(id="alarm").data_bind(*both)
        yield ComplaintsPane(id="complaints").data_bind(*both)
        yield StandingPane(id="standing").data_bind(*both)
        yield AlarmKeysPane(id="keys").data_bind(*both)

    def share_out(self, width: int, height: int) -> None:
        """The list as long as it has to be, but the larger part to the one in focus."""
        found = 0 if self.bench is None else len(raised(self.bench))
        complaint = bool(complaints(self.bench, self.view)) and height >= 16
        self.query_one("#complaints").display = complaint
        room = height - 3 - complaint
        self.query_one("#list").styles.height = max(2, min(found + 1, room * 2 // 5))
        form = form_of(width, height)
        if form != self.view.form:
            self.view = replace(self.view, form=form)

    def action_step(self, by: int) -> None:
        """The alarm before or after the one in focus."""
        if self.bench is None or (one := picked_alarm(self.bench, self.view)) is None:
            return
        found = raised(self.bench)
        chosen = found[max(0, min(found.index(one) + by, len(found) - 1))]
        self.view = replace(self.view, alarm=chosen.key)
        self.query_one("#alarm").scroll_to(y=0, animate=False)

    def action_read_on(self, by: int) -> None:
        """More of what the one in focus says."""
        self.query_one("#alarm", ScrollingPane).read_on(by)

    def action_cell(self) -> None:
        """Back to the wall, with the cell of the alarm in focus."""
        self.dismiss(self.meant_folder() or None)

    def action_help(self) -> None:
        """What can be done here, what the signs mean."""
        self.app.push_screen(HelpPanel(self.view.manner, self.possible(), alarm_help()))

    def meant_alarm(self, answer: Answer) -> Raised:  # noqa: ARG002 (both are about the same)
        """The alarm in focus."""
        if self.desk.closed:
            raise NotYetError(self.desk.closed)
        one = picked_alarm(self.bench, self.view) if self.bench is not None else None
        if one is None:
            raise NotYetError("no alarm is raised")
        return one

    def meant_folder(self) -> str:
        """The cell of the alarm in focus; "" for the bench."""
        one = picked_alarm(self.bench, self.view) if self.bench is not None else None
        if one is None:
            return ""
        return one.folder or (one.alarm.cells[0] if one.alarm.cells else "")
