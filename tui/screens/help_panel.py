"""Help: what the signs mean and what the keys do."""

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.ink.signs import signs
from tui.words import NOT_JUDGED, SAFETY, Manner, plain


def help_text(manner: Manner) -> str:
    """The whole of it."""
    s = signs(manner.ascii)
    text = f"""\
KEYS
  ↑ ↓ or k j     cell before, cell after (or point at its lane)
  1 … 9          the cell of that number
  enter, escape  the cell in focus over the whole screen, and back
  tab            its next plot
  + − 0          less time, more time across the lanes, all that matters
  u              SI or US units
  ? q            this help, quit

A LANE
  Left of {s.now} is what was: the phase's own quantity on the fixed scale that its
  caption names; its target is dotted. {s.change} marks where a phase began.
  Right of {s.now} is what is to come: {s.path * 3} the way to the target,
  {s.faint}{s.middle}{s.full} the band from earliest to latest, densest where likeliest,
  {s.event} the event, {s.hand} when hands are needed, {s.beyond} beyond the right end.
  Pressures stand as cell, pore, back; the time after them is their age.

STATES
  ● well  ○ runs (alarms not judged)  △ doubtful: look at it  ‖ halted
  ◌ no phase can be told  ✕ broken: settings or log  ■ ended

SLOTS OF A READING SCHEDULE
  {s.taken} taken   {s.missed} missed   {s.due} not due yet

CAUTION
  {SAFETY}
  In this picture {NOT_JUDGED}. Relief valve, guard and
  a person remain. The cell maker's pressure rating, local rules and the licensed
  practice of your laboratory come first.
"""
    return (
        plain(text, manner)
        if not manner.ascii
        else "\n".join(plain(line, manner) for line in text.splitlines())
    )


class HelpPanel(ModalScreen[None]):
    """A page over the bench; any of its keys closes it."""

    BINDINGS = [Binding("escape,question_mark,q,enter", "dismiss", "close")]  # noqa: RUF012 - the toolkit's form

    def __init__(self, manner: Manner) -> None:
        super().__init__()
        self._manner = manner

    def compose(self) -> ComposeResult:
        """The text, which scrolls where it does not fit."""
        with VerticalScroll(id="help"):
            yield Static(Content(help_text(self._manner)))
