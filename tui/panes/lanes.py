"""Which lanes are shown, and in what order."""

from math import inf

from tui.bench.picture import Bench, Cell
from tui.panes.orders import ORDERS
from tui.panes.pane import View
from tui.words import phase_words, plain, sanitise, shared_by, state

_URGENT_FIRST = ("alarm", "bad", "alert", "warn")
"""Inks of states, most pressing first; the others are alike."""


def lanes(bench: Bench, view: View) -> tuple[Cell, ...]:
    """The cells whose lanes are shown, in order.

    Args:
        bench: the picture.
        view: what is sought, and in what order; those that tie stay in the bench's own.
    """
    sought = view.sought.casefold().strip()
    found = [cell for cell in bench.cells if not sought or sought in _told(cell, bench, view)]
    if view.order == "urgency":
        found.sort(key=lambda cell: _pressing(cell, bench, view))
    elif view.order == "hands":
        found.sort(key=_next_hand)
    return tuple(found)


def heading(bench: Bench, view: View) -> str:
    """What the heading of the wall says of it; "" where all stand in the bench's own order."""
    words = [ORDERS.get(view.order, "")]
    if view.sought:
        number, every = len(lanes(bench, view)), len(bench.cells)
        words.insert(0, f"{number} of {every}: {sanitise(view.sought, 16)}")
    return ", ".join(word for word in words if word)


def _told(cell: Cell, bench: Bench, view: View) -> str:
    standing = state(cell, view.manner, shared_by(cell, bench.alarms))
    words = (cell.cell, cell.folder, cell.specimen, cell.test_id, cell.test, standing.word)
    phase = phase_words(cell.phase, view.manner) if cell.phase else ""
    alarms = " ".join(alarm.kind.replace("-", " ") for alarm in cell.alarms if alarm.counts)
    text = " ".join(sanitise(word) for word in words if word)
    return plain(f"{text} {phase} {alarms}", view.manner).casefold()


def _pressing(cell: Cell, bench: Bench, view: View) -> int:
    style = state(cell, view.manner, shared_by(cell, bench.alarms)).style
    return _URGENT_FIRST.index(style) if style in _URGENT_FIRST else len(_URGENT_FIRST)


def _next_hand(cell: Cell) -> float:
    return min((hand.at for hand in cell.hands if hand.at is not None), default=inf)
