"""Moments, ages and countdowns as people say them; nothing here reads a clock."""

from datetime import datetime, tzinfo

from tui.words.plain import NOTHING


def _long(seconds: float) -> str:
    minutes = int(seconds // 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes:02d} min"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if days < 10 else f"{days} d"


def age(seconds: float | None) -> str:
    """How old something is; below a minute in steps of 5 s, so that a quiet screen stays quiet.

    Example:
        >>> age(13.0), age(200.0), age(7500.0), age(-130.0)
        ('10 s', '3 min', '2 h 05 min', '2 min ahead')
    """
    if seconds is None:
        return NOTHING
    if seconds <= -60:
        return f"{_long(-seconds)} ahead"
    if seconds < 60:
        return f"{max(0, int(seconds)) // 5 * 5} s"
    return _long(seconds)


def countdown(seconds: float | None) -> str:
    """How long until something is due: whole seconds in the last minute, else minutes.

    Example:
        >>> countdown(45.2), countdown(245.0), countdown(0.0), countdown(-700.0)
        ('45 s', '4 min', 'now', '11 min late')
    """
    if seconds is None:
        return NOTHING
    if seconds <= -60:
        return f"{_long(-seconds)} late"
    if seconds <= 0:
        return "now"
    return f"{int(seconds)} s" if seconds < 60 else _long(seconds)


def clock(seconds: float) -> str:
    """A countdown that ticks; from an hour on without seconds.

    Example:
        >>> clock(245.9), clock(7_265.0), clock(0.0), clock(-700.0), clock(200_000.0)
        ('4 min 05 s', '2 h 01 min', 'now', '11 min late', '2 d 7 h')
    """
    if seconds < 1.0 or seconds >= 3600.0:
        return countdown(seconds) if not 0.0 < seconds < 1.0 else "now"
    minutes, left = divmod(int(seconds), 60)
    return f"{minutes} min {left:02d} s" if minutes else f"{left} s"


def coarse(seconds: float | None) -> str:
    """A countdown for where there is hardly any room: its largest unit only.

    Example:
        >>> coarse(245.0), coarse(7_000.0), coarse(-7_000.0)
        ('4 min', '1 h', '1 h late')
    """
    if seconds is None:
        return NOTHING
    largest = " ".join(countdown(seconds).split()[:2])
    return f"{largest} late" if seconds <= -60 else largest


def coarse_age(seconds: float) -> str:
    """An age for where there is hardly any room: its largest unit only.

    Example:
        >>> coarse_age(13.0), coarse_age(7_000.0), coarse_age(-130.0)
        ('10 s', '1 h', '2 min ahead')
    """
    told = age(seconds)
    return told if told.endswith("ahead") else " ".join(told.split()[:2])


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def local(at: float, zone: tzinfo) -> datetime:
    """A moment on the bench's wall clock."""
    return datetime.fromtimestamp(at, zone)


def _day(then: datetime, today: datetime) -> str:
    distance = (then.date() - today.date()).days
    if distance == 0:
        return "today"
    if -6 <= distance <= 6:
        return _DAYS[then.weekday()]
    if then.year == today.year:
        return f"{then.day} {_MONTHS[then.month - 1]}"
    return f"{then:%Y-%m-%d}"


def moment(at: float | None, zone: tzinfo, now: float) -> str:
    """A moment as people say it on the day of `now`.

    Example:
        >>> from datetime import UTC
        >>> moment(90_000.0, UTC, 87_000.0), moment(90_000.0, UTC, 0.0)
        ('today 01:00', 'Fri 01:00')
    """
    if at is None:
        return NOTHING
    then = local(at, zone)
    return f"{_day(then, local(now, zone))} {then:%H:%M}"


def interval(earliest: float | None, latest: float | None, zone: tzinfo, now: float) -> str:
    """From when to when.

    Example:
        >>> from datetime import UTC
        >>> interval(90_000.0, 97_200.0, UTC, 0.0)
        'Fri 01:00–03:00'
    """
    if earliest is None and latest is None:
        return NOTHING
    if latest is None:
        return f"from {moment(earliest, zone, now)}"
    if earliest is None:
        return f"by {moment(latest, zone, now)}"
    first, last = local(earliest, zone), local(latest, zone)
    if first.date() == last.date():
        return f"{moment(earliest, zone, now)}–{last:%H:%M}"
    return f"{moment(earliest, zone, now)} – {moment(latest, zone, now)}"


def date_and_time(at: float, zone: tzinfo) -> str:
    """A moment in full, to the minute: the head of a page.

    Example:
        >>> from datetime import UTC
        >>> date_and_time(0.0, UTC)
        'Thu 1 Jan 1970 00:00'
    """
    then = local(at, zone)
    return f"{_DAYS[then.weekday()]} {then.day} {_MONTHS[then.month - 1]} {then.year} {then:%H:%M}"


def to_the_second(at: float, zone: tzinfo) -> str:
    """A moment where every reading counts.

    Example:
        >>> from datetime import UTC
        >>> to_the_second(61.5, UTC)
        'Thu 1 Jan 00:01:01'
    """
    then = local(at, zone)
    return f"{_DAYS[then.weekday()]} {then.day} {_MONTHS[then.month - 1]} {then:%H:%M:%S}"
