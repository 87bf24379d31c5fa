"""What is painted first: the bench's screen as it is before its first look, without what draws it.

What draws a bench rests on libraries that take longer to import than the terminal to be set up.
Here is nothing that needs them; a test holds the two screens equal, sign by sign.
"""

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from tui.ink.paper import Paper
from tui.ink.sheet import Sheet
from tui.panes.keys import keys_lines, wall_keys
from tui.words import LOOKING, Manner


class Opening(Screen[None]):
    """Stands until the bench's screen is there, and keeps the keys that are meant for that."""

    def __init__(self, manner: Manner, *, acts: bool) -> None:
        """Nothing is painted yet.

        Args:
            manner: how things are written.
            acts: whether what people say can be entered.
        """
        super().__init__()
        self._manner, self._acts = manner, acts
        self.held: list[events.Key] = []
        """Keys that came too early, in their order."""

    def compose(self) -> ComposeResult:
        """One sheet over the whole screen."""
        yield Paper(id="opening")

    def on_resize(self, event: events.Resize) -> None:
        """The first line and the last."""
        width, height = event.size
        sheet = Sheet(width, height)
        sheet.put(0, 0, f" {LOOKING}", "title@picked")
        keys = keys_lines(wall_keys(acts=self._acts), width, 1, self._manner)
        self.query_one(Paper).lay([*sheet.lines()[:-1], *keys])

    def on_key(self, event: events.Key) -> None:
        """One that only the bench's screen can answer."""
        self.held.append(event)
