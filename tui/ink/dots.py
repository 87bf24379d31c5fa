"""Curves in dots: braille (2 × 4 dots a cell), or marks of ASCII (1 × 2 a cell)."""

from collections.abc import Iterable

from tui.ink.sheet import Sheet

_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_ASCII = (" ", "'", ".", ":")


class Dots:
    """Dots over a rectangle of a sheet; later inks win a cell, dots add up."""

    def __init__(self, width: int, height: int, ascii_only: bool) -> None:
        self.ascii_only = ascii_only
        self.cells_wide, self.cells_high = width, height
        self.per_x, self.per_y = (1, 2) if ascii_only else (2, 4)
        self.wide, self.high = width * self.per_x, height * self.per_y
        self._bits = [[0] * width for _ in range(height)]
        self._inks = [["text"] * width for _ in range(height)]

    def dot(self, x: int, y: int, ink: str) -> None:
        """One dot; y counts downwards. Outside is nothing."""
        if 0 <= x < self.wide and 0 <= y < self.high:
            column, row = x // self.per_x, y // self.per_y
            bit = 1 << (y % 2) if self.ascii_only else _BITS[y % 4][x % 2]
            self._bits[row][column] |= bit
            self._inks[row][column] = ink

    def line(self, x0: int, y0: int, x1: int, y1: int, ink: str, every: int = 1) -> None:
        """A straight line; `every` > 1 leaves gaps. However long it is, only what is seen costs."""
        across, down = x1 - x0, y1 - y0
        steps = max(abs(across), abs(down), 1)
        first, last = 0, steps
        for start, along, size in ((x0, across, self.wide), (y0, down, self.high)):
            if along == 0:
                continue
            ends = sorted(((-1 - start) * steps // along, (size - start) * steps // along))
            first, last = max(first, ends[0]), min(last, ends[1] + 1)
        for i in range(first + -first % every, last + 1, every):
            self.dot(x0 + round(across * i / steps), y0 + round(down * i / steps), ink)

    def path(self, points: Iterable[tuple[int, int]], ink: str, every: int = 1) -> None:
        """Points joined in their order."""
        before: tuple[int, int] | None = None
        for x, y in points:
            if before is None:
                self.dot(x, y, ink)
            else:
                self.line(*before, x, y, ink, every)
            before = (x, y)

    def onto(self, sheet: Sheet, x: int, y: int) -> None:
        """Put what was drawn on a sheet; empty cells leave it as it is."""
        for row in range(self.cells_high):
            for column in range(self.cells_wide):
                bits = self._bits[row][column]
                if bits:
                    sign = _ASCII[bits] if self.ascii_only else chr(0x2800 + bits)
                    sheet.put(x + column, y + row, sign, self._inks[row][column])
