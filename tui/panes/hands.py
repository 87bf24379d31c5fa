"""What needs a person, over all cells, earliest first."""

from tui.bench.picture import Bench, Hand
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.pane import Pane, View
from tui.words import countdown, interval, moment, plain, sanitise


def hand_pieces(hand: Hand, bench: Bench, view: View) -> list[Piece]:
    """One line: when, in how long, which cell, what, between which bounds."""
    manner = view.manner
    wait = None if hand.at is None else hand.at - bench.at
    late = wait is not None and wait <= 0
    when = moment(hand.at, bench.zone, bench.at) if hand.at is not None else "time not known"
    pieces = [
        Piece(plain(f"{when:<11}", manner), "warn" if late else "text", 8),
        Piece(plain(f"{countdown(wait):>10}", manner) if wait is not None else "", "key", 7),
        Piece(plain(sanitise(hand.cell, 12), manner), "strong", 10),
        Piece(plain(sanitise(hand.what, 60), manner), "text", 9),
    ]
    if hand.earliest is not None or hand.latest is not None:
        between = plain(interval(hand.earliest, hand.latest, bench.zone, bench.at), manner)
        pieces.append(Piece(between, "dim", 2))
    return pieces


class HandsPane(Pane):
    """The list of what needs hands."""

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading and as many as fit."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            return sheet.lines()
        number = len(bench.hands)
        hidden = max(0, number - (height - 1))
        right = f"{hidden} more" if hidden else ""
        sheet.title("Hands needed", right, view.signs.rule, view.signs.more)
        if not number:
            sheet.put(1, 1, clip("nothing that can be told", width - 1, view.signs.more), "dim")
        for y, hand in enumerate(bench.hands[: height - 1], 1):
            sheet.flow(0, y, width, hand_pieces(hand, bench, view), view.signs.more)
        return sheet.lines()
