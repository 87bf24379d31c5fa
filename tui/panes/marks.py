"""Marks of a lane at their moments: phases that begin, B checks, alarms, visits.

Each has a sign of its own. What matters more is not covered:

1. Now, the event with its band, and every word stand before all marks.
2. An alarm, the beginning of a phase, a visit stand on the rule of the caption; where words stand
   there, or there is no caption, in a free cell of the chart beneath, the highest one first. Where
   several fall on one column, the first of these is shown: urgent alarm, warning, phase.
3. Where no cell is free, an alarm and the beginning of a phase stand over the curve; a visit stands
   in place of the hand that it serves, or on the way to the target, else it is left to the list of
   what needs hands.
4. A B check stands on the curve, which goes from check to check, at its own B; but none of those
   above gives way to it, and of checks that would hide the curve between them only the first is
   shown.
5. How long an alarm stood, and how long a visit may begin, is a heavy stretch of the rule.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import floor
from typing import NamedTuple

from tui.bench.alarms.spells import Spell
from tui.bench.picture import LaneSegment, Visit
from tui.ink.sheet import Sheet
from tui.ink.times import TimeAxis
from tui.panes.pane import View
from tui.panes.tracked import Track

Windows = tuple[tuple[float, float], ...]
"""From when until when each visit to a cell may begin. [s]"""

_URGENT, _WARNING, _PHASE, _VISIT = range(4)
_APART = 3
"""Columns from one B check to the next, at least."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where on a sheet a track lies: a caption line, if there is room for one, and its chart."""

    left: int
    """Column at which the axis begins."""
    top: int
    rows: int
    """Of the chart."""
    caption: int | None
    """Line of the caption."""

    @property
    def lines(self) -> range:
        """Of the chart."""
        return range(self.top, self.top + self.rows)


def level(value: float, segment: LaneSegment, high: int) -> int:
    """Row of a value on the segment's own scale, counted downwards; kept inside."""
    share = (value - segment.low) / ((segment.high - segment.low) or 1.0)
    return max(0, min(high - 1, round((1.0 - share) * (high - 1))))


class _Mark(NamedTuple):
    rank: int
    column: int
    sign: str
    ink: str
    end: int
    """The column behind its stretch."""


def windows(planned: Iterable[Visit]) -> Mapping[str, Windows]:
    """The visits of each cell, by its name."""
    found: dict[str, list[tuple[float, float]]] = {}
    for visit in planned:
        for name in {hand.cell for hand in visit.hands}:
            found.setdefault(name, []).append((visit.at, visit.until))
    return {name: tuple(times) for name, times in found.items()}


def put_past(
    sheet: Sheet, track: Track, shared: Iterable[Spell], axis: TimeAxis, frame: Frame, view: View
) -> None:
    """Checks, phases and alarms, over a chart on which no words stand yet.

    Args:
        sheet: with caption and curve.
        track: of the cell whose lane it is.
        shared: what was raised for several cells together, this one among them.
        axis: of the wall.
        frame: its caption and chart.
        view: for the signs.
    """
    signs = view.signs
    _put_checks(sheet, track, axis, frame, view)
    marks = [_Mark(_PHASE, _column(axis, one.start), signs.change, "rule", 0) for one in track.lane]
    for spell in (*track.spells, *shared):
        if spell.held_back is not None or spell.priority == "note":
            continue
        cleared = axis.history if spell.cleared_at is None else _column(axis, spell.cleared_at)
        told = (_URGENT, signs.urgent, "bad")
        if spell.priority == "warning":
            told = (_WARNING, signs.warned, "warn")
        rank, sign, ink = told
        end = min(cleared, axis.history)
        marks.append(_Mark(rank, _column(axis, spell.since), sign, ink, end))
    _stretch(sheet, marks, frame, view, 0)
    for mark in _shown(marks, axis.history):
        x = frame.left + mark.column
        if mark.rank == _PHASE and _is_drawn(sheet, x, frame, view):
            continue
        y = _free_line(sheet, x, frame, view)
        sheet.put_one(x, frame.top if y is None else y, mark.sign, mark.ink)


def _put_checks(sheet: Sheet, track: Track, axis: TimeAxis, frame: Frame, view: View) -> None:
    last = -_APART
    fine = 2 if view.manner.ascii else 4  # dots of the curve in one cell, one above the other
    for check in track.checks:
        column = _column(axis, check.at)
        curve = next((one for one in track.lane if one.quantity == "B" and one.start <= check.at
                      and (one.end is None or check.at <= one.end)), None)  # fmt: skip
        if curve is None or not 0 <= column < axis.history or column < last + _APART:
            continue
        last = column
        sign = view.signs.check if check.settled else view.signs.unsettled
        y = frame.top + level(check.B, curve, frame.rows * fine) // fine
        sheet.put_one(frame.left + column, y, sign, curve.phase)


def put_visits(sheet: Sheet, visits: Windows, axis: TimeAxis, frame: Frame, view: View) -> None:
    """Visits, beside what is told of what is to come."""
    first, signs = axis.now_column + 1, view.signs
    marks = [
        # one that is due now stands beside the line of now
        _Mark(_VISIT, max(_column(axis, at), first), signs.visit, "key", _column(axis, until) + 1)
        for at, until in visits
        if until > axis.now
    ]
    _stretch(sheet, marks, frame, view, max(0, first))
    for mark in _shown(marks, axis.width):
        x = frame.left + mark.column
        y = _free_line(sheet, x, frame, view, margin=1)
        if y is None:
            y = next((y for y in frame.lines if sheet.inks[y][x] in ("target", "key")), None)
        if y is not None:
            sheet.put_one(x, y, mark.sign, mark.ink)


def _column(axis: TimeAxis, at: float) -> int:
    return floor(axis.place(at))


def _shown(marks: list[_Mark], end: int) -> Iterable[_Mark]:
    """Those in sight, one a column, the weightiest first."""
    taken = set()
    for mark in sorted(marks, key=lambda one: one.rank):
        if 0 <= mark.column < end and mark.column not in taken:
            taken.add(mark.column)
            yield mark


def _stretch(sheet: Sheet, marks: list[_Mark], frame: Frame, view: View, first: int) -> None:
    if frame.caption is None:
        return
    for mark in sorted(marks, key=lambda one: -one.rank):
        for x in range(frame.left + max(first, mark.column), frame.left + mark.end):
            if 0 <= x < sheet.width and sheet.signs[frame.caption][x] in _rules(view):
                sheet.put_one(x, frame.caption, view.signs.lasting, mark.ink)


def _rules(view: View) -> tuple[str, str]:
    return view.signs.rule, view.signs.lasting


def _is_drawn(sheet: Sheet, x: int, frame: Frame, view: View) -> bool:
    """Whether the line of a phase is still to be seen beneath the curve."""
    told = (view.signs.change, "rule")
    return any((sheet.signs[y][x], sheet.inks[y][x]) == told for y in frame.lines)


def _free_line(sheet: Sheet, x: int, frame: Frame, view: View, margin: int = 0) -> int | None:
    """The rule of the caption, else the highest line of the chart on which nothing stands."""
    if frame.caption is not None and sheet.signs[frame.caption][x] in _rules(view):
        return frame.caption
    first, last = max(0, x - margin), min(sheet.width, x + margin + 1)
    return next((y for y in frame.lines if sheet.free(first, y, last - first)), None)
