"""The dashboard: it shows the pictures that another thread makes. It computes nothing."""

import os
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import var

from tui.bench.beats import Beats, Following, Look
from tui.bench.picture import Bench
from tui.ink.themes import theme_after, themes
from tui.panes.pane import View
from tui.screens.acting import Acting
from tui.screens.alarms_screen import AlarmsScreen
from tui.screens.bench_screen import BenchScreen
from tui.screens.desk import CLOSED, Desk
from tui.screens.focus_screen import FocusScreen
from tui.screens.last_view import Memory
from tui.screens.offers import Offers, Palette
from tui.words import PLAIN, Manner, sanitise

_TELLING = (BenchScreen, AlarmsScreen, FocusScreen)
"""Screens that say when a look failed."""


class Looked(Message):
    """The thread that makes pictures has made one."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look

    def can_replace(self, message: Message) -> bool:
        """The newest is shown; those that came before it need not be."""
        return isinstance(message, Looked)


class PorewatchApp(App[None]):
    """Shows what it follows, as its pictures come."""

    CSS_PATH = str(Path(__file__).with_name("porewatch.tcss"))
    TITLE = "Porewatch"
    COMMANDS: ClassVar = {Offers}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("t", "theme", "colours: dark, light, high contrast"),
        Binding("q,ctrl+c", "quit", "quit"),
    ]

    bench: var[Bench | None] = var(None, init=False)
    """The picture; None until the first look."""

    def __init__(
        self,
        following: Following,
        beat_s: float = 1.0,
        manner: Manner = PLAIN,
        pace: str = "",
        desk: Desk = CLOSED,
        theme: str = "dark",
        memory: Memory | None = None,
    ) -> None:
        """Prepare; nothing is looked at before the first frame.

        Args:
            following: where pictures come from.
            beat_s: time between two looks; 0 leaves looking to whoever calls `beat`. [s]
            manner: units, ASCII and colour.
            pace: how time runs when it does not follow the clock, such as "replay × 60".
            desk: where what people say is entered.
            theme: dark, light or contrast.
            memory: the view with which somebody left, to go on with; None begins anew.
        """
        colour = manner.colour and "NO_COLOR" not in os.environ
        # the toolkit strips every colour only where it leaves the terminal its own
        if not colour:
            os.environ["NO_COLOR"] = "1"
        # named again because the toolkit looks at the class's own CSS_PATH only
        super().__init__(css_path=PorewatchApp.CSS_PATH, ansi_color=None if colour else True)
        self.animation_level = "none"
        for one in themes():
            self.register_theme(one)
        # names are asked for only where colours of our own would be bent to the nearest of 16
        self.theme = f"{theme}-16" if self.console.color_system == "standard" else theme
        self.beat_s = beat_s
        self._beats = Beats(following, beat_s, lambda look: self.post_message(Looked(look)))
        self._memory = memory or Memory(None)
        self.first_view = self._memory.last.begun(
            View(manner=replace(manner, colour=colour), pace=pace, acts=not desk.closed)
        )
        self._desk = desk

    def on_mount(self) -> None:
        """The screen first, then the first look, then one look a beat."""
        self.push_screen(BenchScreen(self.first_view, self._desk).data_bind(PorewatchApp.bench))
        if self.beat_s > 0:
            self.call_after_refresh(self._beats.start)

    def beat(self) -> None:
        """Look here and now, and show it: for whoever leads the dashboard by hand."""
        self.show(self._beats.look())

    def on_looked(self, message: Looked) -> None:
        """A picture has come."""
        self.show(message.look)

    def show(self, look: Look) -> None:
        """Show the picture; a look that failed is told beside the picture before it."""
        self.bench = look.bench
        failure, trouble = look.failure, ""
        if failure is not None:
            trouble = f"{type(failure).__name__}: {sanitise(str(failure))}"
        for screen in self.screen_stack:
            if isinstance(screen, _TELLING) and screen.view.trouble != trouble:
                screen.show_trouble(trouble)

    def on_acting_viewed(self, message: Acting.Viewed) -> None:
        """Remember what somebody wants to see."""
        self._memory.keep(self._memory.last.after(message.before, message.now))

    def action_theme(self) -> None:
        """The next theme, where there are colours."""
        if self.first_view.manner.colour:
            self.theme = theme_after(self.theme)
            self._memory.keep(self._memory.last.coloured(self.theme))
        elif isinstance(self.screen, Acting):
            self.screen.tell("no colours are shown here")

    def action_command_palette(self) -> None:
        """All that can be done here, where something can be."""
        if isinstance(self.screen, Acting):
            self.push_screen(Palette())

    def on_unmount(self) -> None:
        """Nobody looks any more; the terminal is not kept waiting for the last look."""
        self._beats.stop()

    def let_go(self) -> None:
        """Once the screen has ended: see to it that what was followed is let go of."""
        self._beats.close()
        self._memory.finish()
