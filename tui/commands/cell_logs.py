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
    rows: int = 0
    """Rows that are used."""
    newest: float | None = None
    """Time of the newest of them. [s since the epoch]"""
    ahead: int = 0
    """Of them, how many are later than could be."""


def read_logs(
    place: "Place", layout: "Layout", *, until: float | None = None, now: float | None = None
) -> CellLogs:
    """Read the logs of a cell to their present end.

    Args:
        place: with or without a test; without usable settings nothing is read.
        layout: the bench that it belongs to.
        until: rows whose own time is later are ignored. [s since the epoch]
        now: rows later than this are ahead; None: none is. [s since the epoch]
    """
    if place.log is None:
        return CellLogs({}, (), ())
    from tui.feed.source import CellSource  # noqa: PLC0415 (numpy)

    source = CellSource(place, layout.root, layout.zone)
    unused: list[UnusedRow] = []
    newest: list[float] = []
    rows = ahead = 0
    problems: tuple[Problem, ...] = ()
    while (arrivals := source.read()) is not None:
        if arrivals.restart:
            unused.clear()
            newest.clear()
            rows = ahead = 0
        unused.extend(arrivals.unused)
        if arrivals.rows is not None:
            times = arrivals.rows.times
            times = times if until is None else times[times <= until]
            rows += len(times)
            newest += [float(times.max())] if len(times) else []
            ahead += 0 if now is None else int((times > now).sum())
        if arrivals.problems is not None:
            problems = arrivals.problems
    understood = dict(source.understood)
    return CellLogs(understood, tuple(unused), problems, rows, max(newest, default=None), ahead)
