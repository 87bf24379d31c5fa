"""What needs a person, over all cells: visit by visit, earliest first."""

from rich.cells import cell_len

from tui.bench.picture import Bench, Hand, Visit
from tui.bench.visits import grouped
from tui.ink.sheet import Line, Piece, Sheet, clip, first_fitting
from tui.panes.pane import Pane, View
from tui.words import (
    attended_words,
    coarse,
    countdown,
    interval,
    local,
    moment,
    plain,
    sanitise,
    served_words,
    visit_words,
)

_WIDE = 56
"""From here on there is room for when, and for in how long."""
_LEAST_NAMED = 3
"""Columns that the name of a cell takes at least in a list, comma and space included."""


def hand_pieces(
    hand: Hand, bench: Bench, view: View, width: int, names: int, in_visit: bool = False
) -> list[Piece]:
    """One line: in how long, which cell, what; when, and between which bounds, if there is room.

    Args:
        width: of the line.
        names: columns that the longest name of a cell takes.
        in_visit: the line stands below that of its visit, which says when somebody is there.
    """
    manner = view.manner
    wait = None if hand.at is None else hand.at - bench.at
    late = wait is not None and wait <= 0
    said = countdown(wait) if wait is not None else "?"
    if width < _WIDE and late:
        said = coarse(wait)
    said = f"{said:>{15 if width >= _WIDE else 10}}"
    pieces = [
        Piece(plain(said, manner), "warn" if late else "key", 9),
        Piece(plain(sanitise(hand.cell, 12), manner).ljust(names), "strong", 10),
    ]
    if width >= _WIDE:
        pieces.insert(
            0, Piece(plain(f"{moment(hand.at, bench.zone, bench.at):<11}", manner), "text", 7)
        )
    comes = None if in_visit else _attended_piece(hand, bench, view)
    short = 0 if comes is None else cell_len(comes.short) + 1
    used = short + sum(len(piece.text) + 1 for piece in pieces)
    what = plain(sanitise(hand.what, 60), manner)
    pieces.append(Piece(clip(what, max(4, width - used), view.signs.more), "text", 8))
    if comes is not None:
        pieces.append(comes)
    elif hand.earliest is not None and hand.latest is not None:
        between = plain(interval(hand.earliest, hand.latest, bench.zone, bench.at), manner)
        pieces.append(Piece(between, "dim", 2, right=True))
    return pieces


def _attended_piece(hand: Hand, bench: Bench, view: View) -> Piece | None:
    if hand.attended_at is None:
        return None
    whole = attended_words(hand.attended_at, bench.zone, bench.at)
    short = f"from {moment(hand.attended_at, bench.zone, bench.at)}"
    manner = view.manner
    return Piece(plain(whole, manner), "text", 6, right=True, short=plain(short, manner))


def visit_pieces(visit: Visit, bench: Bench, view: View, width: int) -> list[Piece]:
    """One line: that one visit serves several cells, when, and which."""
    manner = view.manner
    one, when, _ = (plain(part, manner) for part in visit_words(visit, bench.zone, bench.at))
    room = width - cell_len(when) - len("visit") - 2
    most_named = max(1, min(len(visit.hands), (room + 2) // _LEAST_NAMED))
    cells = [plain(served_words(visit, most), manner) for most in range(most_named, 0, -1)]
    return [
        Piece(one, "key", 4, short="visit"),
        Piece(when, "strong", 9),
        Piece(first_fitting(room, f"serves {cells[0]}", *cells), "strong", 10),
    ]


class HandsPane(Pane):
    """The list of what needs hands."""

    follows_focus = False

    def of_moment(self, bench: Bench) -> object:
        """Its day, for moments are told by it, and how long each has still to wait."""
        times = [hand.at for hand in bench.hands if hand.at is not None]
        return local(bench.at, bench.zone).date(), [countdown(at - bench.at) for at in times]

    def of_bench(self, bench: Bench) -> object:
        """Hands and visits."""
        return bench.hands, bench.visits, bench.zone

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading and as many as fit.

        A visit that serves several cells is one line, and those below it where there is room.
        """
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            return sheet.lines()
        groups = grouped(bench.hands, bench.visits)
        room = height - 1
        told = groups[: max(0, room)]
        spare = room - len(told)
        hidden = len(bench.hands) - sum(len(hands) for _, hands in told)
        right = f"{hidden} more" if hidden else ""
        sheet.title("Hands needed", right, view.signs.rule, view.signs.more)
        if not bench.hands:
            sheet.put(1, 1, clip("nothing that can be told", width - 1, view.signs.more), "dim")
        names = max((cell_len(sanitise(hand.cell, 12)) for hand in bench.hands), default=0)
        more, y = view.signs.more, 1
        for visit, hands in told:
            together = visit is not None and len(hands) > 1
            if visit is not None and together:
                sheet.flow(0, y, width, visit_pieces(visit, bench, view, width), more)
                y += 1
            listed = hands[:spare] if together else hands
            spare -= len(listed) if together else 0
            left = 2 if together else 0
            for hand in listed:
                line = hand_pieces(hand, bench, view, width - left, names, together)
                sheet.flow(left, y, width - left, line, more)
                y += 1
        return sheet.lines()
