"""Help: what the signs mean and what the keys do."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.ink.sheet import wrap
from tui.ink.signs import signs
from tui.ink.sparing import Sparing
from tui.panes.pane import BlankBars
from tui.words import SAFETY, Manner, plain, sanitise

Possible = tuple[tuple[str, str, str], ...]


WALL_KEYS = """\
KEYS
  ↑ ↓ or k j     cell before, cell after (or point at its lane); page up and
                 down: as many as there are in sight; 1 … 9: by number
  enter          the cell in focus over the whole screen
  tab            its next plot
  ← →            along the time of the lanes, with shift faster; or shift
                 and the wheel; home: the first reading, end: now
  + − 0          less time, more time across the lanes, all that matters
  f              the wall stands still, alarms go on; again: it goes on
  o              order of the lanes: bench, most urgent, next hands
  /              only lanes that tell of what is typed; escape shows all
  u              SI or US units
  t              colours: dark, light, high contrast
  a              all alarms, one of them in full
  h              the handover to the next shift: what is, was and comes
  ctrl+p         all that can be done here, found by a few letters
  ? q            this help, quit
"""
CELL_KEYS = """\
KEYS
  ↑ ↓ or k j     cell before, cell after
  1 … 9          the cell of that number
  enter, escape  back to the wall, with this cell in focus
  tab, shift tab its plots, one way and the other
  ← →            read the plot off, with shift faster; home, end; or point
  + − 0          less of the plot, around what is read off; more; all of it
  page up, down  all that is known of the cell
  u              SI or US units
  t              colours: dark, light, high contrast
  a              all alarms, one of them in full
  h              the handover to the next shift
  ctrl+p         all that can be done here, found by a few letters
  ? q            this help, quit
"""


def help_text(manner: Manner, possible: Possible = (), keys: str = WALL_KEYS) -> str:
    """The whole of it.

    Args:
        manner: how it is to be written.
        possible: what can be said here and now: key, what it does, why not if it cannot.
        keys: what the keys do on the screen beneath.
    """
    s = signs(manner.ascii)
    open_ = [f"  {key}              {what}" for key, what, why in possible if not why]
    closed: dict[str, list[str]] = {}
    for key, _, why in possible:
        if why:
            closed.setdefault(why, []).append(key)
    shut = [line for why, keys in closed.items()
            for line in wrap(f"not now: {' '.join(keys)}: {sanitise(why)}", 64)]  # fmt: skip
    here = "\n".join((*open_, *(f"  {line}" for line in shut)))
    first, second = wrap(SAFETY, 60)
    text = f"""\
{keys}
TO BE SAID HERE AND NOW
{here}

A LANE
  Left of {s.now} is what was: the phase's own quantity on the fixed scale that
  its caption names, its target dotted. {s.change} marks where a phase began.
  Right of {s.now} is what is to come:
    {s.path * 3} the way to the target        {s.event} the event
    {s.faint}{s.middle}{s.full} from earliest to latest, densest where likeliest
    {s.hand} hands are needed             {s.beyond} beyond the right end
  Marks, none of which hides an event or a word:
    {s.check} a B check, {s.unsettled} one that has not settled, on the curve of B
    {s.urgent} an urgent alarm, {s.warned} a warning; {s.lasting * 3} as long as it stood
    {s.visit} a visit that serves this lane; {s.lasting * 3} as long as it may begin
  Where now is out of sight, an arrow says how far it is.
  Pressures stand as cell, pore, back; the time after them is their age.

STATES
  ▲ urgent, △ warning: an alarm stands; ! nobody has acknowledged it
  ● well   ○ runs: not every alarm can be judged   △ doubtful: look at it
  ‖ halted   ◌ no phase can be told   ✕ broken: settings or log   ■ ended
  □ no test runs in it

SLOTS OF A READING SCHEDULE
  {s.taken} taken   {s.missed} missed   {s.due} not due yet

CAUTION
  {first}
  {second}
  Relief valve and a person remain. The cell maker's pressure rating,
  local codes and licensed practice come first.
"""
    return plain(text, manner)


class HelpPanel(Sparing, ModalScreen[None]):
    """A page over the bench; any of its keys closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,q,enter", "dismiss", "close")
    ]

    def __init__(self, manner: Manner, possible: Possible = (), keys: str = WALL_KEYS) -> None:
        super().__init__()
        self._manner, self._possible, self._keys = manner, possible, keys

    def compose(self) -> ComposeResult:
        """The text, which scrolls where it does not fit."""
        page = VerticalScroll(id="help")
        if self._manner.ascii:
            page.vertical_scrollbar.renderer = BlankBars  # type: ignore[misc]
        with page:
            lines = help_text(self._manner, self._possible, self._keys).splitlines(keepends=True)
            heading = "bold $ink-key"
            yield Static(
                Content.assemble(*((line, heading if line.isupper() else "") for line in lines))
            )
