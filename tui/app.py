"""The dashboard: once a beat it asks for the picture and shows it. It computes nothing."""

import os
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import ClassVar, Protocol

from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import var
from textual.timer import Timer

from tui.bench.picture import Bench
from tui.panes.pane import View
from tui.screens.bench_screen import BenchScreen
from tui.words import PLAIN, Manner, sanitise


class Following(Protocol):
    """Something that knows the picture of the bench at every moment."""

    waits: bool
    """Whether more has arrived than the last beat took."""

    def beat(self) -> Bench:
        """The picture as of now; cheap, never blocks."""
        ...

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this, from any thread, when something has arrived."""
        ...

    def close(self) -> None:
        """Let go of files and threads."""
        ...


EARLY_S = 0.1
"""A row that arrives is shown at once, but not sooner than this after the last look. [s]"""


class Arrived(Message):
    """Rows have come: posted from the thread that reads, however many at a time."""

    def can_replace(self, message: Message) -> bool:
        """One look shows them all."""
        return isinstance(message, Arrived)


class PorewatchApp(App[None]):
    """Shows what it follows, once a beat."""

    CSS_PATH = str(Path(__file__).with_name("porewatch.tcss"))
    TITLE = "Porewatch"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,ctrl+c", "quit", "quit")]

    bench: var[Bench | None] = var(None, init=False)
    """The picture; None until the first look."""

    def __init__(
        self,
        following: Following,
        beat_s: float = 1.0,
        manner: Manner = PLAIN,
        pace: str = "",
    ) -> None:
        """Prepare; nothing is looked at before the first frame.

        Args:
            following: where pictures come from.
            beat_s: time between two looks; 0 leaves looking to whoever calls `beat`. [s]
            manner: units, ASCII and colour.
            pace: how time runs when it does not follow the clock, such as "replay × 60".
        """
        colour = manner.colour and "NO_COLOR" not in os.environ
        # the toolkit strips every colour only where it leaves the terminal its own
        if not colour:
            os.environ["NO_COLOR"] = "1"
        # named again because the toolkit looks at the class's own CSS_PATH only
        super().__init__(css_path=PorewatchApp.CSS_PATH, ansi_color=not colour)
        self.following = following
        self.beat_s = beat_s
        self._early: Timer | None = None
        self._looked_at = 0.0
        self.first_view = View(manner=replace(manner, colour=colour), pace=pace)

    def on_mount(self) -> None:
        """The screen first, then the first look, then one look a beat."""
        self.following.call_on_arrival(lambda: self.post_message(Arrived()))
        self.push_screen(BenchScreen(self.first_view).data_bind(PorewatchApp.bench))
        self.call_after_refresh(self.beat)
        if self.beat_s > 0:
            self.set_interval(self.beat_s, self.beat)

    def on_arrived(self) -> None:
        """Look before the next beat is due, unless that is asked for already."""
        wanted = self.following.waits or self.beat_s <= 1.0  # slow lines are spared early looks
        if wanted and self.beat_s > EARLY_S and self._early is None:
            since_s = time.monotonic() - self._looked_at
            self._early = self.set_timer(max(0.001, EARLY_S - since_s), self.beat)

    def beat(self) -> None:
        """Look once; a look that fails is told on screen and the next one is made all the same."""
        if self._early is not None:
            self._early.stop()
            self._early = None
        try:
            self.bench = self.following.beat()
            trouble = ""
        except Exception as error:  # noqa: BLE001 - a failed look must not close the dashboard
            trouble = f"{type(error).__name__}: {sanitise(str(error))}"
        for screen in self.screen_stack:
            if isinstance(screen, BenchScreen) and screen.view.trouble != trouble:
                screen.show_trouble(trouble)
        self._looked_at = time.monotonic()
        if self.following.waits:
            self.post_message(Arrived())

    def on_unmount(self) -> None:
        """Let go of what was followed."""
        self.following.close()
