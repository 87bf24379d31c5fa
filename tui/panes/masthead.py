"""The first line: which bench, the moment of the picture, how the cells stand."""

from collections import Counter

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.pane import Pane
from tui.words import date_and_time, plain, sanitise, state


class Masthead(Pane):
    """One line on top."""

    def of_moment(self, bench: Bench) -> object:
        """Its minute."""
        return bench.at // 60

    def draw(self, width: int, height: int) -> list[Line]:
        """The line."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            sheet.put(0, 0, " Porewatch is looking at the bench", "title@picked")
            return sheet.lines()
        manner = view.manner
        when = date_and_time(bench.at, bench.zone)
        counts: Counter[tuple[str, str, str]] = Counter(state(c, manner) for c in bench.cells)
        name = plain(sanitise(bench.name, 80), manner)
        pieces = [
            Piece(f" {name}", "strong", 6, short=" " + clip(name, 20, view.signs.more)),
            Piece(when, "text", 8),
            Piece(when[-5:], "text", 9),
        ]
        pieces.pop(1 if width < 80 else 2)
        if not bench.follows_clock:
            pieces.append(Piece(plain(view.pace or "as of its newest row", manner), "key", 7))
        order = ("broken", "no phase", "halted", "doubtful", "runs", "well", "ended")
        for (word, sign, ink), number in sorted(
            counts.items(), key=lambda item: order.index(item[0][0])
        ):
            weight = 5 if word in ("runs", "well", "ended") else 9
            pieces.append(Piece(f"{sign} {number} {word}", ink, weight, right=True))
        if pieces[-1].right:
            pieces.append(Piece(" ", "text", 1, right=True))
        sheet.flow(0, 0, width, pieces, view.signs.more)
        for x in range(sheet.width):
            sheet.inks[0][x] += "@picked"
        return sheet.lines()
