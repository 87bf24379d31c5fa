"""Moments in words that the picture itself carries: the moment of looking does not change them."""

from collections.abc import Iterable
from datetime import datetime, tzinfo

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_NEAR_DAYS = 6


def day_and_time(at: float, zone: tzinfo, newest: float) -> str:
    """A moment by the day of the week, or by its date where that could be another week's.

    Args:
        at: the moment. [s]
        zone: of the bench.
        newest: the reading that it is seen from. [s]

    Example:
        >>> from datetime import UTC
        >>> day_and_time(90_000.0, UTC, 0.0), day_and_time(900_000.0, UTC, 0.0)
        ('Fri 01:00', '1970-01-11 10:00')
    """
    then = datetime.fromtimestamp(at, zone)
    if abs((then.date() - datetime.fromtimestamp(newest, zone).date()).days) > _NEAR_DAYS:
        return f"{then:%Y-%m-%d %H:%M}"
    return f"{_DAYS[then.weekday()]} {then:%H:%M}"


def days_and_times(moments: Iterable[float], zone: tzinfo, newest: float) -> str:
    """Moments in order; a day is named once.

    Example:
        >>> from datetime import UTC
        >>> days_and_times([80_000.0, 86_000.0, 90_000.0], UTC, 0.0)
        'Thu 22:13, 23:53, Fri 01:00'
    """
    words, before = [], None
    for at in moments:
        day, clock = day_and_time(at, zone, newest).rsplit(" ", 1)
        words.append(clock if day == before else f"{day} {clock}")
        before = day
    return ", ".join(words)
