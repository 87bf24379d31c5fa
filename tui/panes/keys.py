"""The few keys that the last line of a screen names, and that line."""

from tui.ink.sheet import Line, Piece, Sheet
from tui.ink.signs import signs
from tui.words.plain import Manner, plain

Keys = tuple[tuple[str, str, int], ...]
"""Key, what it does, how much that matters."""

KEYS: Keys = (
    ("↑↓", "cell", 10), ("enter", "whole", 9), ("tab", "plot", 4), ("←→", "time", 6),
    ("+ −", "zoom", 5), ("/", "seek", 8), ("o", "order", 7), ("f", "freeze", 3),
    ("h", "handover", 7), ("u", "units", 1), ("a", "alarms", 11), ("?", "help", 12),
    ("q", "quit", 11),
)  # fmt: skip
"""On the wall; what is needed to go on is added where it has moved, or stands still."""
NOW_KEY, GO_ON_KEY = ("end", "now", 13), ("f", "go on", 14)
ACT_KEYS: Keys = (("m", "mark", 6), ("n", "note", 6))
ALARM_KEYS: Keys = (
    ("↑↓", "alarm", 7), ("pgdn", "more", 8), ("enter", "its cell", 4), ("esc", "back", 9),
    ("?", "help", 8),
)  # fmt: skip
FOCUS_KEYS: Keys = (
    ("↑↓", "cell", 6), ("tab", "plot", 7), ("←→", "read off", 5), ("+ −", "zoom", 4),
    ("pgdn", "more", 6), ("a", "alarms", 6), ("esc", "back", 9), ("?", "help", 8),
)  # fmt: skip
ANSWER_KEYS: Keys = (
    ("a", "acknowledge", 10), ("s", "shelve", 9), ("m", "mark", 5), ("n", "note", 5),
)  # fmt: skip


def wall_keys(*, acts: bool, frozen: bool = False, moved: bool = False) -> Keys:
    """Those of the wall.

    Args:
        acts: whether what people say can be entered.
        frozen: whether the picture stands still.
        moved: whether the wall shows another time than now.
    """
    keys = [key for key in KEYS if not frozen or key[0] != GO_ON_KEY[0]]
    first = [GO_ON_KEY] if frozen else []
    if moved:
        first.append(NOW_KEY)
    return (*first, *keys[:-2], *(ACT_KEYS if acts else ()), *keys[-2:])


def keys_lines(keys: Keys, width: int, height: int, manner: Manner) -> list[Line]:
    """One line with those that have room; the others go, what matters least first."""
    sheet = Sheet(width, height)
    pieces = [Piece(plain(f"{key} {what} ", manner), "dim", weight) for key, what, weight in keys]
    sheet.flow(0, 0, width, pieces, signs(manner.ascii).more)
    for key, what, _ in keys:
        text = plain(f"{key} {what} ", manner)
        start = "".join(sheet.signs[0]).find(text.strip()) if sheet.height else -1
        last = start + len(plain(key, manner)) if start >= 0 else 0
        for x in range(max(0, start), last):  # one that had no room is not there
            sheet.inks[0][x] = "key"
    return sheet.lines()
