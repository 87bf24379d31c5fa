"""What is drawn of a cell in its track, and nothing else: equal ones look alike.

A row that comes moves a curve by less than a dot most of the time: curves are kept as their dots.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from math import floor
from operator import itemgetter

import numpy as np

from tui.bench.alarms.spells import Spell
from tui.bench.picture import BCheck, Cell, Hand, LaneSegment, Projection
from tui.ink.times import TimeAxis

Places = tuple[tuple[int, int], ...]
"""Dots of a chart that a curve goes through, counted rightwards and downwards."""


@dataclass(frozen=True, slots=True)
class Track:
    """Of one cell."""

    lane: tuple[LaneSegment, ...]
    """Its phases, without their points."""
    curves: tuple[Places, ...]
    """Those of each phase, as far as it is in sight."""
    checks: tuple[BCheck, ...]
    spells: tuple[Spell, ...]
    projection: Projection
    hands: tuple[Hand, ...]


def tracked(
    cell: Cell, axis: TimeAxis, per_x: int, high: int, before: tuple[Cell, Track] | None = None
) -> Track:
    """The track of a cell.

    Args:
        cell: as far as it is known.
        axis: of the wall.
        per_x: dots of one column.
        high: dots of the chart, one above the other.
        before: the same cell as it was, and its track on the same axis with as many dots; of its
            curves only what has come since is placed.
    """
    was, track = before or (None, None)
    lane: list[LaneSegment] = []
    curves: list[Places] = []
    for index, segment in enumerate(cell.lane):
        if was is None or track is None or index >= len(was.lane):
            bare, curve = _anew(segment, axis, per_x, high)
        elif segment == was.lane[index]:
            bare, curve = track.lane[index], track.curves[index]
        elif _goes_on(was.lane[index], segment, axis):
            placed = len(was.lane[index].points)
            bare = track.lane[index]
            curve = _on(track.curves[index], segment, placed, axis, per_x, high)
        else:
            bare, curve = _anew(segment, axis, per_x, high)
        lane.append(bare)
        curves.append(curve)
    return Track(tuple(lane), tuple(curves), cell.checks, cell.spells, cell.projection, cell.hands)


def _anew(
    segment: LaneSegment, axis: TimeAxis, per_x: int, high: int
) -> tuple[LaneSegment, Places]:
    return replace(segment, points=()), _places(segment, axis, per_x, high)


def _goes_on(old: LaneSegment, new: LaneSegment, axis: TimeAxis) -> bool:
    """Whether nothing but points came behind those of before, all of them in sight."""
    placed = len(old.points)
    return (
        0 < placed < len(new.points)
        and old.points == new.points[:placed]
        and old == replace(new, points=old.points)
        and axis.first <= old.points[-1][0]
        and new.points[-1][0] <= axis.last
    )


def _on(
    curve: Places, segment: LaneSegment, placed: int, axis: TimeAxis, per_x: int, high: int
) -> Places:
    """A curve and the dots of the few points that came behind those that are placed."""
    found = list(curve)
    for at, value in segment.points[placed:]:
        share = (value - segment.low) / ((segment.high - segment.low) or 1.0)
        down = min(max(round((1.0 - share) * (high - 1)), 0), high - 1)
        dot = floor(axis.place(at) * per_x), down
        if dot != found[-1]:
            found.append(dot)
    return tuple(found) if len(found) > len(curve) else curve


def _places(segment: LaneSegment, axis: TimeAxis, per_x: int, high: int) -> Places:
    """The dots of its points; of points on one dot, one behind the other, the first."""
    points = np.array(_in_sight(segment, axis)).reshape(-1, 2)
    if len(points) == 0:
        return ()
    at = axis.now_column + (points[:, 0] - axis.now) / axis.column_s
    shares = (points[:, 1] - segment.low) / ((segment.high - segment.low) or 1.0)
    down = np.rint((1.0 - shares) * (high - 1)).clip(0, high - 1)
    places = np.stack((np.floor(at * per_x), down), axis=1).astype(np.int64)
    goes = np.concatenate(([True], np.any(places[1:] != places[:-1], axis=1)))
    return tuple((x, y) for x, y in places[goes].tolist())


def _in_sight(segment: LaneSegment, axis: TimeAxis) -> tuple[tuple[float, float], ...]:
    """Its points on the axis, and the one before and behind, to which the curve goes on."""
    first = bisect_left(segment.points, axis.first, key=itemgetter(0))
    end = bisect_right(segment.points, axis.last, key=itemgetter(0))
    return segment.points[max(0, first - 1) : end + 1]
