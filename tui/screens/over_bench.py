"""A screen over the wall that goes on showing the picture: what all of them share."""

from dataclasses import replace
from typing import Generic, TypeVar

from textual import events
from textual.reactive import var
from textual.screen import Screen

from tui.bench.picture import Bench
from tui.panes.pane import View
from tui.screens.acting import Acting
from tui.screens.desk import Desk

Given = TypeVar("Given")
"""What the screen gives back when it closes."""


class OverBench(Acting, Screen[Given], Generic[Given]):
    """Has a picture, a view and a desk, and is arranged anew whenever one of them changes."""

    bench: var[Bench | None] = var(None, init=False)
    """The picture."""
    view: var[View] = var(View(), init=False)
    """How it is wanted."""

    def __init__(self, bench: Bench | None, view: View, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.set_reactive(OverBench.view, view)
        self.set_reactive(OverBench.bench, bench)

    def on_mount(self) -> None:
        """The first arrangement; from now on pictures come as the app shows them."""
        self.watch(self.app, "bench", self._see, init=False)
        self._arrange()

    def _see(self, bench: Bench | None) -> None:
        self.bench = bench

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._arrange()

    def watch_bench(self) -> None:
        """Something may have come or gone."""
        self._arrange()

    def show_trouble(self, trouble: str) -> None:
        """Say on screen why the last look at the bench failed; "" when it did not."""
        self.view = replace(self.view, trouble=trouble)
        self._arrange()

    def _arrange(self) -> None:
        width, height = self.size
        if width and self.is_mounted:
            self.share_out(width, height)

    def share_out(self, width: int, height: int) -> None:
        """Give every part its room on a screen of so many columns and lines."""
        raise NotImplementedError
