"""The page that one shift hands to the next, over the bench."""

import asyncio
import sqlite3
from dataclasses import replace
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.bench.handover import SHIFT_S, Handover, handed_over
from tui.bench.picture import Bench
from tui.ink.sparing import Sparing
from tui.journal.entries import Entry
from tui.journal.tables import JournalError
from tui.panes.pane import BlankBars
from tui.screens.desk import Desk
from tui.settings.problems import Problem
from tui.words import Manner
from tui.words.handover import handover_lines

_WIDEST = 100
"""Columns of text at most."""
_AIRY = 60
"""From here on the text has a margin at its sides. [columns]"""


class HandoverScreen(Sparing, ModalScreen[None]):
    """As `porewatch handover` prints it; its keys close it, the arrows scroll."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,h,q,enter", "dismiss", "close"),
    ]

    def __init__(self, bench: Bench, desk: Desk, manner: Manner) -> None:
        super().__init__()
        self._bench, self._desk, self._manner = bench, desk, manner
        self._handed: Handover | None = None

    def compose(self) -> ComposeResult:
        """The page, which scrolls; it comes once the journal has been read."""
        with VerticalScroll(id="page"):
            yield Static("", id="brief")

    def on_mount(self) -> None:
        """The journal is read away from the screen."""
        page = self.query_one("#page")
        page.focus()
        if self._manner.ascii:
            page.vertical_scrollbar.renderer = BlankBars  # type: ignore[misc]
        self.run_worker(self._fill(), exclusive=True)

    def on_resize(self, _event: events.Resize) -> None:
        """Another width, other lines."""
        self._lay()

    async def _fill(self) -> None:
        entries: tuple[Entry, ...] = ()
        problems: tuple[Problem, ...] = ()
        if self._desk.root is not None:
            try:
                entries, problems = await asyncio.to_thread(self._desk.journal)
            except (JournalError, OSError, sqlite3.Error) as error:
                what = f"the journal cannot be read: {error}"
                problems = (Problem("warning", what, "notes and answers are missing here"),)
        told = tuple(dict.fromkeys((*self._bench.problems, *problems)))
        bench = replace(self._bench, problems=told)
        self._handed = handed_over(bench, entries, bench.at - SHIFT_S)
        self._lay()

    def _lay(self) -> None:
        if self._handed is None:
            return
        margin = 2 if self.size.width >= _AIRY else 0
        page = self.query_one("#page")
        page.styles.padding = (0, margin)
        bar = page.scrollbar_size_vertical
        width = min(self.size.width - 2 * margin - bar, _WIDEST)
        lines = handover_lines(self._handed, replace(self._manner, colour=False), width)
        self.query_one("#brief", Static).update(Content("\n".join(lines)))
