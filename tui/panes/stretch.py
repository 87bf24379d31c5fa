"""The stretch of time that the wall shows: how much, where now stands in it, how far it goes."""

from collections.abc import Iterator

from tui.bench.picture import Bench
from tui.ink.times import TimeAxis, wanted_span
from tui.panes.lane import track_left
from tui.panes.pane import View

NOW_SHARE = {"wide": 0.6, "medium": 0.55, "narrow": 0.55, "tiny": 0.55}
"""Where on the axis now stands, by form: words to its right want room."""
_FAR_BACK_S, _FAR_AHEAD_S = 36 * 3600.0, 28 * 3600.0
"""How far the axis reaches of itself; more is a key away."""
SCROLLBAR = 1
"""Columns that the wall keeps free at its right, scrolling or not; its size counts them."""


def span_of(bench: Bench, view: View) -> float:
    """Time across the lanes: what was asked for, else what shows every phase and what comes."""
    if view.span_s is not None:
        return view.span_s
    back, ahead = 2 * 3600.0, 3600.0
    for cell in bench.cells:
        if cell.phase is not None:
            back = max(back, min(bench.at - cell.phase.since, _FAR_BACK_S))
        for at in (cell.projection.at, cell.projection.latest):
            if at is not None:
                ahead = max(ahead, min(at - bench.at, _FAR_AHEAD_S))
    return wanted_span(back, ahead, NOW_SHARE[view.form])


def axis_of(bench: Bench, view: View, width: int) -> TimeAxis:
    """The axis that heading and lanes share.

    Args:
        bench: the picture.
        view: zoom, and where it was moved to.
        width: columns of heads and tracks together.
    """
    room = max(1, width - track_left(view))
    share = NOW_SHARE[view.form]
    return TimeAxis.around(bench.at, span_of(bench, view), room, share, view.held_s)


def reach(bench: Bench) -> tuple[float, float]:
    """The first moment that is known of any lane, and the last that is foreseen; now at least."""
    known = (segment.start for cell in bench.cells for segment in cell.lane)
    return min(known, default=bench.at), max(_foreseen(bench), default=bench.at)


def _foreseen(bench: Bench) -> Iterator[float]:
    yield bench.at
    for cell in bench.cells:
        for projection in (cell.projection, *cell.ahead):
            yield from (at for at in (projection.at, projection.latest) if at is not None)
        yield from (hand.at for hand in cell.hands if hand.at is not None)


def moved(bench: Bench, view: View, width: int, by: float) -> float | None:
    """Where the wall is held once it has been moved; None where it goes with now again.

    It moves by whole columns, stops at now when it comes by there, and goes no further than there
    is something to be seen.

    Args:
        bench: the picture.
        view: zoom, and where it was moved to so far.
        width: columns of heads and tracks together.
        by: shares of the axis; below 0 into the past.
    """
    axis = axis_of(bench, view, width)
    columns = round(by * axis.width) or (1 if by > 0 else -1)
    before = bench.at if view.held_s is None else view.held_s
    first, last = reach(bench)
    held = max(first, min(before + columns * axis.column_s, last))
    if held == before:
        return view.held_s
    comes_by = min(before, held) < bench.at <= max(before, held)
    is_there = abs(held - bench.at) < 0.5 * axis.column_s
    return None if view.held_s is not None and (comes_by or is_there) else held


def at_begin(bench: Bench, view: View, width: int) -> float | None:
    """Where the wall is held so that it begins with the first moment that is known."""
    axis = axis_of(bench, view, width)
    held = reach(bench)[0] + NOW_SHARE[view.form] * axis.width * axis.column_s
    return held if held < bench.at else None
