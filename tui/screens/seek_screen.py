"""One line at the foot of the screen in which typing narrows the wall to what is sought."""

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.widgets import Input

from tui.ink.sparing import Sparing


class SeekScreen(Sparing, ModalScreen[None]):
    """Enter keeps what was typed, escape shows all lanes again."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "clear", "all lanes again")]

    def __init__(self, sought: str, narrow: Callable[[str], None]) -> None:
        super().__init__()
        self._sought, self._narrow = sought, narrow

    def compose(self) -> ComposeResult:
        """The line."""
        line = Input(
            self._sought,
            placeholder="type a cell, a phase, a state; enter keeps it, escape shows all",
            id="sought",
            max_length=40,
        )
        line.cursor_blink = False  # a cursor that blinks sends bytes all the time
        yield line

    def on_input_changed(self, event: Input.Changed) -> None:
        """The wall follows while somebody types."""
        self._narrow(event.value)

    def on_input_submitted(self) -> None:
        """Back to the wall."""
        self.dismiss()

    def action_clear(self) -> None:
        """All of them."""
        self._narrow("")
        self.dismiss()
