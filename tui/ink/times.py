"""A time axis of terminal columns: *now* stands at a fixed place, or where somebody moved it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

SPANS_S: tuple[float, ...] = tuple(
    hours * 3600.0 for hours in (1, 2, 4, 8, 16, 24, 36, 48, 72, 96, 168, 336, 720, 1440)
)
"""How much time may lie across the axis."""
_STEPS_MIN = (5, 10, 15, 30, 60, 120, 180, 360, 720)
_STEPS_DAYS = (1, 2, 5, 10, 20)


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Columns of time; it moves by whole columns, so that nothing is repainted in between."""

    now: float
    """The moment of the now column, rounded down to a whole column. [s]"""
    column_s: float
    """Time across one column. [s]"""
    width: int
    now_column: int
    """Left of 0, or from `width` on, while now is out of sight."""

    @classmethod
    def around(
        cls,
        at: float,
        span_s: float,
        width: int,
        share: float = 0.6,
        held: float | None = None,
    ) -> "TimeAxis":
        """An axis that goes with now, or one that is held.

        Args:
            at: now. [s]
            span_s: time across it. [s]
            width: its columns.
            share: of its width, where now stands while it goes with now.
            held: the moment that stands there instead; None goes with now. [s]
        """
        column = span_s / max(1, width)
        stands = min(width - 1, int(width * share))
        if held is not None:
            stands += int(at // column) - int(held // column)
        return cls(at // column * column, column, width, stands)

    @property
    def history(self) -> int:
        """How many of its columns lie before now."""
        return max(0, min(self.now_column, self.width))

    @property
    def shows_now(self) -> bool:
        """Whether now is in sight."""
        return 0 <= self.now_column < self.width

    def place(self, at: float) -> float:
        """The column of a moment, with its fraction; it may lie outside."""
        return self.now_column + (at - self.now) / self.column_s

    @property
    def first(self) -> float:
        """The moment at the left end. [s]"""
        return self.now - self.now_column * self.column_s

    @property
    def last(self) -> float:
        """The moment at the right end. [s]"""
        return self.first + self.width * self.column_s


def ticks(axis: TimeAxis, zone: tzinfo, room: int = 9) -> Iterator[tuple[int, str]]:
    """Round moments on the bench's wall clock, with their column and label."""
    least = axis.column_s * room
    start = datetime.fromtimestamp(axis.first, zone).replace(tzinfo=None)
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    minutes = next((m for m in _STEPS_MIN if m * 60 >= least), None)
    days = next((d for d in _STEPS_DAYS if d * 86_400 >= least), _STEPS_DAYS[-1])
    step = timedelta(days=days) if minutes is None else timedelta(minutes=minutes)
    tick = midnight
    if minutes is None:  # the same days wherever the axis begins
        tick -= timedelta(days=midnight.toordinal() % days)
    while (at := tick.replace(tzinfo=zone).timestamp()) < axis.last:
        if at >= axis.first:
            yield (
                int(axis.place(at)),
                f"{tick:%a} {tick.day}" if tick.hour == tick.minute == 0 else f"{tick:%H:%M}",
            )
        tick += step


def wanted_span(back_s: float, ahead_s: float, share: float = 0.6) -> float:
    """The least span that shows so much of the past and of what comes."""
    needed = max(back_s / share, ahead_s / (1 - share))
    return next((span for span in SPANS_S if span >= needed), SPANS_S[-1])
