"""A logger's clock that was set back, told from rows that are only late.

Late rows fill a gap: the rows before them leave room for them, and then the stamps go on above.
A clock that was set back shows moments that are covered already, so that its rows lie among the
rows before them. A step that passes fewer than three rows cannot be told from late rows and does
no harm. What is found depends on the rows of a file in their order and on nothing else.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tui.feed.rows import Column, extent

PASSED = 3
"""Rows from before that a stretch must pass, and rows that it must have."""

_RECENT = 1024
"""Rows that are compared one by one; of those before, every so many:"""
_EVERY = 128

_LOST_S = 30 * 86400.0
"""A clock that falls this far behind the first row of its file was reset, not corrected. [s]"""

Kind = Literal["set back", "reset", "begun again"]


@dataclass(frozen=True, slots=True)
class ClockStep:
    """From one row of a file on its clock showed an earlier time."""

    row: int
    """Of the used rows of the file, from 0."""
    kind: Kind
    """set back: it is right since then; reset: it was right before, and perhaps later again;
    begun again: a count of elapsed time."""
    by_s: float
    """How far, if the row came one interval behind the row before it."""
    before: float
    """The newest stamp before. [s]"""
    after: float
    """The stamp of the row. [s]"""


class ClockWatch:
    """Follows the stamps of one file."""

    def __init__(self, *, counts: bool) -> None:
        self.rows = 0
        """Used rows that came before what is added next."""
        self._counts = counts
        self._begin(np.empty(0))

    def _begin(self, stamps: Column) -> None:
        self._first: float | None = None
        self._top = -np.inf
        self._kept = 0
        self._recent = np.empty(0)
        self._coarse = np.empty(0)
        self._stretch: list[float] = []
        self._late = False
        self._keep(stamps)

    def _keep(self, stamps: Column) -> None:
        if not len(stamps):
            return
        if len(coarse := stamps[-self._kept % _EVERY :: _EVERY]):
            self._coarse = np.append(self._coarse, coarse)
        self._kept += len(stamps)
        self._recent = np.concatenate((self._recent, stamps))[-_RECENT:].copy()
        self._top = max(self._top, extent(stamps)[1])
        if self._first is None:
            self._first = float(stamps[0])

    @property
    def span(self) -> tuple[float, float] | None:
        """First and newest stamp since the last step; None before the first row. [s]"""
        return None if self._first is None else (self._first, self._top)

    def add(self, times: Column) -> list[ClockStep]:
        """The next used rows, as the logger stamped them.

        Returns:
            The steps that have become certain with them.
        """
        found: list[ClockStep] = []
        calm = not self._stretch and not self._late and len(times) > 0
        if (
            calm
            and times[0] >= self._top
            and (len(times) == 1 or bool((times[1:] >= times[:-1]).all()))
        ):
            self._keep(times)
            self.rows += len(times)
            return found
        at = 0
        while at < len(times):
            if not self._stretch and not self._late:
                tops = np.maximum.accumulate(np.concatenate(([self._top], times[at:])))
                back = np.flatnonzero(times[at:] < tops[:-1])
                until = at + int(back[0]) if len(back) else len(times)
                self._keep(times[at:until])
                at = until
                if at == len(times):
                    break
            time = float(times[at])
            if time >= self._top:
                self._keep(np.array(self._stretch))
                self._stretch, self._late = [], False
                continue
            at += 1
            self._stretch.append(time)
            step = None if self._late else self._judged(self.rows + at - len(self._stretch))
            if step is not None:
                found.append(step)
                self._begin(np.array(self._stretch))
            elif len(self._stretch) >= _RECENT:  # a block that long was held back
                self._keep(np.array(self._stretch))
                self._stretch, self._late = [], True
        self.rows += len(times)
        return found

    def _judged(self, row: int) -> ClockStep | None:
        stretch = self._stretch
        if len(stretch) < PASSED:
            return None
        low, high = min(stretch), max(stretch)
        reset = self._first is not None and high < self._first - _LOST_S
        passed = np.count_nonzero((self._recent > low) & (self._recent < high))
        if passed < PASSED and not reset:
            older = self._coarse[: max(0, self._kept - _RECENT) // _EVERY]
            if not ((older > low) & (older < high)).any():
                return None
        gaps = np.diff(self._recent[-10:])
        gaps = gaps[gaps > 0.0]
        usual = float(np.median(gaps)) if len(gaps) else 0.0
        kind: Kind = "begun again" if self._counts else "reset" if reset else "set back"
        return ClockStep(row, kind, self._top + usual - stretch[0], self._top, stretch[0])


def counted(times: Column, first: int, steps: Sequence[ClockStep], later_s: float) -> Column:
    """The stamps of rows as one time that never steps back.

    Args:
        times: (n,) as the logger stamped them. [s]
        first: index of the first of them among the used rows of its file.
        steps: of this file.
        later_s: by how much the clock was set back in later files. [s]

    Returns:
        (n,) Rows before a clock was set back are counted by the clock as it was since; rows of a
        clock that was reset, or of a count that began again, go on where it stood. [s]

    Example:
        >>> step = ClockStep(2, "set back", 3600.0, 10.0, -3580.0)
        >>> counted(np.array([0.0, 10.0, -3580.0]), 0, [step], 0.0).tolist()
        [-3600.0, -3590.0, -3580.0]
    """
    places = np.arange(first, first + len(times))
    answer: Column = times - later_s
    for step in steps:
        if step.kind == "set back":
            answer = np.where(places < step.row, answer - step.by_s, answer)
            continue
        on = places >= step.row
        if step.kind == "reset":
            on &= times < step.before
        answer = np.where(on, answer + step.by_s, answer)
    return answer
