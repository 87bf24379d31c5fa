"""A small screen on which one act is filled in, read once more, and entered."""

import asyncio
from typing import ClassVar

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.reactive import var
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tui.bench.picture import Bench
from tui.ink.sheet import clip
from tui.ink.sparing import Sparing
from tui.journal.tables import JournalError
from tui.screens.desk import Desk
from tui.screens.forms import Draft, Field, Form, NotYetError
from tui.settings.ending import CannotEndError
from tui.words import Manner, message, plain, sanitise

_KEYS = "enter: enter it   tab: next line   esc: leave"


class Choice(Static, can_focus=True):
    """One of several words; left and right change it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,space", "turn(1)", "next"),
        Binding("left", "turn(-1)", "before"),
    ]

    class Turned(Message):
        """Another word stands there."""

    def __init__(self, field: Field, manner: Manner) -> None:
        super().__init__(markup=False)
        self._choices, self._manner = field.choices, manner
        self._index = field.choices.index(field.value)

    @property
    def value(self) -> str:
        """The word that stands there."""
        return self._choices[self._index]

    def on_mount(self) -> None:
        """The first word."""
        self.action_turn(0)

    def on_resize(self, _event: events.Resize) -> None:
        """Another width."""
        self._show()

    def on_key(self, event: events.Key) -> None:
        """A letter leads to the next word that begins with it."""
        letter = event.character or ""
        if not (letter.isalpha() and len(letter) == 1):
            return
        event.stop()
        for step in range(1, len(self._choices) + 1):
            word = self._choices[(self._index + step) % len(self._choices)]
            if word.casefold().startswith(letter.casefold()):
                self.action_turn(step)
                return

    def action_turn(self, by: int) -> None:
        """The word before or after."""
        self._index = (self._index + by) % len(self._choices)
        self._show()
        self.post_message(self.Turned())

    def _show(self) -> None:
        """The word, cut where it would hide how many there are."""
        tail = f" › {self._index + 1} of {len(self._choices)}"
        room = max(8, self.size.width - 2 - cell_len(tail)) if self.size.width else 60
        value = clip(sanitise(self.value, 60), room, "…")
        self.update(Content(plain(f"‹ {value}{tail}", self._manner)))


class EntryScreen(Sparing, ModalScreen[str | None]):
    """Gives what became of it in words; None if it was left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "leave"),
        Binding("enter", "enter", "enter it"),
        Binding("down", "app.focus_next", "next line"),
        Binding("up", "app.focus_previous", "line before"),
    ]

    bench: var[Bench | None] = var(None, init=False)
    """The picture: what is said holds at its moment."""

    def __init__(self, form: Form, bench: Bench, desk: Desk, manner: Manner) -> None:
        super().__init__(classes="plain" if manner.ascii else None)
        self.set_reactive(EntryScreen.bench, bench)
        self._form, self._desk, self._manner = form, desk, manner
        self._lines: dict[str, Input | Choice] = {}
        self._asked = False
        self._entering = False
        self.VERTICAL_BREAKPOINTS = [(0, "low"), (16, "high")]

    def compose(self) -> ComposeResult:
        """What it concerns, the lines, what it will say."""
        who = Field("who", "who", self._desk.who, hint="your name")
        with VerticalScroll(id="entry", can_focus=False):
            title = (self._form.title, "bold $ink-key")
            about = f"  {message(self._form.about, self._manner)}"
            yield Static(Content.assemble(title, about), classes="about")
            for field in (*self._form.fields, who):
                with Horizontal(classes="line"):
                    yield Static(Content(field.label), classes="label")
                    yield self._line(field)
            yield Static("", id="says", markup=False)
            yield Static(Content(_KEYS), id="entry-keys")

    def _line(self, field: Field) -> Input | Choice:
        line: Input | Choice
        if field.choices:
            line = Choice(field, self._manner)
        else:
            hint = plain(field.hint, self._manner)
            line = Input(field.value, hint, compact=True, max_length=500)
            line.cursor_blink = False  # a cursor that blinks sends bytes all the time
        self._lines[field.name] = line
        return line

    def on_mount(self) -> None:
        """Begin at the first line."""
        self.watch(self.app, "bench", self._see, init=False)
        next(iter(self._lines.values())).focus()
        self._tell()

    def _see(self, bench: Bench | None) -> None:
        self.bench = bench

    def on_input_changed(self, _event: Input.Changed) -> None:
        """Another answer."""
        self._asked = False
        self._tell()

    def on_choice_turned(self, _event: Choice.Turned) -> None:
        """Another answer."""
        self._asked = False
        self._tell()

    def on_input_submitted(self, _event: Input.Submitted) -> None:
        """The key enter on a line of text."""
        self.action_enter()

    def _draft(self) -> Draft:
        if self.bench is None:
            raise NotYetError("there is no picture of the bench yet")
        answers = {name: line.value for name, line in self._lines.items()}
        return self._form.draft(answers, self.bench, self._desk.now())

    def _tell(self) -> None:
        try:
            self._say(self._draft().says, "text")
        except NotYetError as error:
            self._say(str(error), "dim")

    def _say(self, words: str, ink: str) -> None:
        text = plain(sanitise(words), self._manner)
        self.query_one("#says", Static).update(Content.styled(text, f"$ink-{ink}"))

    def action_enter(self) -> None:
        """Enter it, or say what is missing; where it matters, only at the second time."""
        if self._entering:
            return
        try:
            draft = self._draft()
        except NotYetError as error:
            self._say(f"Not yet: {error}", "bad")
            return
        if draft.sure and not self._asked:
            self._asked = True
            self._say(f"{draft.says} {draft.sure} Enter once more enters it.", "warn")
            # in few lines the question would else stand beneath the last of them
            self.call_after_refresh(self.query_one("#entry").scroll_end, animate=False)
            return
        self._entering = True
        self._desk.who = self._lines["who"].value.strip()
        self._say("it is being entered", "dim")
        self.run_worker(self._enter(draft))

    async def _enter(self, draft: Draft) -> None:
        # A journal on a share may keep one waiting: not the screen.
        try:
            entered = await asyncio.to_thread(
                self._desk.enter, draft.acts, draft.refers, resumes=draft.resumes
            )
        except (CannotEndError, JournalError, OSError) as error:
            self._entering = False
            self._say(f"Nothing was entered: {error}", "bad")
            return
        number = ", ".join(map(str, entered.numbers))
        told = f"{self._of(draft)}entry {number} is in the journal: {self._form.title.lower()}"
        if draft.refers is None:
            told += "; z takes it back"
        self.dismiss(f"{told}; {entered.elsewhere}" if entered.elsewhere else told)

    def _of(self, draft: Draft) -> str:
        """The cells that it is about: what was entered is told after the screen has gone on."""
        assert self.bench is not None
        names = {cell.folder: sanitise(cell.cell, 24) for cell in self.bench.cells}
        about = dict.fromkeys(names[act.cell] for act in draft.acts if act.cell in names)
        return f"{', '.join(about)}: " if about else ""
