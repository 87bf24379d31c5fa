"""A sheet of terminal cells that text and dots are put on, and its finished lines."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from rich.cells import cell_len
from rich.segment import Segment
from textual.strip import Strip

from tui.ink.palette import style


@dataclass(frozen=True)
class Line:
    """One finished line: a sign and an ink for every cell; "" follows a sign of double width."""

    signs: tuple[str, ...]
    inks: tuple[str, ...]

    @property
    def text(self) -> str:
        """What it says, without colour."""
        return "".join(self.signs)

    @cached_property
    def _strips(self) -> dict[tuple[str, int, int], Strip]:
        return {}

    def strip(self, theme: str, first: int = 0, end: int | None = None) -> Strip:
        """For the terminal, in the colours of a theme; runs of one ink are one segment.

        Args:
            theme: its name.
            first: of the cells that are wanted.
            end: the cell after the last of them; None for all. Behind the line's end are blanks.
        """
        part = theme, first, len(self.signs) if end is None else end
        if part not in self._strips:
            self._strips[part] = self._strip(*part)
        return self._strips[part]

    def _strip(self, theme: str, first: int, end: int) -> Strip:
        beyond = max(0, end - max(first, len(self.signs)))
        signs = [*self.signs[first:end], *" " * beyond]
        inks = (*self.inks[first:end], *("text",) * beyond)
        if signs and signs[0] == "":  # half a sign of double width is a blank
            signs[0] = " "
        if signs and "" in self.signs[end : end + 1]:
            signs[-1] = " "
        segments: list[Segment] = []
        start = 0
        for x in range(1, len(inks) + 1):
            if x == len(inks) or inks[x] != inks[start]:
                text = "".join(signs[start:x])
                segments.append(Segment(text, style(inks[start], theme)))
                start = x
        return Strip(segments, len(signs))


def _alike(one: tuple[str, ...], other: tuple[str, ...], width: int) -> int:
    """How many of the first cells are equal, found by halves: whole runs compare faster."""
    low, high = 0, width
    while low < high:
        middle = (low + high + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low


def difference(old: Line, new: Line) -> tuple[int, int] | None:
    """First cell and number of cells in which two lines of one width differ."""
    if old.signs == new.signs and old.inks == new.inks:
        return None
    width = min(len(old.signs), len(new.signs))
    first = min(_alike(old.signs, new.signs, width), _alike(old.inks, new.inks, width))
    ends, rest = slice(width - 1, first, -1), width - first - 1
    behind = min(_alike(old.signs[ends], new.signs[ends], rest),
                 _alike(old.inks[ends], new.inks[ends], rest))  # fmt: skip
    last = width - 1 - behind
    while first > 0 and "" in (old.signs[first], new.signs[first]):
        first -= 1  # never begin inside a sign of double width
    while last < width - 1 and "" in (old.signs[last + 1], new.signs[last + 1]):
        last += 1
    return first, last - first + 1


_LOOSE_END = re.compile(r"(?: \S|[ ,;:·])*$")
"""What says nothing before a sign that more was left off: a single sign, a comma."""


def clip(text: str, width: int, more: str = "…") -> str:
    """The text in at most `width` cells, with a sign where something was left off.

    It is cut between words where that costs no more than a third of it.

    Example:
        >>> clip("consolidation", 8), clip("shear", 8), clip("stop, save, leave", 14)
        ('consoli…', 'shear', 'stop, save…')
    """
    if cell_len(text) <= width:
        return text
    kept, used = "", cell_len(more)
    if width < used:
        return more[:width]
    for sign in text:
        used += cell_len(sign)
        if used > width:
            break
        kept += sign
    cut_in_word = not kept.endswith(" ") and text[len(kept)] != " "
    words = _LOOSE_END.sub("", kept.rpartition(" ")[0] if cut_in_word else kept)
    return (words if 3 * len(words) >= 2 * len(kept) else kept.rstrip()) + more


def first_fitting(width: int, *texts: str) -> str:
    """The first of several wordings that fits; the last one if none does.

    Example:
        >>> first_fitting(9, "dissipation 95 %", "today 3:10", "3:10")
        '3:10'
    """
    return next((text for text in texts if cell_len(text) <= width), texts[-1])


_BLANK = re.compile(
    r"(?<!\d)(?<!\d [hd])\s+"
    r"|(?<=\d)\s+(?!(?:s|min|h|d|kPa|psi|ml|in³|in3|mm|in|N|lbf|°C|°F|%)(?![\w³]))"
)
"""Between words; a number and its unit are one."""


def wrap(text: str, width: int) -> list[str]:
    """The text in lines of at most `width` cells, broken at blanks where there are any, but between
    a number and its unit only where there is no other way.

    Example:
        >>> wrap("cell pressure has no unit", 10), wrap("for 1 h 24 min", 10)
        (['cell', 'pressure', 'has no', 'unit'], ['for', '1 h 24 min'])
    """
    lines: list[str] = []
    line = ""
    for word in _BLANK.split(text.strip()):
        if line and cell_len(line) + 1 + cell_len(word) <= width:
            line = f"{line} {word}"
            continue
        if line:
            lines.append(line)
        line = word
        while cell_len(line) > width > 0:
            head = clip(line, width, "")
            lines.append(head)
            line = line[len(head) :].lstrip()
    return [*lines, line] if line else lines


@dataclass(frozen=True, slots=True)
class Piece:
    """A bit of a line that is left off whole when there is no room: least weight first."""

    text: str
    ink: str = "text"
    weight: int = 5
    right: bool = False
    """Pushed to the right end."""
    short: str = ""
    """A shorter wording to try before anything is left off."""
    least: str = ""
    """A still shorter one, to try before it is itself left off."""
    core: int = 0
    """Weight of that one; 0: no other."""


def _fitting(pieces: list[Piece], room: int) -> list[tuple[Piece, str]]:
    """What has room of pieces that have too little (room is below 0), with its wording.

    Of equal weights the last gives way first, for lines read from the left.
    """
    texts, weights = [one.text for one in pieces], [one.weight for one in pieces]
    for i in sorted(range(len(pieces)), key=lambda i: (weights[i], -i)):
        if room < 0 and (short := pieces[i].short):
            room += cell_len(texts[i]) - cell_len(short)
            texts[i] = short
    kept = list(range(len(pieces)))
    while len(kept) > 1 and room < 0:
        lightest = min(kept, key=lambda i: (weights[i], -i))
        piece, text = pieces[lightest], texts[lightest]
        if piece.least not in ("", text):
            room += cell_len(text) - cell_len(piece.least)
            texts[lightest], weights[lightest] = piece.least, piece.core or piece.weight
        else:
            room += cell_len(text) + 1
            kept.remove(lightest)
    return [(pieces[i], texts[i]) for i in kept]


class Sheet:
    """Cells to draw on; what falls outside is cut off."""

    def __init__(self, width: int, height: int, ink: str = "text") -> None:
        self.width, self.height = max(0, width), max(0, height)
        self.signs = [[" "] * self.width for _ in range(self.height)]
        self.inks = [[ink] * self.width for _ in range(self.height)]

    def copy(self) -> "Sheet":
        """A sheet of its own with the same on it."""
        other = Sheet(0, 0)
        other.width, other.height = self.width, self.height
        other.signs, other.inks = [row[:] for row in self.signs], [row[:] for row in self.inks]
        return other

    def put(self, x: int, y: int, text: str, ink: str, limit: int | None = None) -> int:
        """Write from a cell on; gives the cell after the text."""
        end = self.width if limit is None else min(self.width, limit)
        if not 0 <= y < self.height:
            return x
        for sign in text:
            size = 1 if sign.isascii() else cell_len(sign)
            if size == 0:
                continue
            if x >= 0 and x + size <= end:
                self.signs[y][x], self.inks[y][x] = sign, ink
                if size == 2:
                    self.signs[y][x + 1], self.inks[y][x + 1] = "", ink
            x += size
        return x

    def put_one(self, x: int, y: int, sign: str, ink: str) -> None:
        """Write one sign of single width; outside is nothing."""
        if 0 <= y < self.height and 0 <= x < self.width:
            self.signs[y][x], self.inks[y][x] = sign, ink

    def free(self, x: int, y: int, width: int) -> bool:
        """Whether nothing stands in these cells."""
        if x < 0 or x + width > self.width or not 0 <= y < self.height:
            return False
        return all(sign == " " for sign in self.signs[y][x : x + width])

    def flow(self, x: int, y: int, width: int, pieces: Sequence[Piece], more: str = "…") -> None:
        """Pieces side by side, one blank apart; the least weighty go when there is no room."""
        said = [piece for piece in pieces if piece.text]
        room = width + 1 - sum(cell_len(piece.text) + 1 for piece in said)
        left = [(one, one.text) for one in said] if room >= 0 else _fitting(said, room)
        place = x
        for piece, text in left:
            if not piece.right:
                place = self.put(place, y, clip(text, x + width - place, more), piece.ink) + 1
        place = x + width
        for piece, text in reversed(left):
            if piece.right:
                place -= cell_len(text)
                self.put(place, y, text, piece.ink)
                place -= 1

    def title(
        self, text: str, right: str = "", rule: str = "─", more: str = "…", line: int = 0
    ) -> None:
        """A line, the first one, as a heading with a rule behind it."""
        if not self.width or not self.height:
            return
        self.put(0, line, rule * self.width, "rule")
        end = self.put(0, line, clip(text, self.width - 1, more) + " ", "title")
        room = self.width - end - 2
        if right and room >= 8:
            right = clip(right, room, more)
            self.put(self.width - cell_len(right) - 1, line, f" {right}", "dim")

    def lines(self) -> list[Line]:
        """The sheet as finished lines."""
        return [Line(tuple(s), tuple(i)) for s, i in zip(self.signs, self.inks, strict=True)]
