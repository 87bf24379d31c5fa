"""What needs a person, over all cells, earliest first."""

from rich.cells import cell_len

from tui.bench.picture import Bench, Hand
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.pane import Pane, View
from tui.words import coarse, countdown, interval, local, moment, plain, sanitise


def hand_pieces(hand: Hand, bench: Bench, view: View, width: int, names: int) -> list[Piece]:
    """One line: in how long, which cell, what; when, and between which bounds, if there is room."""
    manner = view.manner
    wait = None if hand.at is None else hand.at - bench.at
    late = wait is not None and wait <= 0
    said = countdown(wait) if wait is not None else "?"
    if width < 56 and late:
        said = coarse(wait)
    pieces = [
        Piece(plain(f"{said:>{10 if width < 56 else 15}}", manner), "warn" if late else "key", 9),
        Piece(plain(sanitise(hand.cell, 12), manner).ljust(names), "strong", 10),
    ]
    if width >= 56:
        pieces.insert(
            0, Piece(plain(f"{moment(hand.at, bench.zone, bench.at):<11}", manner), "text", 7)
        )
    used = sum(len(piece.text) + 1 for piece in pieces)
    what = plain(sanitise(hand.what, 60), manner)
    pieces.append(Piece(clip(what, max(4, width - used), view.signs.more), "text", 8))
    if hand.earliest is not None and hand.latest is not None:
        between = plain(interval(hand.earliest, hand.latest, bench.zone, bench.at), manner)
        pieces.append(Piece(between, "dim", 2, right=True))
    return pieces


class HandsPane(Pane):
    """The list of what needs hands."""

    def of_moment(self, bench: Bench) -> object:
        """Its day, for moments are told by it, and how long each has still to wait."""
        times = [hand.at for hand in bench.hands if hand.at is not None]
        return local(bench.at, bench.zone).date(), [countdown(at - bench.at) for at in times]

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
        names = max((cell_len(sanitise(hand.cell, 12)) for hand in bench.hands), default=0)
        for y, hand in enumerate(bench.hands[: height - 1], 1):
            sheet.flow(0, y, width, hand_pieces(hand, bench, view, width, names), view.signs.more)
        return sheet.lines()
