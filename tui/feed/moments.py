"""One timestamp as text, in any of the ways that loggers write it, as its parts.

The order of day and month is told from the data where it can be: by a number above 12, or by two
neighbouring dates of which only one order makes consecutive days.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Literal

Order = Literal["DMY", "MDY"]

_EPOCH_DAY = date(1970, 1, 1).toordinal()
_EARLIEST, _LATEST = date(1900, 1, 2).toordinal(), date(2199, 12, 31).toordinal()
_MONTHS = {
    name: number
    for number, name in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), 1
    )
}
_DATE = (
    r"(?P<a>\d{4}|\d{1,2})(?:(?P<sep>[-/.])(?P<b>\d{1,2})(?P=sep)"
    r"|[-/. ](?P<month>[A-Za-z]{3,9})[-/. ])"
    r"(?P<c>\d{4}|\d{1,2})"
)
_TIME = (
    r"(?P<h>\d{1,2})[:.](?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,:](?P<f>\d{1,9}))?)?"
    r"\s*(?:(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_ZONE = r"\s*(?P<zone>Z|UTC|GMT|[+-]\d{2}:?\d{2})?"
_MOMENT = re.compile(rf"\s*{_DATE}(?:T|,?\s+|_){_TIME}{_ZONE}\s*$")
_ANYWHERE = re.compile(rf"(?<!\d){_DATE}(?:(?:T|,?\s+|_){_TIME}{_ZONE})?(?!\d)")
_DENSE = re.compile(
    r"(?<!\d)(\d{4})[-_.]?(\d{2})[-_.]?(\d{2})"
    r"(?:[T_ -]?(\d{2})[-_.:h]?(\d{2})(?:[-_.:m]?(\d{2}))?)?(?!\d)"
)


class OrderTurnedError(Exception):
    """Day and month stand the other way round than was assumed: read everything again."""


@dataclass(slots=True)
class DateOrder:
    """Which of day and month comes first in the files of one cell, as far as it is known."""

    order: Order = "DMY"
    settled: bool = False
    """Whether the data have told; otherwise it is assumed."""
    doubtful: str | None = None
    """A date that was read by assumption."""

    def settle(self, order: Order) -> None:
        """The data have told.

        Raises:
            OrderTurnedError: dates were read the other way round before.
        """
        turned = not self.settled and self.doubtful is not None and order != self.order
        self.order, self.settled, self.doubtful = order, True, None
        if turned:
            raise OrderTurnedError


class Dates:
    """The dates of one file; what they tell about the order serves all files of the cell."""

    def __init__(self, order: DateOrder) -> None:
        self._order = order
        self._last: tuple[int, int, int] | None = None
        self._ordinals: dict[tuple[str, int, int, int], int] = {}

    @property
    def words(self) -> str:
        """In which order day and month were read, and why; empty where no date left it open."""
        if not self._ordinals:
            return ""
        first = "day first" if self._order.order == "DMY" else "month first"
        if self._order.settled:
            return f"{first} as its dates show"
        return first if self._order.doubtful is None else f"{first} (assumed)"

    def day(self, first: int, second: int, year: int, text: str, *, dots: bool) -> int:
        """The day that three numbers mean, as its ordinal.

        Raises:
            ValueError: there is no such day.
            OrderTurnedError: they show that the order assumed so far was wrong.
        """
        order = self._order
        known = self._ordinals.get((order.order, first, second, year))
        if known is not None:
            return known
        if not order.settled:
            self._weigh((first, second, year), text, dots=dots)
        day, month = (first, second) if order.order == "DMY" else (second, first)
        ordinal = date(year, month, day).toordinal()
        self._ordinals[order.order, first, second, year] = ordinal
        return ordinal

    def _weigh(self, key: tuple[int, int, int], text: str, *, dots: bool) -> None:
        first, second, year = key
        before, self._last = self._last, key
        if first > 12 >= second:
            self._order.settle("DMY")
        elif second > 12 >= first:
            self._order.settle("MDY")
        elif before == (first - 1, second, year):
            self._order.settle("DMY")
        elif before == (first, second - 1, year):
            self._order.settle("MDY")
        elif first != second and self._order.doubtful is None and not dots:
            # Nobody writes the month first with points between.
            self._order.doubtful = text.strip()


@dataclass(frozen=True, slots=True)
class Moment:
    """A timestamp read."""

    naive_s: float
    """Seconds since 1970 as the clock on the wall shows them."""
    offset_s: float | None = None
    """Ahead of UTC by, if the text says so."""


def zone_s(text: str | None) -> float | None:
    """How far ahead of UTC a zone written behind a time is; None where none is written. [s]"""
    if text is None:
        return None
    if text[0] not in "+-":
        return 0.0
    digits = text[1:].replace(":", "")
    seconds = int(digits[:2]) * 3600 + int(digits[2:]) * 60
    return float(-seconds if text[0] == "-" else seconds)


def _from_match(match: re.Match[str], dates: Dates) -> Moment:
    first, middle, last = match["a"], match["b"], match["c"]
    if middle is not None:
        if len(first) == 4:
            ordinal = date(int(first), int(middle), int(last)).toordinal()
        else:
            year = int(last) + (2000 if len(last) <= 2 else 0)
            ordinal = dates.day(int(first), int(middle), year, match[0], dots=match["sep"] == ".")
    else:
        month = _MONTHS.get(match["month"][:3].casefold())
        if month is None:
            raise ValueError("no month of that name")
        day_text, year_text = (last, first) if len(first) == 4 else (first, last)
        year = int(year_text) + (2000 if len(year_text) <= 2 else 0)
        ordinal = date(year, month, int(day_text)).toordinal()
    if not _EARLIEST <= ordinal < _LATEST:
        raise ValueError("no date of our times")
    hour = int(match["h"] or 0)
    minute, second = int(match["m"] or 0), int(match["s"] or 0)
    if half := match["half"]:
        if not 1 <= hour <= 12:
            raise ValueError("a 12-hour clock shows 1 to 12")
        hour = hour % 12 + (12 if half in "Pp" else 0)
    midnight = hour == 24 and minute == second == 0
    if (hour > 23 and not midnight) or minute > 59 or second > 59:
        raise ValueError("no such time of day")
    fraction = float(f"0.{match['f']}") if match["f"] else 0.0
    whole = (ordinal - _EPOCH_DAY) * 86400 + hour * 3600 + minute * 60 + second
    return Moment(whole + fraction, zone_s(match["zone"]))


def read_moment(text: str, dates: Dates) -> Moment:
    """A date with a time of day.

    Raises:
        ValueError: it is none.
        OrderTurnedError: it shows that day and month were read the wrong way round before.

    Example:
        >>> read_moment("13/02/2031 1:05:00 PM", Dates(DateOrder())).naive_s % 86400 / 3600
        13.083333333333334
    """
    match = _MOMENT.match(text)
    if match is None:
        raise ValueError("no date and time")
    return _from_match(match, dates)


def looks_like_moment(text: str) -> bool:
    """Whether the text has the form of a date with a time of day."""
    return _MOMENT.match(text) is not None


def find_moment(text: str, dates: Dates) -> tuple[Moment, bool] | None:
    """The first date in a banner line or a file name, and whether it has a time of day."""
    bare: Moment | None = None
    for match in _ANYWHERE.finditer(text):
        timed = match["h"] is not None
        # "1.2.03" may be a version: without a time of day only a whole year makes a date.
        if not timed and len(match["a"]) != 4 and len(match["c"]) != 4:
            continue
        try:
            moment = _from_match(match, dates)
        except ValueError:
            continue
        if timed:
            return moment, True
        bare = bare or moment
    for found in _DENSE.finditer(text):
        year, month, day, hour, minute, second = (int(part or 0) for part in found.groups())
        try:
            written = datetime(year, month, day, hour, minute, second, tzinfo=UTC)
        except ValueError:
            continue
        if not _EARLIEST <= written.toordinal() < _LATEST:
            continue
        dense = from_datetime(written)
        if found[4] is not None:
            return Moment(dense.naive_s), True
        bare = bare or Moment(dense.naive_s)
    return None if bare is None else (bare, False)


def from_datetime(moment: datetime) -> Moment:
    """Of Python's own kind, with or without an offset."""
    offset = moment.utcoffset()
    bare = moment.replace(tzinfo=UTC)
    seconds = (bare - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(seconds=1)
    return Moment(seconds, None if offset is None else offset.total_seconds())
