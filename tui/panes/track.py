"""The right part of a lane: what the phase's own quantity did, now, and what is to come."""

from dataclasses import dataclass
from datetime import tzinfo

from rich.cells import cell_len

from tui.bench.picture import Cell, LaneSegment
from tui.ink.dots import Dots
from tui.ink.sheet import Sheet, clip, first_fitting, wrap
from tui.ink.times import TimeAxis
from tui.panes.pane import View
from tui.words import (
    countdown,
    event_words,
    interval,
    moment,
    percent,
    plain,
    sanitise,
    shown,
    unit_shown,
)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where on a sheet a track lies: a caption line, if there is room for one, and its chart."""

    left: int
    top: int
    rows: int
    """Of the chart."""
    caption: int | None
    """Line of the caption."""


def _level(value: float, segment: LaneSegment, high: int) -> int:
    """Dot row of a value on the segment's own scale, counted downwards; kept inside."""
    share = (value - segment.low) / ((segment.high - segment.low) or 1.0)
    return max(0, min(high - 1, round((1.0 - share) * (high - 1))))


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
    sheet: Sheet, cell: Cell, at: float, zone: tzinfo, axis: TimeAxis, frame: Frame, view: View
) -> None:
    """Draw history, now line and projection of one cell."""
    _captions(sheet, cell, axis, frame, view)
    _history(sheet, cell, axis, frame, view)
    for row in range(frame.rows):
        sheet.put(frame.left + axis.now_column, frame.top + row, view.signs.now, "now")
    if frame.caption is not None:
        sheet.put(frame.left + axis.now_column, frame.caption, view.signs.now, "now")
    _future(sheet, cell, at, zone, axis, frame, view)


