"""Moments as people write them into a line of the screen."""

from datetime import datetime, timedelta, tzinfo

from tui.settings.quantities import RefusedError, read_quantity


def moment_meant(written: str, now: float, zone: tzinfo, *, ahead: bool) -> float:
    """A moment to come, or gone by: an hour of the day, a date, or so long from now.

    Args:
        written: "14:30", "2 h", "2 h ago", "2031-02-05T14:30".
        now: the moment from which it is meant. [s]
        zone: of the bench, for what has no offset.
        ahead: whether the next such hour is meant, else the last one.

    Raises:
        ValueError: it is none; says what to write.

    Example:
        >>> from datetime import UTC
        >>> moment_meant("01:00", 1800.0, UTC, ahead=True)
        3600.0
        >>> moment_meant("01:00", 1800.0, UTC, ahead=False)
        -82800.0
        >>> moment_meant("2 h", 1800.0, UTC, ahead=True)
        9000.0
        >>> moment_meant("20 min ago", 1800.0, UTC, ahead=False)
        600.0
    """
    text = written.strip()
    if not text or text == "now":
        return now
    try:
        hour, _, minute = text.partition(":")
        if hour.isdigit() and minute.isdigit():
            today = datetime.fromtimestamp(now, zone).replace(
                hour=int(hour), minute=int(minute), second=0, microsecond=0
            )
            if ahead and today.timestamp() <= now:
                today += timedelta(days=1)
            if not ahead and today.timestamp() > now:
                today -= timedelta(days=1)
            return today.timestamp()
        if "-" in text[1:]:
            found = datetime.fromisoformat(text)
            return (found if found.tzinfo is not None else found.replace(tzinfo=zone)).timestamp()
        span = abs(read_quantity(text if ahead else text.removesuffix("ago").rstrip(), "s"))
        return now + span if ahead else now - span
    except (ValueError, OverflowError, RefusedError):
        raise ValueError(
            f'{text!r} is no time: write it as 14:30, "2 h" or 2031-02-05T14:30'
        ) from None
