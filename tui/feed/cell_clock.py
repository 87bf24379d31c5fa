"""One time for all files of a cell, whatever happened to its logger's clock."""

from collections.abc import Mapping
from datetime import datetime, tzinfo
from itertools import pairwise

from tui.feed.clock_steps import ClockStep, counted
from tui.feed.rows import Column
from tui.settings.problems import Problem

MOST_STEPS = 16
"""Steps that are followed; the rows of a clock that jumps more often are only sorted by time."""

_FATES = {
    "set back": "rows before it are counted back by that, to the clock as it is since",
    "reset": "its rows go on where it stood, until it is right again",
    "begun again": "its rows go on where it stood",
}


class CellClock:
    """The steps of the clock that are known; files are known by the stamp of their first row."""

    def __init__(self) -> None:
        self._steps: dict[float, tuple[ClockStep, ...]] = {}

    def follow(self, first_time: float | None, steps: list[ClockStep]) -> bool:
        """Note the steps that a file has shown; whether any of them was not known."""
        if first_time is None:
            return False
        known = self._steps.get(first_time, ())
        room = MOST_STEPS - sum(map(len, self._steps.values()))
        new = [step for step in steps if step not in known][:room]
        if new:
            self._steps[first_time] = (*known, *new)
        return bool(new)

    def counted(self, first_time: float | None, times: Column, first: int) -> Column:
        """The stamps of rows of a file in the one time of the cell.

        Args:
            first_time: the stamp of the file's first row. [s]
            times: (n,) of some of its rows, as stamped. [s]
            first: index of the first of them among its used rows.
        """
        if not self._steps or first_time is None:
            return times
        later_s = sum(
            step.by_s
            for begun, steps in self._steps.items()
            for step in steps
            if begun > first_time and step.kind == "set back"
        )
        return counted(times, first, self._steps.get(first_time, ()), later_s)

    def problems(self, file: str, first_time: float | None, zone: tzinfo) -> list[Problem]:
        """What is said of the clock of a file."""
        steps = () if first_time is None else self._steps.get(first_time, ())
        return [_told(step, file, zone) for step in steps]


def one_start(spans: Mapping[str, tuple[float, float]]) -> list[Problem]:
    """What is said of files that count from one start, where their counts lie over each other.

    Args:
        spans: by file, its first and newest stamp. [s]
    """
    ordered = sorted(spans.items(), key=lambda item: (item[1][0], item[0]))
    for (before, (_, newest)), (file, (first, _)) in pairwise(ordered):
        if first < newest:
            return [
                Problem(
                    "warning",
                    f"{before} and {file} count their time from one start, and lie over each other:"
                    " the rows of one of them stand at wrong times",
                    'say where each file says when it began: [log] time start = "file name" or '
                    '"banner"',
                    file,
                    key="log.time.start",
                )
            ]
    return []


def _told(step: ClockStep, file: str, zone: tzinfo) -> Problem:
    before, after = (
        datetime.fromtimestamp(moment, zone).strftime("%Y-%m-%d %H:%M:%S")
        for moment in (step.before, step.after)
    )
    subject = "its count of time" if step.kind == "begun again" else "its clock"
    return Problem(
        "note",
        f"{file}: {subject} went back from {before} to {after}; {_FATES[step.kind]}",
        "leave it so if that is right; if it was daylight saving, give the logger's own zone: "
        '[log] time = { zone = "…" }',
        file,
        key="log.time",
    )