def _captions(sheet: Sheet, cell: Cell, axis: TimeAxis, frame: Frame, view: View) -> None:
    """Rule with the name and scale of each phase where it begins; marks down the chart."""
    if frame.caption is not None:
        sheet.put(frame.left, frame.caption, view.signs.rule * axis.width, "rule")
    free_to = axis.now_column
    for index, segment in reversed(list(enumerate(cell.lane))):
        start = int(axis.place(segment.start) // 1)
        end = axis.now_column if segment.end is None else int(axis.place(segment.end) // 1)
        if 0 <= start < axis.now_column:
            for row in range(frame.rows):
                sheet.put(frame.left + start, frame.top + row, view.signs.change, "rule")
        if frame.caption is None:
            continue
        # the present phase is named even if it has just begun: its caption ends at now
        present = index == len(cell.lane) - 1
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


def _history(sheet: Sheet, cell: Cell, axis: TimeAxis, frame: Frame, view: View) -> None:
    width = axis.now_column
    dots = Dots(width, frame.rows, view.manner.ascii)
    levels = Dots(width, frame.rows, view.manner.ascii)
    for segment in cell.lane:
        start = max(0.0, axis.place(segment.start))
        end = min(float(width), width if segment.end is None else axis.place(segment.end))
        if end <= 0 or start >= width:
            continue
        if segment.target is not None:
            row = _level(segment.target, segment, dots.high)
            for x in range(int(start * dots.per_x), int(end * dots.per_x)):
                if x % (3 * dots.per_x) == 0:
                    levels.dot(x, row, "target")
        dots.path(
            (
                (int(axis.place(t) * dots.per_x // 1), _level(value, segment, dots.high))
                for t, value in segment.points
            ),
            segment.phase,
        )
    levels.onto(sheet, frame.left, frame.top)
    dots.onto(sheet, frame.left, frame.top)
    if frame.caption is None and cell.lane:
        segment = cell.lane[-1]
        start = max(0, int(axis.place(segment.start) // 1) + 1)
        words = scale_words(segment, view)
        for row in range(frame.rows):
            for x in range(start, max(start, width - len(words) - 1) + 1):
                if x + len(words) < width and sheet.free(
                    frame.left + x, frame.top + row, len(words) + 1
                ):
                    sheet.put(frame.left + x, frame.top + row, words, "faint")
                    return


def _shade(column: int, first: float, middle: float, last: float) -> int:
    """0 outside, 1 … 3 rising towards the likeliest column."""
    place = column + 0.5
    if place < first or place > last + 1:
        return 0
    side = (middle - first) if place < middle else (last + 1 - middle)
    near = 1.0 - abs(place - middle) / max(side, 0.5)
    return 3 if near > 0.66 else 2 if near > 0.33 else 1


def _future(
    sheet: Sheet, cell: Cell, at: float, zone: tzinfo, axis: TimeAxis, frame: Frame, view: View
) -> None:
    """The way to the target at the target's own level, then the fading band, then words."""
    projection, manner, signs = cell.projection, view.manner, view.signs
    left, first_free = frame.left, axis.now_column + 1
    room = axis.width - first_free
    if room < 4:
        return
    segment = cell.lane[-1] if cell.lane else None
    row = frame.rows // 2
    if segment is not None and segment.target is not None:
        row = _level(segment.target, segment, frame.rows * 4) // 4
    if projection.at is None:
        words = event_words(projection, zone, at, manner)
        lines = wrap(words, room - 1)
        row = max(0, min(row, frame.rows - len(lines)))
        shown_lines = lines[: frame.rows - row]
        if len(shown_lines) < len(lines):
            shown_lines[-1] = clip(" ".join(lines[len(shown_lines) - 1 :]), room - 1, signs.more)
        for y, text in enumerate(shown_lines):
            sheet.put(left + first_free + 1, frame.top + row + y, text, "dim")
        return
    middle = max(axis.place(projection.at), float(first_free))
    first = axis.place(projection.earliest if projection.earliest is not None else projection.at)
    last = axis.place(projection.latest if projection.latest is not None else projection.at)
    first, last = max(min(first, middle), float(first_free)), max(last, middle)
    line = frame.top + row
    band_end = first_free
    for column in range(first_free, axis.width):
        shade = _shade(column, int(first), middle, int(last))
        if column == int(middle):
            sheet.put(left + column, line, signs.event, "band")
        elif shade:
            sheet.put(
                left + column, line, (signs.faint, signs.middle, signs.full)[shade - 1], "band"
            )
        elif column < first:
            sheet.put(left + column, line, signs.path, "target")
        if shade or column == int(middle):
            band_end = column + 1
    if middle >= axis.width:
        sheet.put(left + axis.width - 1, line, signs.beyond, "band")
    for hand in cell.hands:
        if hand.at is not None and first_free <= (x := int(axis.place(hand.at))) < axis.width:
            sheet.put(left + x, line, signs.hand if x != int(middle) else signs.event, "key")
    _future_words(sheet, cell, at, zone, (left + first_free, left + axis.width),
                  (line, left + int(first), left + band_end), frame, view)  # fmt: skip


def _future_words(
    sheet: Sheet,
    cell: Cell,
    at: float,
    zone: tzinfo,
    ends: tuple[int, int],
    band: tuple[int, int, int],
    frame: Frame,
    view: View,
) -> None:
    """Event and time beside or beneath the band, its bounds beneath that."""
    projection, manner, more = cell.projection, view.manner, view.signs.more
    line, band_start, band_end = band
    words = event_words(projection, zone, at, manner)
    wait = countdown(projection.at - at) if projection.at is not None else ""
    when = moment(projection.at, zone, at)
    said = [
        plain(text, manner) for text in (f"{words}, {wait}", words, f"{when}, {wait}", when, wait)
    ]
    rows = [r for r in range(frame.top, frame.top + frame.rows) if r != line]
    rows.sort(key=lambda r: (r < line, abs(r - line)))  # beneath first
    room = ends[1] - ends[0] - 1
    if not rows:
        beside = first_fitting(ends[1] - band_end - 1, *said)
        if cell_len(beside) < ends[1] - band_end:
            sheet.put(band_end + 1, line, beside, "text")
        return

    def beneath(row: int, text: str, ink: str) -> None:
        text = clip(text, room, more)
        x = max(ends[0] + 1, min(band_start, ends[1] - cell_len(text)))
        sheet.put(x, row, text, ink)

    beneath(rows[0], first_fitting(room, *said), "text")
    if len(rows) > 1 and None not in (projection.earliest, projection.latest):
        bounds = plain(interval(projection.earliest, projection.latest, zone, at), manner)
        sure = "" if projection.confidence is None else f" ({percent(projection.confidence)})"
        beneath(rows[1], first_fitting(room, bounds + sure, bounds), "dim")
