"""What is to come, as far as it is in sight: the way to the target, a band that fades, words."""

from dataclasses import dataclass
from datetime import tzinfo
from math import floor

from rich.cells import cell_len

from tui.ink.sheet import Sheet, clip, first_fitting, wrap
from tui.ink.times import TimeAxis
from tui.panes.pane import View
from tui.panes.tracked import Track
from tui.words import event_wordings, event_words, interval, is_reached, percent, plain

_WORDS = 12
"""Columns from which on words say more than their beginning."""


@dataclass(frozen=True, slots=True)
class Space:
    """Cells of a sheet right of now."""

    first: int
    """First column."""
    end: int
    """The column behind the last one."""
    top: int
    """First line."""
    rows: int
    level: int
    """Line of the target, where the band lies."""

    @property
    def width(self) -> int:
        """Columns."""
        return self.end - self.first


def shade(column: int, first: float, middle: float, last: float) -> int:
    """0 outside the band, 1 … 3 rising towards the likeliest column.

    Example:
        >>> [shade(column, 2, 5.5, 9) for column in range(1, 11)]
        [0, 1, 2, 3, 3, 3, 2, 2, 1, 0]
    """
    place = column + 0.5
    if place < first or place > last + 1:
        return 0
    side = (middle - first) if place < middle else (last + 1 - middle)
    near = 1.0 - abs(place - middle) / max(side, 0.5)
    return 3 if near > 0.66 else 2 if near > 0.33 else 1


class Outlook:
    """Draws one cell's projection."""

    def __init__(
        self, sheet: Sheet, track: Track, at: float, zone: tzinfo, view: View, space: Space
    ) -> None:
        self.sheet, self.track, self.at, self.zone = sheet, track, at, zone
        self.view, self.space = view, space

    def draw(self, axis: TimeAxis, left: int) -> None:
        """Band and words, or the reason why there is none."""
        projection = self.track.projection
        if self.space.width < 4:
            return
        if projection.at is None or is_reached(projection, self.at):
            if self.space.width < _WORDS:
                return
            below = self._tell(event_words(projection, self.zone, self.at, self.view.manner))
            if below < self.space.top + self.space.rows:
                self._hands(axis, left, -1, below)
            return
        start, end = self._band(axis, left)
        if self.space.width >= _WORDS:
            self._words(start, end)

    def _tell(self, words: str) -> int:
        """Words only, from the target's level on; gives the line beneath them."""
        space = self.space
        lines = wrap(words, space.width - 1)
        top = max(space.top, min(space.level, space.top + space.rows - len(lines)))
        room = space.top + space.rows - top
        if len(lines) > room:
            rest = " ".join(lines[room - 1 :])
            lines = [*lines[: room - 1], clip(rest, space.width - 1, self.view.signs.more)]
        for y, text in enumerate(lines):
            self.sheet.put(space.first + 1, top + y, text, "dim")
        return top + len(lines)

    def _band(self, axis: TimeAxis, left: int) -> tuple[int, int]:
        """Draw the way, the band and the hands; gives where the band begins and what is free."""
        projection, signs, space = self.track.projection, self.view.signs, self.space
        assert projection.at is not None
        earliest = projection.at if projection.earliest is None else projection.earliest
        latest = projection.at if projection.latest is None else projection.latest
        nearest = float(left + axis.now_column + 1)
        middle = max(left + axis.place(projection.at), nearest)
        first = max(min(left + axis.place(earliest), middle), nearest)
        last = max(left + axis.place(latest), middle)
        shades = (signs.path, signs.faint, signs.middle, signs.full)
        free = space.first
        for column in range(space.first, space.end):
            dark = shade(column, floor(first), middle, floor(last))
            if column == floor(middle):
                self.sheet.put(column, space.level, signs.event, "band")
            elif dark or column < first:
                ink = "band" if dark else "target"
                self.sheet.put(column, space.level, shades[dark], ink)
            if dark or column == floor(middle):
                free = column + 1
        if middle < space.first:
            self.sheet.put(space.first, space.level, signs.before, "band")
            free = max(free, space.first + 1)
        if middle >= space.end:
            self.sheet.put(space.end - 1, space.level, signs.beyond, "band")
        return floor(first), max(free, self._hands(axis, left, floor(middle), space.level))

    def _hands(self, axis: TimeAxis, left: int, event: int, line: int) -> int:
        """Mark when hands are needed, but not over the event; gives the column behind them."""
        free = self.space.first
        for hand in self.track.hands:
            if hand.at is None:
                continue
            x = left + floor(axis.place(hand.at))
            if self.space.first <= x < self.space.end and x != event:
                self.sheet.put(x, line, self.view.signs.hand, "key")
                free = max(free, x + 1)
        return free

    def _words(self, band_start: int, free: int) -> None:
        """Event and time beneath the band, its bounds beneath that; beside it in a low lane."""
        projection, manner, space = self.track.projection, self.view.manner, self.space
        said = event_wordings(projection, self.zone, self.at, manner)
        rows = [r for r in range(space.top, space.top + space.rows) if r != space.level]
        rows.sort(key=lambda r: (r < space.level, abs(r - space.level)))  # beneath first
        if not rows:
            self._beside(said, band_start, free)
            return
        self._beneath(rows[0], first_fitting(space.width - 1, *said), "text", band_start)
        if len(rows) > 1 and None not in (projection.earliest, projection.latest):
            bounds = interval(projection.earliest, projection.latest, self.zone, self.at)
            sure = "" if projection.confidence is None else f" ({percent(projection.confidence)})"
            bounds = plain(bounds, manner)
            told = first_fitting(space.width - 1, bounds + sure, bounds)
            self._beneath(rows[1], told, "dim", band_start)

    def _beside(self, said: tuple[str, ...], band_start: int, free: int) -> None:
        """Behind the band; where that is too far right, on the way to it."""
        behind = first_fitting(self.space.end - free - 1, *said)
        before = first_fitting(band_start - self.space.first - 2, *said)
        if cell_len(behind) < self.space.end - free:
            self.sheet.put(free + 1, self.space.level, behind, "text")
        elif cell_len(before) <= band_start - self.space.first - 2:
            self.sheet.put(self.space.first, self.space.level, f" {before} ", "text")

    def _beneath(self, row: int, text: str, ink: str, band_start: int) -> None:
        text = clip(text, self.space.width - 1, self.view.signs.more)
        x = max(self.space.first + 1, min(band_start, self.space.end - cell_len(text)))
        self.sheet.put(x, row, text, ink)
