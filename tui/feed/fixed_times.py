"""Timestamps that all have the same width and form, read as columns of digits.

What it gives is what `moments` gives one by one; whatever is not as plain as that is left to it.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from tui.feed.rows import Column

Digits = NDArray[np.uint8]
"""(width, n) letters of n texts, one row a place."""

Day = Callable[[int, int, int, str], int]
"""The ordinal of a day from the three numbers of a date as they stand, and the text."""

_FORM = re.compile(
    r"(?:(?P<Y>\d{4})(?P<s>[-/.])(?P<m>\d\d)(?P=s)(?P<d>\d\d)"
    r"|(?P<a>\d\d)(?P<t>[-/.])(?P<b>\d\d)(?P=t)(?P<y>\d{4}))"
    r"[T ](?P<hour>\d\d):(?P<minute>\d\d)(?::(?P<second>\d\d)(?:\.(?P<part>\d{1,6}))?)?"
    r"(?P<zone>Z|[+-]\d\d:\d\d)?"
)
_EPOCH_DAY = date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True)
class Stamps:
    """Texts of one width."""

    digits: Digits
    first: str
    """The first of them."""

    def number(self, span: tuple[int, int]) -> NDArray[np.int64]:
        """(n,) the digits between two places as whole numbers."""
        value = np.zeros(self.digits.shape[1], np.int32)
        for place in range(*span):
            value = value * 10 + (self.digits[place] - 48)
        return value.astype(np.int64)

    def pair(self, span: tuple[int, int]) -> Digits:
        """(n,) two digits as a number, in one byte each."""
        tens, ones = self.digits[span[0]] - 48, self.digits[span[0] + 1] - 48
        both: Digits = tens * np.uint8(10) + ones
        return both


def stamps_of(texts: bytes, count: int) -> Stamps | None:
    """Texts that stand one behind the other without a gap; None if their widths may differ.

    Args:
        texts: ASCII.
        count: how many there are, above 0.
    """
    width, rest = divmod(len(texts), count)
    if rest or not width:
        return None
    table = np.frombuffer(texts, np.uint8).reshape(count, width)
    return Stamps(np.ascontiguousarray(table.T), texts[:width].decode("ascii"))


def beside(parts: Sequence[Stamps]) -> Stamps:
    """Texts of several columns, a blank between."""
    if len(parts) == 1:
        return parts[0]
    blank = np.full((1, parts[0].digits.shape[1]), ord(" "), np.uint8)
    pieces = [parts[0].digits]
    for part in parts[1:]:
        pieces += [blank, part.digits]
    return Stamps(np.concatenate(pieces), " ".join(part.first for part in parts))


def seconds_of(stamps: Stamps, day: Day, *, micro: bool) -> tuple[Column, str | None] | None:
    """The moments as the clock on the wall shows them, and the zone written behind each.

    Args:
        stamps: of one form, as far as is known.
        day: tells the day of a date that begins with day or month.
        micro: parts of a second are whole microseconds.

    Returns:
        (n,) [s since 1970], zone; None where one of them has another form or is no moment.
    """
    form = _FORM.fullmatch(stamps.first)
    if form is None:
        return None
    spans = {
        name: form.span(name)
        for name in form.groupdict()
        if form[name] is not None and name not in ("s", "t", "zone")
    }
    if not _alike(stamps, spans):
        return None
    clock = np.zeros(stamps.digits.shape[1], np.int32)
    for name, most, seconds in (("hour", 23, 3600), ("minute", 59, 60), ("second", 59, 1)):
        if name in spans:
            part = stamps.pair(spans[name])
            if part.max() > most:
                return None
            clock += part * np.int32(seconds)
    try:
        days = _days(stamps, spans, day)
    except ValueError:
        return None
    whole = days * 86400 + clock
    if "part" not in spans:
        return whole.astype(float), form["zone"]
    begin, end = spans["part"]
    fraction = stamps.number((begin, end))
    if micro:
        count = whole * 1_000_000 + fraction * 10 ** (6 - (end - begin))
        return count / 1e6, form["zone"]
    return whole + fraction / 10.0 ** (end - begin), form["zone"]


def _alike(stamps: Stamps, numbers: dict[str, tuple[int, int]]) -> bool:
    """Whether all have digits where the first has numbers, and the same letters elsewhere."""
    low, high = stamps.digits.min(axis=1), stamps.digits.max(axis=1)
    places = [place for span in numbers.values() for place in range(*span)]
    others = np.setdiff1d(np.arange(len(low)), places)
    digits = low[places].min() >= ord("0") and high[places].max() <= ord("9")
    return bool(digits and (low[others] == high[others]).all())


def _days(stamps: Stamps, numbers: dict[str, tuple[int, int]], day: Day) -> NDArray[np.int64]:
    """(n,) days since 1970; each date is looked at once as long as it lasts."""
    names = ("Y", "m", "d") if "Y" in numbers else ("a", "b", "y")
    spans = [numbers[name] for name in names]
    letters = stamps.digits[min(a for a, _ in spans) : max(b for _, b in spans)]
    changed = (letters[:, 1:] != letters[:, :-1]).any(axis=0)
    begins = np.concatenate(([0], np.flatnonzero(changed) + 1))
    dates = Stamps(stamps.digits[:, begins], stamps.first)
    triples = zip(*(dates.number(span).tolist() for span in spans), strict=True)
    texts = [column.tobytes().decode("ascii") for column in dates.digits.T]
    ordinals = [
        (date(a, b, c).toordinal() if "Y" in numbers else day(a, b, c, text)) - _EPOCH_DAY
        for (a, b, c), text in zip(triples, texts, strict=True)
    ]
    lengths = np.diff(np.concatenate((begins, [stamps.digits.shape[1]])))
    return np.repeat(np.array(ordinals, np.int64), lengths)
