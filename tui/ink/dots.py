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
        """A straight line; `every` > 1 leaves gaps."""
        steps = max(abs(x1 - x0), abs(y1 - y0), 1)
        first = max(0, -x0) if x1 > x0 and steps == x1 - x0 else 0
        last = min(steps, self.wide - x0) if x1 > x0 and steps == x1 - x0 else min(steps, 20_000)
        for i in range(first, last + 1):
            if i % every == 0:
                x = x0 + round((x1 - x0) * i / steps)
                self.dot(x, y0 + round((y1 - y0) * i / steps), ink)

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
