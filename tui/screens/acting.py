"""The keys by which people say something: the same wherever a cell is in focus."""

import asyncio
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.binding import BindingType
from textual.message import Message

from tui.bench.picture import Bench, Cell
from tui.ink.sparing import Sparing
from tui.journal.tables import JournalError
from tui.panes.pane import View, picked_alarm
from tui.screens import forms, forms_of_ends
from tui.screens.desk import Desk
from tui.screens.entry_screen import EntryScreen
from tui.screens.forms import Form, NotYetError
from tui.screens.help_panel import Possible
from tui.settings.ending import CannotEndError
from tui.words import Raised, plain, sanitise

_ANSWERS = (("a", "acknowledge", "acknowledge an alarm"), ("s", "shelve", "shelve an alarm"))
_FORMS: dict[str, tuple[str, str, Callable[[Cell], Form]]] = {
    "mark": ("m", "mark its phase or step, or a planned hold", forms.marking),
    "note": ("n", "write a note", forms.noting),
    "take": ("b", "take B below its target", forms.taking),
    "rebase": ("r", "a gauge was refilled or set to zero", forms.rebasing),
}
_END = ("e", "end_test", "end the test")
_UNDO = ("z", "take_back", "take an entry back")

ANSWER_KEYS: tuple[BindingType, ...] = _ANSWERS
ACT_KEYS: tuple[BindingType, ...] = (
    *((key, f"say('{act}')", words) for act, (key, words, _) in _FORMS.items()),
    _END,
    _UNDO,
)


class Acting(Sparing):
    """Part of a screen that has a picture, a view and a desk."""

    if TYPE_CHECKING:
        bench: Bench | None
        view: View
    desk: Desk

    class Viewed(Message):
        """Somebody wants another view, or it has become one."""

        def __init__(self, before: View, now: View) -> None:
            super().__init__()
            self.before, self.now = before, now

    def watch_view(self, before: View, now: View) -> None:
        """Tell the app, which remembers it."""
        self.post_message(self.Viewed(before, now))

    def show_trouble(self, trouble: str) -> None:
        """Say on screen why the last look at the bench failed; "" when it did not."""
        raise NotImplementedError

    def meant_folder(self) -> str:
        """Folder of the cell that an act would be about; "" where there is none."""
        raise NotImplementedError

    def _meant(self, *, idle: bool = False) -> Cell:
        if self.desk.closed:
            raise NotYetError(self.desk.closed)
        if self.bench is None:
            raise NotYetError("the bench is being read")
        return forms.cell_of(self.bench, self.meant_folder(), idle=idle)

    def _ask(self, make: Callable[[], Form]) -> None:
        """Open the screen of an act, or say why it is not possible."""
        if self.desk.closed:
            self.tell(self.desk.closed)
            return
        try:
            form = make()
        except NotYetError as error:
            self.tell(str(error))
            return
        assert self.bench is not None
        self.tell("")
        entry = EntryScreen(form, self.bench, self.desk, self.view.manner)
        self.app.push_screen(entry, self._entered)

    def _entered(self, told: str | None) -> None:
        if told is not None:
            self.tell(told)

    def tell(self, words: str) -> None:
        """Say something in the line about the watch, until the next act."""
        said = plain(sanitise(words), self.view.manner)
        if said != self.view.said:
            self.view = replace(self.view, said=said)

    def action_say(self, act: str) -> None:
        """Say something about the cell in focus."""
        self._ask(lambda: _FORMS[act][2](self._meant()))

    def action_acknowledge(self) -> None:
        """Somebody knows of the alarm in focus."""
        self._answer(forms.acknowledging)

    def action_shelve(self) -> None:
        """The alarm in focus is silenced for a while."""
        self._answer(forms.shelving)

    def _answer(self, make: Callable[[Raised], Form]) -> None:
        one = picked_alarm(self.bench, self.view) if self.bench is not None else None
        if one is None:
            self.tell("no alarm is raised")
            return
        # what was pointed at stays meant, whatever becomes more pressing meanwhile
        self.view = replace(self.view, alarm=one.key)
        self._ask(lambda: make(one))

    def action_end_test(self) -> None:
        """End the test of the cell in focus; its settings are read away from the screen."""
        try:
            cell = self._meant()
        except NotYetError as error:
            self.tell(str(error))
            return
        self.run_worker(self._end_test(cell), exclusive=True)

    async def _end_test(self, cell: Cell) -> None:
        try:
            written = await asyncio.to_thread(self.desk.written_end, cell.folder)
        except (CannotEndError, OSError) as error:
            self.tell(str(error))
            return
        if self.app.screen is self:
            self._ask(lambda: forms_of_ends.ending(cell, written))

    def action_take_back(self) -> None:
        """Take an entry back; the journal is read away from the screen."""
        try:
            cell = self._meant(idle=True)
        except NotYetError as error:
            self.tell(str(error))
            return
        self.run_worker(self._take_back(cell), exclusive=True)

    async def _take_back(self, cell: Cell) -> None:
        try:
            entries = await asyncio.to_thread(self.desk.entries, cell.folder)
        except (JournalError, OSError, sqlite3.Error) as error:
            self.tell(f"the journal cannot be read: {error}")
            return
        if self.app.screen is self and self.bench is not None:
            bench = self.bench
            self._ask(lambda: forms_of_ends.undoing(cell, entries, bench))

    def possible(self) -> Possible:
        """What can be said here and now, or why not."""
        raised = self.bench is not None and picked_alarm(self.bench, self.view) is not None
        why = self.desk.closed or ("" if raised else "no alarm is raised")
        found = [(key, words, why) for key, _, words in _ANSWERS]
        for key, words, make in _FORMS.values():
            try:
                make(self._meant())
                found.append((key, words, ""))
            except NotYetError as error:
                found.append((key, words, str(error)))
        try:
            self._meant()
            found.append((_END[0], _END[2], ""))
        except NotYetError as error:
            found.append((_END[0], _END[2], str(error)))
        return (*found, (_UNDO[0], _UNDO[2], self.desk.closed))
