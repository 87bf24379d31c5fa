"""The right part of a lane: what the phase's own quantity did, now, and what is to come."""

from dataclasses import dataclass
from datetime import tzinfo

from rich.cells import cell_len

from tui.bench.alarms.spells import Spell
from tui.bench.picture import LaneSegment
from tui.ink.dots import Dots
from tui.ink.sheet import Sheet, clip, first_fitting
from tui.ink.times import TimeAxis
from tui.panes.marks import Frame, Windows, level, put_past, put_visits
from tui.panes.outlook import Outlook, Space
from tui.panes.pane import View
from tui.panes.tracked import Track
from tui.words import (
    plain,
    sanitise,
    shown,
    unit_shown,
)


@dataclass(frozen=True, slots=True)
class Marked:
    """What of the bench is marked in a lane, beside what is known of its cell."""

    visits: Windows = ()
    spells: tuple[Spell, ...] = ()
    """Of alarms that several cells share."""


def scale_words(segment: LaneSegment, view: View) -> str:
    """A segment's quantity with its fixed scale and its target: "B 0 to 1, target 0.95"."""
    manner = view.manner
    name, unit = sanitise(segment.quantity), segment.unit
    # strains and U are ratios inside and percent wherever people read them
    percents = not unit and (name == "U" or name.startswith("ε"))

    def level(value: float) -> str:
        if percents or unit not in ("kPa", "ml", "mm", "N", "degC"):
            return f"{100 * value if percents else value:g}"
        number = shown(value, unit, manner)[0]
        return number.rstrip("0").rstrip(".") if "." in number else number

    symbol = "%" if percents else unit_shown(unit, manner)
    text = f"{name} {level(segment.low)} to {level(segment.high)} {symbol}".rstrip()
    if segment.target is not None:
        text += f", target {level(segment.target)}"
    return plain(text, manner)


def draw_track(
    sheet: Sheet,
    track: Track,
    at: float,
    zone: tzinfo,
    axis: TimeAxis,
    frame: Frame,
    view: View,
    marked: Marked,
) -> None:
    """Draw history, now line and projection of one cell, as far as they are in sight."""
    _captions(sheet, track, axis, frame, view)
    _history(sheet, track, axis, frame, view)
    put_past(sheet, track, marked.spells, axis, frame, view)
    if frame.caption is None:
        _scale(sheet, track, axis, frame, view)
    if axis.shows_now:
        for y in (frame.caption, *range(frame.top, frame.top + frame.rows)):
            if y is not None:
                sheet.put(frame.left + axis.now_column, y, view.signs.now, "now")
    row = frame.rows // 2
    if track.lane and track.lane[-1].target is not None:
        row = level(track.lane[-1].target, track.lane[-1], frame.rows * 4) // 4
    first = frame.left + max(0, axis.now_column + 1)
    space = Space(first, frame.left + axis.width, frame.top, frame.rows, frame.top + row)
    Outlook(sheet, track, at, zone, view, space).draw(axis, frame.left)
    put_visits(sheet, marked.visits, axis, frame, view)


def _captions(sheet: Sheet, track: Track, axis: TimeAxis, frame: Frame, view: View) -> None:
    """Rule with the name and scale of each phase where it begins; marks down the chart."""
    if frame.caption is not None:
        sheet.put(frame.left, frame.caption, view.signs.rule * axis.width, "rule")
    free_to = axis.history
    for index, segment in reversed(list(enumerate(track.lane))):
        start = int(axis.place(segment.start) // 1)
        end = axis.history if segment.end is None else int(axis.place(segment.end) // 1)
        if start >= axis.history or end <= 0:
            continue
        if start >= 0:
            for row in range(frame.rows):
                sheet.put(frame.left + start, frame.top + row, view.signs.change, "rule")
        if frame.caption is None:
            continue
        # the present phase is named even if it has just begun: its caption ends at now
        present = index == len(track.lane) - 1
        room = min(end, free_to) - (0 if present else max(start, 0)) - 3
        if room < 4:
            continue
        scale = scale_words(segment, view)
        name = f"{segment.phase} {plain('·', view.manner)} {scale}"
        words = clip(first_fitting(room, name, scale, segment.phase), room, view.signs.more)
        place = max(start, 0) + 1
        if present:
            place = max(0, min(place, free_to - cell_len(words) - 3))
        sheet.put(frame.left + place, frame.caption, f" {words} ", segment.phase)
        free_to = place


def _history(sheet: Sheet, track: Track, axis: TimeAxis, frame: Frame, view: View) -> None:
    width = axis.history
    if width == 0:
        return
    dots = Dots(width, frame.rows, view.manner.ascii)
    levels = Dots(width, frame.rows, view.manner.ascii)
    for segment, places in zip(track.lane, track.curves, strict=True):
        start = max(0.0, axis.place(segment.start))
        end = min(float(width), width if segment.end is None else axis.place(segment.end))
        if end <= 0 or start >= width:
            continue
        if segment.target is not None:
            row = level(segment.target, segment, dots.high)
            first, last = int(start * dots.per_x), int(end * dots.per_x)
            levels.level(row, "target", 3 * dots.per_x, first, last)
        dots.path(places, segment.phase, stands=segment.end is not None)
    levels.onto(sheet, frame.left, frame.top)
    dots.onto(sheet, frame.left, frame.top)


def _scale(sheet: Sheet, track: Track, axis: TimeAxis, frame: Frame, view: View) -> None:
    """In a lane without captions: the scale of the latest phase in sight, where nothing stands."""
    seen = [one for one in track.lane if axis.place(one.start) < axis.history]
    if not seen:
        return
    start = max(0, int(axis.place(seen[-1].start) // 1) + 1)
    words = scale_words(seen[-1], view)
    for row in range(frame.rows):
        for x in range(start, max(start, axis.history - len(words) - 1) + 1):
            if x + len(words) < axis.history and sheet.free(
                frame.left + x, frame.top + row, len(words) + 1
            ):
                sheet.put(frame.left + x, frame.top + row, words, "faint")
                return
