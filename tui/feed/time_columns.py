"""Which columns of a log hold the time, and in which form it is written there."""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Literal

import numpy as np

from tui.feed.moments import looks_like_moment
from tui.feed.numbers import NumberColumn
from tui.feed.plain_text import same_name
from tui.settings.cell_toml import TimeColumn

SHORTEST = len("2031-02-03T08:00")
"""Letters of a moment; a date alone is none."""

_DATE_NAMES = ("date", "datum", "day", "dato", "fecha")
_CLOCK_NAMES = ("time", "zeit", "uhrzeit", "clock", "time of day", "tid", "klokke", "hora", "heure")
_ELAPSED_WORDS = ("elapsed", "time", "zeit", "tid", "sec", "min", "hour", "t", "s", "h")
_UNIX_FROM, _UNIX_TO = 6e8, 4.2e9
_UTC_NAME = re.compile(r"(?<![a-z])(utc|gmt)(?![a-z])")
_SAYS_OFFSET = re.compile(r":\d{2}\S*\s*(z|[+-]\d{2}:?\d{2})\s*$", re.IGNORECASE)

ClockForm = Literal["iso", "other", "unix", "pinned"]


def clock_like(text: str) -> float:
    """[d.]h:mm[:ss[.f]] in seconds, or NaN.

    Example:
        >>> clock_like("1.02:30"), clock_like(".5:00")
        (95400.0, nan)
    """
    parts = text.strip().replace(",", ".").split(":")
    if not 2 <= len(parts) <= 3 or not all(part.replace(".", "", 1).isdecimal() for part in parts):
        return np.nan
    days, dot, hours = parts[0].rpartition(".")
    if not hours or (dot and not days):
        return np.nan
    minutes, seconds = float(parts[1]), float(parts[2]) if len(parts) == 3 else 0.0
    return (float(days) * 86400 if dot else 0.0) + float(hours) * 3600 + minutes * 60 + seconds


def clock_form(text: str, pinned: str | None) -> ClockForm | None:
    """How a field of a clock is written; None: it is none."""
    text = text.strip()
    if pinned is not None:
        try:
            datetime.strptime(text, pinned)  # noqa: DTZ007
        except ValueError:
            return None
        return "pinned"
    try:
        return "unix" if _UNIX_FROM <= float(text.replace(",", ".")) <= _UNIX_TO else None
    except ValueError:
        pass
    if len(text) >= SHORTEST and text[:4].isdigit():
        try:
            datetime.fromisoformat(text)
        except ValueError:
            pass
        else:
            return "iso"
    return "other" if looks_like_moment(text) else None


def _is_elapsed(field: str) -> bool:
    values, faults = NumberColumn(None).read([field])
    return (not faults and bool(np.isfinite(values[0]))) or bool(np.isfinite(clock_like(field)))


def find_columns(
    header: Sequence[str], fields: Sequence[str], settings: TimeColumn
) -> tuple[int, ...] | None:
    """Which columns hold the time of a first row; None if it holds none."""
    names = [same_name(name) for name in header]
    if settings.column is not None:
        wanted = (settings.column,) if isinstance(settings.column, str) else settings.column
        if not all(same_name(name) in names for name in wanted):
            return None
        found = tuple(names.index(same_name(name)) for name in wanted)
        return found if _holds(found, fields, settings) else None
    if settings.kind != "clock":
        for word in _ELAPSED_WORDS:
            for index, name in enumerate(names):
                bare = name.split("[")[0].split("(")[0].split("_")[0].strip()
                fits = bare == word if len(word) == 1 else word in name
                if fits and _holds((index,), fields, settings):
                    return (index,)
        return None
    clocks_here = [
        index for index in range(min(len(names), len(fields))) if _holds((index,), fields, settings)
    ]
    if clocks_here:
        # Beside a clock of the bench's zone one that is named for UTC is left alone, unless its
        # stamps say so themselves.
        local = [
            index
            for index in clocks_here
            if not _UTC_NAME.search(names[index]) or _SAYS_OFFSET.search(fields[index])
        ]
        return ((local or clocks_here)[0],)
    dates = [index for index, name in enumerate(names) if name.split(" ")[0] in _DATE_NAMES]
    clocks = [index for index, name in enumerate(names) if name.split(" ")[0] in _CLOCK_NAMES]
    for day in dates:
        for clock in clocks:
            if day != clock and _holds((day, clock), fields, settings):
                return day, clock
    return None


def _holds(columns: tuple[int, ...], fields: Sequence[str], settings: TimeColumn) -> bool:
    if max(columns) >= len(fields):
        return False
    text = " ".join(fields[index].strip() for index in columns)
    if settings.kind != "clock":
        return _is_elapsed(text)
    form = clock_form(text, settings.format)
    # A count of seconds since 1970 is told from a reading by its column being named.
    return form is not None and (form != "unix" or settings.column is not None or columns == (0,))
