"""The keys by which people say something: the same wherever a cell is in focus."""

import asyncio
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.message import Message

from tui.bench.answering import STILL_OPEN, Answer
from tui.bench.picture import Bench, Cell
from tui.ink.sparing import Sparing
from tui.journal.tables import JournalError
from tui.panes.pane import View
from tui.screens import forms, forms_of_ends
from tui.screens.desk import Desk
from tui.screens.entry_screen import EntryScreen
from tui.screens.forms import Form, NotYetError
from tui.screens.help_panel import Possible
from tui.settings.ending import CannotEndError
from tui.words import Raised, plain, raised, sanitise

_ANSWERS: dict[Answer, tuple[str, str, Callable[[Raised, Bench], Form]]] = {
    "acknowledge": ("a", "acknowledge an alarm", forms.acknowledging),
    "shelve": ("s", "shelve an alarm", forms.shelving),
}
_FORMS: dict[str, tuple[str, str, Callable[[Cell], Form]]] = {
    "mark": ("m", "mark a phase or step, or a planned hold", forms.marking),
    "note": ("n", "write a note", forms.noting),
    "take": ("b", "take B below its target", forms.taking),
    "rebase": ("r", "a gauge was refilled or set to zero", forms.rebasing),
}
_END = ("e", "end_test", "end the test")
_UNDO = ("z", "take_back", "take an entry back")

ANSWER_KEYS: tuple[BindingType, ...] = tuple(
    (key, f"answer('{answer}')", words) for answer, (key, words, _) in _ANSWERS.items()
)
"""Where an alarm is in focus."""
CELL_ANSWER_KEYS: tuple[BindingType, ...] = tuple(
    (key.upper(), f"answer('{answer}')", f"{words} of the cell")
    for answer, (key, words, _) in _ANSWERS.items()
)
"""Where a cell is: the most pressing of its alarms."""
ACT_KEYS: tuple[BindingType, ...] = (
    *((key, f"say('{act}')", words) for act, (key, words, _) in _FORMS.items()),
    _END,
    _UNDO,
)


TOLD_S = 30.0
"""How long what became of a key stands where the watch is told of."""


class Acting(Sparing):
    """Part of a screen that has a picture, a view and a desk."""

    _told = 0

    if TYPE_CHECKING:
        bench: Bench | None
        view: View
    desk: Desk
    answers_of_cell: ClassVar[bool] = True
    """Whether answers are about an alarm of the cell in focus, and not one in focus itself."""

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

    def meant_alarm(self, answer: Answer) -> Raised:
        """The alarm that an answer would be about: the most pressing of the cell in focus.

        Raises:
            NotYetError: there is none that is still to be answered so.
        """
        cell = self._meant(idle=True)
        assert self.bench is not None
        for one in raised(self.bench):
            own = one.folder == cell.folder or cell.folder in one.alarm.cells
            if own and one.alarm.state in STILL_OPEN[answer]:
                return one
        raise NotYetError(f"{sanitise(cell.cell, 24)} has no alarm to {answer}")

    def _meant(self, *, idle: bool = False) -> Cell:
        if self.desk.closed:
            raise NotYetError(self.desk.closed)
        if self.bench is None:
            raise NotYetError("the bench is being read")
        if not self.meant_folder():
            raise NotYetError("no cell is in focus")
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
        """Say something in the line about the watch, for a while or until the next act."""
        said = plain(sanitise(words), self.view.manner)
        self._told += 1
        if said:
            self.set_timer(TOLD_S, partial(self._forget, self._told))
        if said != self.view.said:
            self.view = replace(self.view, said=said)

    def _forget(self, told: int) -> None:
        if told == self._told and self.view.said:
            self.view = replace(self.view, said="")

    def action_say(self, act: str) -> None:
        """Say something about the cell in focus."""
        self._ask(lambda: _FORMS[act][2](self._meant()))

    def action_answer(self, answer: Answer) -> None:
        """Somebody knows of an alarm, or it is silenced for a while."""
        try:
            one = self.meant_alarm(answer)
        except NotYetError as error:
            self.tell(str(error))
            return
        # what was pointed at stays meant, whatever becomes more pressing meanwhile
        self.view = replace(self.view, alarm=one.key)
        seen = self.bench
        assert seen is not None
        self._ask(lambda: _ANSWERS[answer][2](one, seen))

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
        cell = None
        try:
            if self.desk.closed or self.bench is None or self.meant_folder():
                cell = self._meant(idle=True)
        except NotYetError as error:
            self.tell(str(error))
            return
        self.run_worker(self._take_back(cell), exclusive=True)

    async def _take_back(self, cell: Cell | None) -> None:
        folders = ("",) if cell is None else ("", cell.folder)
        try:
            entries = await asyncio.to_thread(self.desk.entries, *folders)
        except (JournalError, OSError, sqlite3.Error) as error:
            self.tell(f"the journal cannot be read: {error}")
            return
        if self.app.screen is self and self.bench is not None:
            bench = self.bench
            self._ask(lambda: forms_of_ends.undoing(cell, entries, bench))

    def possible(self) -> Possible:
        """What can be said here and now, or why not."""
        of_cell, ways = self.answers_of_cell, list[tuple[str, str, Callable[[], object]]]()
        for answer, (key, words, _) in _ANSWERS.items():
            named = (key.upper(), f"{words} of the cell") if of_cell else (key, words)
            ways.append((*named, partial(self.meant_alarm, answer)))
        for key, words, make in _FORMS.values():
            ways.append((key, words, partial(self._tried, make)))
        ways.append((_END[0], _END[2], self._meant))
        found = [(key, words, _why_not(way)) for key, words, way in ways]
        return (*found, (_UNDO[0], _UNDO[2], self.desk.closed))

    def _tried(self, make: Callable[[Cell], Form]) -> Form:
        return make(self._meant())


def _why_not(way: Callable[[], object]) -> str:
    try:
        way()
    except NotYetError as error:
        return str(error)
    return ""
