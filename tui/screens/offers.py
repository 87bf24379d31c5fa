"""The command palette: all that can be done here and now, found by a few letters of its words."""

from collections.abc import Awaitable, Callable, Iterator
from functools import partial
from typing import NamedTuple

from textual.command import (
    CommandInput,
    CommandList,
    CommandPalette,
    DiscoveryHit,
    Hit,
    Hits,
    Provider,
)
from textual.content import Content
from textual.dom import DOMNode
from textual.widgets import LoadingIndicator

from tui.ink.sparing import Sparing
from tui.panes.pane import BlankBars
from tui.screens.acting import Acting
from tui.words import Manner, plain

_KEYS = 11
"""Columns for the keys of an offer."""


class _Offer(NamedTuple):
    keys: str
    words: str
    node: DOMNode
    action: str


class Offers(Provider):
    """What the keys of the screen do, from the same bindings; what is not possible is left out."""

    def _offers(self) -> Iterator[_Offer]:
        screen = self.screen
        if not isinstance(screen, Acting):
            return
        shut = {words for _, words, why in screen.possible() if why}
        found: dict[tuple[DOMNode, str], _Offer] = {}
        for active in screen.active_bindings.values():
            binding = active.binding
            if not binding.show or not active.enabled or binding.description in shut:
                continue
            same = (active.node, binding.action)
            shown = plain(self.app.get_key_display(binding), screen.view.manner)
            keys = f"{found[same].keys} {shown}" if same in found else shown
            words = plain(binding.description, screen.view.manner)
            found[same] = _Offer(keys, words, *same)
        yield from found.values()

    async def discover(self) -> Hits:
        """All of them."""
        for offer in self._offers():
            shown = _shown(offer.keys, Content(offer.words))
            yield DiscoveryHit(shown, self._doing(offer), offer.words)

    async def search(self, query: str) -> Hits:
        """Those whose words have these letters in this order; first those that begin with them."""
        matcher = self.matcher(query)
        for offer in self._offers():
            if matcher.match(offer.words) > 0:
                shown = _shown(offer.keys, matcher.highlight(offer.words))
                yield Hit(nearness(query, offer.words), shown, self._doing(offer), offer.words)

    def _doing(self, offer: _Offer) -> Callable[[], Awaitable[bool]]:
        return partial(self.app.run_action, offer.action, offer.node)


def nearness(query: str, words: str) -> float:
    """How near words are to what was typed: above 2 where they have a word that begins with it, the
    sooner the nearer, above 1 where they have it within one, else little.

    Example:
        >>> [int(nearness("al", words)) for words in ("all alarms", "signal", "as many cells")]
        [2, 1, 0]
        >>> nearness("al", "all alarms") > nearness("al", "acknowledge an alarm")
        True
    """
    sought, text = query.strip().casefold(), f" {words.casefold()}"
    begins = text.find(f" {sought}")
    place = begins if begins >= 0 else text.find(sought)
    if place < 0:
        return 1.0 / (2.0 + len(text))
    return (2.0 if begins >= 0 else 1.0) + 1.0 / (2.0 + place)


def _shown(keys: str, words: Content) -> Content:
    return Content.assemble(f"{keys:<{_KEYS}}", words)


class Palette(Sparing, CommandPalette):
    """The toolkit's palette with our offers and without anything that moves by itself."""

    def __init__(self, manner: Manner) -> None:
        super().__init__([Offers], placeholder="what do you want to do?")
        self._manner = manner
        self.set_class(manner.ascii, "plain")

    def on_mount(self) -> None:
        """Neither a cursor that blinks nor a sign that turns: both send bytes all the time."""
        if self._manner.ascii:
            self.query_one(CommandList).vertical_scrollbar.renderer = BlankBars  # type: ignore[misc]
        self.query_one(CommandInput).cursor_blink = False
        self.query_one(LoadingIndicator).auto_refresh = None
