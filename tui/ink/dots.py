"""Curves in dots: braille (2 × 4 dots a cell), or marks of ASCII (1 × 2 a cell)."""

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tui.ink.sheet import Sheet

_BITS = np.array(((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80)), np.uint8)
_ASCII_BITS = np.array(((0x01,), (0x02,)), np.uint8)
_ASCII = (" ", "'", ".", ":")

_Places = NDArray[np.int64]


def per_cell(ascii_only: bool) -> tuple[int, int]:
    """Dots of one cell, side by side and one above the other."""
    high, wide = (_ASCII_BITS if ascii_only else _BITS).shape
    return wide, high


class Dots:
    """Dots over a rectangle of a sheet; later inks win a cell, dots add up."""

    def __init__(self, width: int, height: int, ascii_only: bool) -> None:
        self.ascii_only = ascii_only
        self._weights = _ASCII_BITS if ascii_only else _BITS
        self.per_y, self.per_x = self._weights.shape
        self.wide, self.high = width * self.per_x, height * self.per_y
        self._dots = np.zeros((self.high, self.wide), np.bool_)
        self._inks = np.zeros((height, width), np.int64)
        self._names: list[str] = []
        """Inks that were used; the array has their places."""

    def dots(self, xs: _Places, ys: _Places, ink: str) -> None:
        """Dots at (n,) places; y counts downwards. Outside is nothing."""
        seen = (xs >= 0) & (xs < self.wide) & (ys >= 0) & (ys < self.high)
        xs, ys = xs[seen], ys[seen]
        self._dots[ys, xs] = True
        if ink not in self._names:
            self._names.append(ink)
        self._inks[ys // self.per_y, xs // self.per_x] = self._names.index(ink)

    def level(self, y: int, ink: str, every: int, first: int = 0, last: int | None = None) -> None:
        """A row of dots from `first` up to `last`, at the multiples of `every`."""
        xs = np.arange(first + -first % every, self.wide if last is None else last, every)
        self.dots(xs, np.full_like(xs, y), ink)

    def path(
        self, points: Iterable[tuple[int, int]], ink: str, every: int = 1, *, stands: bool = False
    ) -> None:
        """Points joined in their order by straight lines.

        However long a line is, only what is seen of it costs.

        Args:
            points: of dots, rightwards and downwards.
            ink: of all of them.
            every: more than 1 leaves gaps.
            stands: whether the same path will be drawn again; then its dots are kept.
        """
        join = _kept if stands else _joined
        self.dots(*join(tuple(points), (self.wide, self.high), every), ink)

    def onto(self, sheet: Sheet, x: int, y: int) -> None:
        """Put what was drawn on a sheet; empty cells leave it as it is."""
        height, width = self._inks.shape
        cells = self._dots.reshape(height, self.per_y, width, self.per_x)
        every = np.einsum("rycx,yx->rc", cells, self._weights)
        rows, columns = np.nonzero(every)
        bits, inks = every[rows, columns].tolist(), self._inks[rows, columns].tolist()
        for row, column, bit, ink in zip(rows.tolist(), columns.tolist(), bits, inks, strict=True):
            sign = _ASCII[bit] if self.ascii_only else chr(0x2800 + bit)
            sheet.put_one(x + column, y + row, sign, self._names[ink])


def _joined(
    points: tuple[tuple[int, int], ...], sizes: tuple[int, int], every: int
) -> tuple[_Places, _Places]:
    """The dots (n,), (n,) of a path as far as they may be seen."""
    places = np.array(points, np.int64).reshape(-1, 2)
    if len(places) < 2:
        return places[:, 0], places[:, 1]
    start, along = places[:-1], np.diff(places, axis=0)
    steps = np.maximum(np.abs(along).max(axis=1), 1)
    first, last = np.zeros_like(steps), steps
    inside = places.min() >= 0 and bool((places.max(axis=0) < sizes).all())
    for axis, size in () if inside else enumerate(sizes):
        # a line that does not go along an axis is seen all along it, or nowhere: `dots` tells
        by = np.where(along[:, axis] == 0, 1, along[:, axis])
        ends = ((np.array([[-1], [size]]) - start[:, axis]) * steps) // by
        goes = along[:, axis] != 0
        first = np.where(goes, np.maximum(first, ends.min(axis=0)), first)
        last = np.where(goes, np.minimum(last, ends.max(axis=0) + 1), last)
    first = first + -first % every
    counts = np.maximum(0, (last - first) // every + 1)
    line = np.repeat(np.arange(len(steps)), counts)
    within = np.arange(len(line)) - np.repeat(np.cumsum(counts) - counts, counts)
    shares = (first[line] + every * within)[:, None] * along[line] / steps[line][:, None]
    found = start[line] + np.rint(shares).astype(np.int64)
    return found[:, 0], found[:, 1]


_kept = lru_cache(maxsize=256)(_joined)
