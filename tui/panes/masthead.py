"""The first line: which bench, the moment of the picture, what is raised, how the cells stand."""

from collections import Counter
from dataclasses import replace

from rich.cells import cell_len

from tui.bench.picture import Bench, Guard
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.pane import Pane
from tui.words import (
    LOOKING,
    State,
    age,
    counts_words,
    date_and_time,
    duty_words,
    moment,
    plain,
    sanitise,
    shared_by,
    state,
)

_ORDINARY = ("runs", "well", "ended", "no test")
_NEEDED = 9
"""Weight of what has its place before any name."""
_ORDER = ("broken", "no phase", "reading", "halted", "doubtful", *_ORDINARY)
"""States that are counted here; of alarms the alarms are counted, not the cells."""


def _standing(bench: Bench) -> str:
    """Of which moment a picture is that does not follow the clock; "" of one that does."""
    if bench.follows_clock:
        return ""
    reads = bool(bench.cells) and all(cell.being_read for cell in bench.cells)
    return "its logs are being read" if reads else "as of its newest row"


class Masthead(Pane):
    """One line on top."""

    follows_focus = False

    def of_moment(self, bench: Bench) -> object:
        """Its minute, whether somebody keeps the watch, how long the wall stands still."""
        frozen = self.view.frozen
        return bench.at // 60, bench.guard.on_duty, frozen and age(bench.at - frozen.at)

    def of_bench(self, bench: Bench) -> object:
        """What it is called, what is raised in it, how its cells stand."""
        named = bench.name, bench.zone, _standing(bench), bool(bench.cells)
        return named, counts_words(bench), self._states(bench)

    def _states(self, bench: Bench) -> Counter[State]:
        return Counter(
            state(cell, self.view.manner, shared_by(cell, bench.alarms)) for cell in bench.cells
        )

    def draw(self, width: int, height: int) -> list[Line]:
        """The line."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            sheet.put(0, 0, f" {LOOKING}", "title@picked")
            return sheet.lines()
        manner = view.manner
        when = date_and_time(bench.at, bench.zone)
        counts = self._states(bench)
        name = plain(sanitise(bench.name, 80), manner)
        pieces = [
            Piece(f" {name}", "strong", 6, short=" " + clip(name, 20, view.signs.more)),
            Piece(when, "text", 8),
            Piece(when[-5:], "text", 9),
        ]
        pieces.pop(1 if width < 80 else 2)
        if pace := view.pace or _standing(bench):
            pieces.append(Piece(plain(pace, manner), "key", 7))
        if view.frozen is not None:
            still = age(bench.at - view.frozen.at)
            since = moment(view.frozen.at, bench.zone, bench.at).removeprefix("today ")
            short = plain(f" FROZEN {still} ", manner)
            pieces.append(
                Piece(plain(f" FROZEN since {since}, {still} ", manner), "alert", 11, short=short)
            )
        raised = []
        for sign, words, ink, least in counts_words(bench):
            short = plain(f"{sign}{least}", manner)
            text = plain(f"{sign} {words}", manner)
            raised.append(Piece(text, ink, 10, right=True, short=short))
        pieces += raised
        for (word, sign, ink), number in sorted(
            ((one, n) for one, n in counts.items() if one[0] in _ORDER),
            key=lambda item: _ORDER.index(item[0][0]),
        ):
            weight = 5 if word in _ORDINARY else 9
            pieces.append(Piece(f"{sign} {number} {word}", ink, weight, right=True))
        if bench.cells and not bench.guard.on_duty:
            pieces.append(Piece(duty_words(Guard()), "warn", 4, right=True))
        # Words tell more than the name of the bench: signs alone where not even they have room.
        kept = [piece for piece in pieces if piece.weight >= _NEEDED]
        if sum(cell_len(piece.text) + 1 for piece in kept) <= width:
            pieces = [replace(one, short="") if one in raised else one for one in pieces]
        if pieces[-1].right:
            pieces.append(Piece(" ", "text", 1, right=True))
        sheet.flow(0, 0, width, pieces, view.signs.more)
        for x in range(sheet.width):
            if sheet.inks[0][x] not in ("alarm", "alert"):
                sheet.inks[0][x] += "@picked"
        return sheet.lines()
