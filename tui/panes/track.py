"""The right part of a lane: what the phase's own quantity did, now, and what is to come."""

from dataclasses import dataclass
from datetime import tzinfo

from rich.cells import cell_len

from tui.bench.picture import Cell, LaneSegment
from tui.ink.dots import Dots
from tui.ink.sheet import Sheet, clip
from tui.ink.times import TimeAxis
from tui.panes.pane import View
from tui.words import countdown, event_words, interval, percent, plain, sanitise, shown


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

    def level(value: float) -> str:
        if segment.unit not in ("kPa", "ml", "mm", "N", "degC"):
            return f"{value:g}"
        number = shown(value, segment.unit, manner)[0]
        return number.rstrip("0").rstrip(".") if "." in number else number

    unit = shown(None, segment.unit, manner)[1] if segment.unit else ""
    text = f"{sanitise(segment.quantity)} {level(segment.low)} to {level(segment.high)} {unit}".rstrip()
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
    for segment in cell.lane:
        start = int(axis.place(segment.start) // 1)
        end = axis.now_column if segment.end is None else int(axis.place(segment.end) // 1)
        end = min(end, axis.now_column)
        if 0 <= start < axis.now_column:
            for row in range(frame.rows):
                sheet.put(frame.left + start, frame.top + row, view.signs.change, "rule")
        start = max(start, 0)
        room = end - start - 1
        if frame.caption is None or room < 5:
            continue
        scale = scale_words(segment, view)
        words = f"{segment.phase} {plain('·', view.manner)} {scale}"
        if cell_len(words) + 2 > room:
            words = scale if cell_len(scale) + 2 <= room else segment.phase
        words = clip(words, room - 2, view.signs.more)
        sheet.put(frame.left + start + 1, frame.caption, f" {words} ", segment.phase)


def _history(sheet: Sheet, cell: Cell, axis: TimeAxis, frame: Frame, view: View) -> None:
    width = axis.now_column
    dots = Dots(width, frame.rows, view.manner.ascii)
    for segment in cell.lane:
        start = max(0.0, axis.place(segment.start))
        end = min(float(width), width if segment.end is None else axis.place(segment.end))
        if end <= 0 or start >= width:
            continue
        if segment.target is not None:
            row = _level(segment.target, segment, dots.high)
            for x in range(int(start * dots.per_x), int(end * dots.per_x)):
                if x % (3 * dots.per_x) == 0:
                    dots.dot(x, row, "target")
        dots.path(
            (
                (int(axis.place(t) * dots.per_x // 1), _level(value, segment, dots.high))
                for t, value in segment.points
            ),
            segment.phase,
        )
    dots.onto(sheet, frame.left, frame.top)
    if frame.caption is None and cell.lane:
        segment = cell.lane[-1]
        start = max(0, int(axis.place(segment.start) // 1) + 1)
        words = scale_words(segment, view)
        for row in range(frame.rows):
            for x in range(start, max(start, width - len(words) - 1) + 1):
                if x + len(words) < width and sheet.free(frame.left + x, frame.top + row, len(words) + 1):
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
        if words:
            row = min(row, frame.rows - 1)
            sheet.put(left + first_free + 1, frame.top + row, clip(words, room - 1, signs.more), "dim")
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
            sheet.put(left + column, line, (signs.faint, signs.middle, signs.full)[shade - 1], "band")
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
    assert projection.at is not None  # noqa: S101 - the caller has looked
    wait = plain(countdown(projection.at - at), manner)
    rows = [r for r in range(frame.top, frame.top + frame.rows) if r != line]
    rows.sort(key=lambda r: (r < line, abs(r - line)))  # beneath first
    room = ends[1] - ends[0] - 1
    if not rows:
        if ends[1] - band_end - 1 >= cell_len(words):
            sheet.put(band_end + 1, line, words, "text")
        return

    def beneath(row: int, text: str, ink: str) -> None:
        text = clip(text, room, more)
        x = max(ends[0] + 1, min(band_start, ends[1] - cell_len(text)))
        sheet.put(x, row, text, ink)

    full = f"{words}, {wait}"
    beneath(rows[0], full if cell_len(full) <= room else words, "text")
    if len(rows) > 1 and None not in (projection.earliest, projection.latest):
        bounds = plain(interval(projection.earliest, projection.latest, zone, at), manner)
        if projection.confidence is not None:
            bounds += f" ({percent(projection.confidence)})"
        beneath(rows[1], bounds, "dim")
