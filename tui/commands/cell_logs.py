"""All that the logs of one cell hold, read once from the beginning."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tui.settings.problems import Problem

if TYPE_CHECKING:
    from tui.feed.rows import UnusedRow
    from tui.settings.places import Layout, Place


@dataclass(frozen=True, slots=True)
class CellLogs:
    """What was found."""

    understood: dict[str, Any]
    """How the feed reads the files."""
    unused: tuple["UnusedRow", ...]
    problems: tuple[Problem, ...]
    times: tuple[float, ...]
    """Of all rows, in file order. [s since the epoch]"""

    @property
    def newest(self) -> float | None:
        """Time of the newest row. [s since the epoch]"""
        return max(self.times, default=None)


def read_logs(place: "Place", layout: "Layout") -> CellLogs:
    """Read the logs of a cell to their present end.

    Args:
        place: with or without a test; without usable settings nothing is read.
        layout: the bench that it belongs to.
    """
    if place.log is None:
        return CellLogs({}, (), (), ())
    from tui.feed.source import CellSource  # noqa: PLC0415 (numpy)

    source = CellSource(place, layout.root, layout.zone)
    unused: list[UnusedRow] = []
    times: list[float] = []
    problems: tuple[Problem, ...] = ()
    while (arrivals := source.read()) is not None:
        if arrivals.restart:
            unused.clear()
            times.clear()
        unused.extend(arrivals.unused)
        if arrivals.rows is not None:
            times.extend(float(one) for one in arrivals.rows.times)
        if arrivals.problems is not None:
            problems = arrivals.problems
    return CellLogs(dict(source.understood), tuple(unused), problems, tuple(times))
