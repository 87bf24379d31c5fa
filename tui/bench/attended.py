"""When somebody is at the bench: `attended` of `bench.toml`, in seconds since the epoch."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from math import inf
from typing import Self

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_DAY_MIN = 24 * 60
_LOOK_AHEAD_DAYS = 16
"""From the day before: a week repeats itself, and one stretch may lie in an hour left out."""


@dataclass(frozen=True, slots=True)
class Attended:
    """Days and hours on the bench's wall clock at which somebody is there.

    Hours that end at or before they begin go over midnight and belong to the day on which they
    begin. A time that the clock leaves out in spring is the moment at which it jumps; of one that
    comes twice in autumn the first counts.
    """

    days: tuple[int, ...]
    """Of the week, Monday is 0; in order."""
    begin_min: int
    """From midnight. [min]"""
    end_min: int
    """From midnight of the day on which it begins; above 1440 on the day after. [min]"""
    zone: tzinfo

    @classmethod
    def of(cls, text: str | None, zone: tzinfo) -> Self | None:
        """From the text of the settings, which was checked as it was read; None: always attended.

        Example:
            >>> from datetime import UTC
            >>> night = Attended.of("Fri-Sun,Wed 22:00-06:00", UTC)
            >>> night.days, night.begin_min, night.end_min
            ((2, 4, 5, 6), 1320, 1800)
        """
        if text is None:
            return None
        days, hours = text.rsplit(maxsplit=1)
        begin, end = (int(hour[:2]) * 60 + int(hour[3:]) for hour in hours.split("-"))
        return cls(_days(days), begin, end if end > begin else end + _DAY_MIN, zone)

    def next(self, moment_s: float) -> float:
        """The first attended moment that is not before this one. [s]

        A moment beyond the calendar is given back as it is.
        """
        start, _ = self._stretch(moment_s)
        return max(start, moment_s) if start < inf else moment_s

    def until_end(self, moment_s: float) -> float:
        """How long somebody is still there; 0 while nobody is, infinite if nobody leaves. [s]"""
        start, end = self._stretch(moment_s)
        return 0.0 if start > moment_s else end - moment_s

    def seconds_between(self, a: float, b: float) -> float:
        """Attended time from `a` until `b`; 0 if `b` is not after `a`. [s]"""
        found = 0.0
        while a < b:
            start, end = self._stretch(a)
            found += max(0.0, min(end, b) - max(start, a))
            a = end
        return found

    def after(self, moment_s: float, attended_s: float) -> float:
        """When so much attended time has passed since a moment. [s]

        A moment beyond the calendar is infinitely far.
        """
        at, left = moment_s, attended_s
        while True:
            start, end = self._stretch(at)
            start = max(start, at)
            if start == inf or end - start >= left:
                return start + left
            left -= end - start
            at = end

    def _stretch(self, moment_s: float) -> tuple[float, float]:
        """The stretch that holds a moment or is the next one; those that touch are one. [s]"""
        try:
            yesterday = datetime.fromtimestamp(moment_s, self.zone).date() - timedelta(days=1)
            found: tuple[float, float] | None = None
            for day in (yesterday + timedelta(days=k) for k in range(_LOOK_AHEAD_DAYS)):
                if day.weekday() not in self.days:
                    continue
                start, end = _of_day(self, day)
                if end <= max(start, moment_s):
                    continue
                if found is not None and start > found[1]:
                    return found
                found = (start if found is None else found[0]), end
        except (OverflowError, ValueError, OSError):  # beyond the calendar
            return inf, inf
        assert found is not None
        return found[0], inf  # they have touched for a fortnight


@lru_cache(maxsize=1024)
def _of_day(attended: Attended, day: date) -> tuple[float, float]:
    """Begin and end of the stretch that begins on a day. [s]"""
    begin, end = (
        _moment(day, minutes, attended.zone) for minutes in (attended.begin_min, attended.end_min)
    )
    return begin, end


def _moment(day: date, minutes: int, zone: tzinfo) -> float:
    """A time of the wall clock as a moment. [s]"""
    wall = datetime.combine(day, time()) + timedelta(minutes=minutes)
    first = wall.replace(tzinfo=zone).timestamp()
    if datetime.fromtimestamp(first, zone).replace(tzinfo=None, fold=0) == wall:
        return first
    # The clock leaves this time out: read by the offset after the jump it lies before it.
    before = wall.replace(tzinfo=zone, fold=1).timestamp()
    offset = datetime.fromtimestamp(before, zone).utcoffset()
    while first - before > 1.0:
        middle = (before + first) // 2
        if datetime.fromtimestamp(middle, zone).utcoffset() == offset:
            before = middle
        else:
            first = middle
    return first


def _days(text: str) -> tuple[int, ...]:
    found: set[int] = set()
    for part in text.split(","):
        first, _, last = part.strip().partition("-")
        at = _DAYS.index(first)
        length = (_DAYS.index(last or first) - at) % 7 + 1
        found |= {(at + k) % 7 for k in range(length)}
    return tuple(sorted(found))
