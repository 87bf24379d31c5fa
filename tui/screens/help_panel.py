"""Help: what the signs mean and what the keys do."""

import re
from typing import ClassVar

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.ink.sheet import wrap
from tui.ink.signs import Signs, signs
from tui.ink.sparing import Sparing
from tui.panes.pane import BlankBars
from tui.screens.help_over_bench import Help
from tui.words import SAFETY, Manner, plain, sanitise

_KEY = re.compile(r"  (?=\S)(?!not now).{14} (?=\S)")
"""A key and the blanks behind it."""
_GOES_ON = re.compile(r" {17}\S|  [a-z]")
"""How a line begins that goes on with the one before, unless it has a key."""
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
  ? q            this help, quit; ctrl+c: at once
"""


def help_text(manner: Manner, possible: Possible = (), on: Help | None = None) -> str:
    """The whole of it.

    Args:
        manner: how it is to be written.
        possible: what can be said here and now: key, what it does, why not if it cannot.
        on: keys and signs of the screen beneath; the wall's without any.
    """
    s = signs(manner.ascii)
    keys, drawn = (WALL_KEYS, _lane(s)) if on is None else on
    open_ = [f"  {key}              {what}" for key, what, why in possible if not why]
    closed: dict[str, list[str]] = {}
    for key, _, why in possible:
        if why:
            closed.setdefault(why, []).append(key)
    shut = [f"not now: {' '.join(keys)}: {sanitise(why)}" for why, keys in closed.items()]
    here = "\n".join((*open_, *(f"  {line}" for line in shut)))
    between = "\n" if drawn else ""
    first, second = wrap(SAFETY, 60)
    text = f"""\
{keys}
TO BE SAID HERE AND NOW
{here}

{drawn}{between}STATES
{_states(manner)}
SLOTS OF A READING SCHEDULE
  {s.taken} taken   {s.missed} missed   {s.due} not due yet

CAUTION
  {first}
  {second}
  Relief valve and a person remain. The cell maker's pressure rating,
  local codes and licensed practice come first.
"""
    return plain(text, manner)


_STATES = (
    ("▲ urgent", "an alarm stands: a specimen or a person may come to harm"),
    ("△ warning", "an alarm stands: readings may come to harm"),
    ("!", "behind them: nobody has acknowledged it yet"),
    ("● well", "nothing stands, and every alarm can be judged"),
    ("○ runs", "no more than a note, or not every alarm can be judged"),
    ("△ doubtful", "its settings, its clock or its phase want a look"),
    ("◌ no phase", "no phase can be told"),
    ("✕ broken", "settings or log: not judged until that is mended"),
    ("‖ halted", "the test is interrupted"),
    ("■ ended", "the test has ended"),
    ("□ no test", "no test runs in it"),
    ("◦ reading", "its logs are being read"),
)


def _states(manner: Manner) -> str:
    """A line a state, laid out as keys are."""
    return "".join(f"  {plain(sign, manner):<14} {words}\n" for sign, words in _STATES)


def _lane(s: Signs) -> str:
    return f"""\
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
  Pressures stand as cell, back, pore; the time after them is their age.
"""


def unfolded(text: str) -> list[str]:
    """Its lines, each whole that was folded for a page of usual width.

    Example:
        >>> unfolded("  + − 0          less time, more time,\\n                 all that matters")
        ['  + − 0          less time, more time, all that matters']
    """
    lines: list[str] = []
    for line in text.split("\n"):
        is_new = _KEY.match(line) is not None or _GOES_ON.match(line) is None
        if is_new or line.startswith("  not now") or not lines or not lines[-1].strip():
            lines.append(line)
        else:
            lines[-1] = f"{lines[-1]} {line.strip()}"
    return lines


def hung(line: str, width: int) -> list[str]:
    """A line in as many as it needs; what a key does goes on beneath itself.

    Example:
        >>> hung("  tab            its next plot", 27)
        ['  tab            its next', '                 plot']
    """
    if cell_len(line) <= width:
        return [line]
    key = _KEY.match(line)
    start = key.end() if key is not None else len(line) - len(line.lstrip())
    first, *rest = wrap(line[start:], max(8, width - start))
    return [line[:start] + first, *(" " * start + part for part in rest)]


class _Folded(Static):
    """A text; lines that do not fit go on beneath what they say, not beneath their key."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self._text, self._width = text, 0

    def on_resize(self, event: events.Resize) -> None:
        """Its own width is what a bar beside it leaves."""
        width = event.size.width
        if width == self._width:
            return
        self._width = width
        lines = [part for line in unfolded(self._text) for part in hung(line, width)]
        heading = "bold $ink-key"
        self.update(
            Content.assemble(*((f"{line}\n", heading if line.isupper() else "") for line in lines))
        )


class _Page(VerticalScroll):
    """The text, which scrolls where it does not fit."""

    def __init__(self, text: str, manner: Manner) -> None:
        super().__init__(id="help")
        self._text = text
        if manner.ascii:
            self.vertical_scrollbar.renderer = BlankBars  # type: ignore[misc]

    def compose(self) -> ComposeResult:
        """It is filled once its width is known."""
        yield _Folded(self._text)


class HelpPanel(Sparing, ModalScreen[None]):
    """A page over the bench; any of its keys closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,q,enter", "dismiss", "close")
    ]

    def __init__(self, manner: Manner, possible: Possible = (), on: Help | None = None) -> None:
        super().__init__()
        self._manner, self._text = manner, help_text(manner, possible, on)

    def compose(self) -> ComposeResult:
        """The page."""
        yield _Page(self._text, self._manner)
