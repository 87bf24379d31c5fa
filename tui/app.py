"""The dashboard: it shows the pictures that another thread makes. It computes nothing."""

import asyncio
import os
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import var
from textual.screen import Screen

from tui.bench.beats import Beats, Following, Look
from tui.ink.themes import theme_after, themes
from tui.screens.last_view import Memory
from tui.screens.opening import Opening
from tui.words import PLAIN, Manner, sanitise

# What draws a bench is imported when the first frame stands, once for all: nothing of it here.
if TYPE_CHECKING:
    from textual.command import Provider

    from tui.bench.picture import Bench
    from tui.screens.acting import Acting
    from tui.screens.desk import Desk


def _offers() -> "type[Provider]":
    from tui.screens.offers import Offers  # noqa: PLC0415 (not for the first frame)

    return Offers


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
    COMMANDS: ClassVar = {_offers}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("t", "theme", "colours: dark, light, high contrast"),
        Binding("q", "leave", "quit"),
        Binding("ctrl+c", "quit", "quit at once"),
    ]

    bench: "var[Bench | None]" = var(None, init=False)
    """The picture; None until the first look."""

    def __init__(
        self,
        following: Following,
        beat_s: float = 1.0,
        manner: Manner = PLAIN,
        pace: str = "",
        desk: "Desk | None" = None,
        theme: str = "dark",
        memory: Memory | None = None,
    ) -> None:
        """Prepare; nothing is looked at before the first frame.

        Args:
            following: where pictures come from.
            beat_s: time between two looks; 0 leaves looking to whoever calls `beat`. [s]
            manner: units, ASCII and colour.
            pace: how time runs when it does not follow the clock, such as "replay × 60".
            desk: where what people say is entered; None where nothing is.
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
        self._manner, self._pace = replace(manner, colour=colour), pace
        self._desk = desk

    def get_default_screen(self) -> Screen[None]:
        """What is painted first."""
        return Opening(self._manner, acts=self.acts)

    def on_mount(self) -> None:
        """The first frame, then the screen of the bench, then one look a beat."""
        if self.beat_s > 0:
            self.call_after_refresh(lambda: self.run_worker(self._go_on()))
        else:
            self._show_bench()

    async def _go_on(self) -> None:
        """Keys are answered while what draws the bench is imported."""
        await asyncio.to_thread(import_module, "tui.screens.bench_screen")
        self._show_bench()
        self._beats.start()

    @property
    def acts(self) -> bool:
        """Whether what people say can be entered."""
        return self._desk is not None and not self._desk.closed

    def desk(self) -> "Desk":
        """Where what people say is entered; asked for once, behind the first frame."""
        from tui.screens.desk import CLOSED  # noqa: PLC0415 (not for the first frame)

        return self._desk or CLOSED

    def _show_bench(self) -> None:
        from tui.panes.pane import View  # noqa: PLC0415 (not for the first frame)
        from tui.screens.bench_screen import BenchScreen  # noqa: PLC0415

        view = self._memory.last.begun(View(self._manner, pace=self._pace, acts=self.acts))
        opening = self.screen
        self.push_screen(BenchScreen(view, self.desk()).data_bind(PorewatchApp.bench))
        if isinstance(opening, Opening):  # what was pressed too early is meant for the bench
            for key in opening.held:
                self.post_message(key)

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
            if (acting := _acting(screen)) is not None and acting.view.trouble != trouble:
                acting.show_trouble(trouble)

    def on_acting_viewed(self, message: "Acting.Viewed") -> None:
        """Remember what somebody wants to see."""
        self._memory.keep(self._memory.last.after(message.before, message.now))

    def action_leave(self) -> None:
        """Quit; a second time is asked for where nobody would be told of alarms any more."""
        acting = _acting(self.screen)
        last = acting is not None and self.bench is not None and _last_eye(self.bench)
        if acting is None or not last or self._pace or acting.view.said == LAST_EYE:
            self.exit()
        else:
            acting.tell(LAST_EYE)

    def action_theme(self) -> None:
        """The next theme, where there are colours."""
        if self._manner.colour:
            self.theme = theme_after(self.theme)
            self._memory.keep(self._memory.last.coloured(self.theme))
        elif (acting := _acting(self.screen)) is not None:
            acting.tell("no colours are shown here")

    def action_command_palette(self) -> None:
        """All that can be done here, where something can be."""
        if (acting := _acting(self.screen)) is not None:
            from tui.screens.offers import Palette  # noqa: PLC0415 (not for the first frame)

            self.push_screen(Palette(acting.view.manner))

    def on_unmount(self) -> None:
        """Nobody looks any more; the terminal is not kept waiting for the last look."""
        self._beats.stop()

    def let_go(self) -> None:
        """Once the screen has ended: see to it that what was followed is let go of."""
        self._beats.close()
        self._memory.finish()


LAST_EYE = "no guard tells of alarms: q again quits"
"""What is said to whoever leaves a bench that nobody else watches; it fits in 40 columns."""


def _last_eye(bench: "Bench") -> bool:
    """Whether tests go on that only this screen tells of."""
    running = (
        not cell.idle and (cell.phase is None or cell.phase.name != "ended") for cell in bench.cells
    )
    return bench.follows_clock and not bench.guard.on_duty and any(running)


def _acting(screen: Screen[object]) -> "Acting | None":
    """A screen of the bench, or nothing."""
    if isinstance(screen, Opening):
        return None
    from tui.screens.acting import Acting  # noqa: PLC0415 (not for the first frame)

    return screen if isinstance(screen, Acting) else None
