"""What of a cell's logs could not be used: how much for which reason, and the newest of it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tui.feed.rows import UnusedRow

MOST_REASONS = 12
"""Reasons that are told apart; whatever comes beyond them is counted together."""
OTHER = "other reasons"
NEWEST = 6
"""Rows that are named with file and line."""
DATED = 500
"""Newest rows whose times are kept."""

_PARTICULAR = re.compile(r'(: .*| "[^"]*")$')
"""The end of a reason that tells of one row only."""


@dataclass(frozen=True, slots=True)
class Unused:
    """Rows and single fields that were not used."""

    reasons: tuple[tuple[str, int], ...] = ()
    """Reason and number, in the order in which they came up first."""
    newest: tuple[UnusedRow, ...] = ()
    times: tuple[float, ...] = ()
    """Of the newest of them, as far as they are known, in the order in which they came. [s]"""

    @property
    def count(self) -> int:
        """How many they are."""
        return sum(number for _, number in self.reasons)

    def since(self, moment: float) -> int:
        """How many there are from a moment on, as far as their times are kept.

        Args:
            moment: by the rows' own time. [s]

        Example:
            >>> more = [UnusedRow("a.csv", line, "OVER", time=60.0 * line) for line in (4, 5)]
            >>> one = Unused().plus([*more, UnusedRow("a.csv", 1, "no time")])
            >>> one.since(240.0), one.since(241.0), one.since(301.0)
            (2, 1, 0)
        """
        return sum(time >= moment for time in self.times)

    def plus(self, rows: Iterable[UnusedRow]) -> "Unused":
        """With some more.

        Example:
            >>> more = [UnusedRow("a.csv", line, "repeated") for line in (4, 5)]
            >>> Unused().plus(more).plus([UnusedRow("a.csv", 9, 'unreadable time "x"')]).reasons
            (('repeated', 2), ('unreadable time', 1))
        """
        added = tuple(rows)
        if not added:
            return self
        reasons = dict(self.reasons)
        for row in added:
            reason = _PARTICULAR.sub("", row.reason)
            if reason not in reasons and len(reasons) >= MOST_REASONS:
                reason = OTHER
            reasons[reason] = reasons.get(reason, 0) + 1
        times = (*self.times, *(row.time for row in added if row.time is not None))[-DATED:]
        return Unused(tuple(reasons.items()), (*self.newest, *added)[-NEWEST:], times)
