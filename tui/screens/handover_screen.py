"""The page that one shift hands to the next, over the bench."""

import asyncio
import sqlite3
from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.bench.handover import SHIFT_S, handed_over
from tui.bench.picture import Bench
from tui.ink.sparing import Sparing
from tui.journal.entries import Entry
from tui.journal.tables import JournalError
from tui.screens.desk import Desk
from tui.words import Manner, plain, sanitise
from tui.words.handover import handover_lines

_MARGIN, _WIDEST = 6, 100
"""Columns beside the text, and most of the text."""


class HandoverScreen(Sparing, ModalScreen[None]):
    """As `porewatch handover` prints it; its keys close it, the arrows scroll."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,h,q,enter", "dismiss", "close"),
    ]

    def __init__(self, bench: Bench, desk: Desk, manner: Manner) -> None:
        super().__init__()
        self._bench, self._desk, self._manner = bench, desk, manner

    def compose(self) -> ComposeResult:
        """The page, which scrolls; it comes once the journal has been read."""
        with VerticalScroll(id="page"):
            yield Static("", id="brief")

    def on_mount(self) -> None:
        """The journal is read away from the screen."""
        self.query_one("#page").focus()
        self.run_worker(self._fill(), exclusive=True)

    async def _fill(self) -> None:
        entries: tuple[Entry, ...] = ()
        trouble = ""
        if self._desk.root is not None:
            try:
                entries = await asyncio.to_thread(self._desk.all_entries)
            except (JournalError, OSError, sqlite3.Error) as error:
                trouble = f"the journal cannot be read, notes are missing: {sanitise(str(error))}"
        bench = self._bench
        handed = handed_over(bench, entries, bench.at - SHIFT_S)
        width = min(self.app.size.width - _MARGIN, _WIDEST)
        manner = self._manner
        lines = handover_lines(handed, replace(manner, colour=False), width)
        if trouble:
            lines.insert(0, plain(trouble, manner))
        self.query_one("#brief", Static).update(Content("\n".join(lines)))
