"""One lane: its head (what the cell does, in words) and its track (what it did and will do)."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import tzinfo
from itertools import zip_longest

from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.picture import Cell
from tui.ink.dots import per_cell
from tui.ink.sheet import Line, Sheet, clip, wrap
from tui.ink.times import TimeAxis
from tui.panes.head import Row, as_frozen, head_columns, head_rows, said_of_moment
from tui.panes.marks import Frame, Windows
from tui.panes.pane import View
from tui.panes.track import Marked, draw_track
from tui.panes.tracked import Track, tracked
from tui.words import countdown, is_reached, local, problem_words, shared_by


def track_left(view: View) -> int:
    """First column of the tracks."""
    columns = head_columns(view)
    return columns + 1 if columns else 0


@dataclass(frozen=True, slots=True)
class Setting:
    """What a lane needs to know besides its cell."""

    at: float
    """The moment of the picture. [s]"""
    zone: tzinfo
    axis: TimeAxis
    width: int
    rows: int
    view: View
    names: int = 0
    """Cells that the longest name takes, within reason."""
    alarms: tuple[Alarm, ...] = ()
    """Of the bench as a whole."""
    visits: Mapping[str, Windows] = field(default_factory=dict)
    """When each cell is to be visited, by its name."""
    spells: tuple[Spell, ...] = ()
    """Of the bench as a whole."""
    told_at: float | None = None
    """The moment that ages are told of, where the picture has been frozen before; else None. [s]"""

    @property
    def heads_at(self) -> float:
        """The moment that heads are told of. [s]"""
        return self.at if self.told_at is None else self.told_at

    def marked(self, cell: Cell) -> Marked:
        """What of the bench is marked in the lane of a cell."""
        shared = tuple(spell for spell in self.spells if cell.folder in spell.cells)
        return Marked(self.visits.get(cell.cell, ()), shared)


def track_place(setting: Setting) -> object:
    """What the dots of a track depend on besides its cell: the axis, and how many there are."""
    return setting.axis, setting.view.manner.ascii, _frame(setting).rows


def track_of(cell: Cell, setting: Setting, before: tuple[Cell, Track] | None = None) -> Track:
    """What is drawn of a cell in its track.

    Args:
        cell: as it is now.
        setting: of all lanes.
        before: the cell as it was, and its track of the same place, to go on with.
    """
    wide, high = per_cell(setting.view.manner.ascii)
    return tracked(cell, setting.axis, wide, _frame(setting).rows * high, before)


def draw_track_of(cell: Cell, track: Track, setting: Setting) -> Sheet:
    """A lane without its head."""
    sheet = Sheet(setting.width, setting.rows)
    frame = _frame(setting)
    errors = [problem for problem in cell.problems if problem.severity == "error"]
    if frame.rows > 0 and errors and not cell.lane:
        words = "  ".join(problem_words(problem, setting.view.manner) for problem in errors)
        _tell(sheet, words, setting, frame)
    elif frame.rows > 0:
        draw_track(
            sheet,
            track,
            setting.at,
            setting.zone,
            setting.axis,
            frame,
            setting.view,
            setting.marked(cell),
        )
    return sheet


def track_key(cell: Cell, track: Track, setting: Setting) -> object:
    """What a lane without its head depends on: dots, axis, day, how long until the event."""
    projection, view = cell.projection, setting.view
    return (
        setting.zone,
        local(setting.at, setting.zone).date(),
        projection.at is not None and countdown(projection.at - setting.at),
        is_reached(projection, setting.at),
        setting.axis,
        setting.width,
        setting.rows,
        view.manner,
        view.form,
        setting.marked(cell),
        cell.problems,
        track,
    )


def head_key(cell: Cell, setting: Setting) -> object:
    """What a head depends on besides its cell: how it is wanted, and its ages and countdowns."""
    shared = shared_by(cell, setting.alarms)
    # alarms of a cell that has been frozen go on
    goes_on = setting.told_at is not None and (cell.alarms, cell.problems, cell.blind)
    return said_of_moment(cell, setting.heads_at), setting.view, setting.names, shared, goes_on


@dataclass(frozen=True, slots=True)
class Head:
    """What stands beside a track, or above it."""

    width: int
    more: str
    """Sign where something is left off."""
    rows: list[Row]
    """What it says."""
    lines: list[Line]
    """The same, drawn."""


def draw_head_of(cell: Cell, setting: Setting, before: Head | None = None) -> Head:
    """The head of a lane.

    Args:
        cell: whose it is.
        setting: of all lanes.
        before: the head as it was; of what it says nothing is drawn again.
    """
    view, count = setting.view, _head_lines(setting)
    width, more = head_columns(view) or setting.width, view.signs.more
    shared = shared_by(cell, setting.alarms)
    rows = head_rows(cell, setting.heads_at, view, count, setting.names, shared)
    if view.frozen is not None:
        rows = [as_frozen(row) for row in rows]
    rows = [*rows, *[[]] * count][:count]
    stands = before is not None and (before.width, before.more) == (width, more)
    known = zip(before.rows, before.lines, strict=True) if before is not None and stands else ()
    lines: list[Line] = []
    for row, drawn in zip_longest(rows, known):
        if drawn is not None and drawn[0] == row:
            lines.append(drawn[1])
        elif row is not None:
            sheet = Sheet(width, 1)
            sheet.flow(0, 0, width, row, more)
            lines += sheet.lines()
    return Head(width, more, rows, lines)


def lane_of(head: Head, track: list[Line]) -> list[Line]:
    """The lines of one lane: its track with its head on top."""
    lines = track[:]
    for y, row in enumerate(head.lines):
        signs, inks = lines[y].signs[head.width :], lines[y].inks[head.width :]
        lines[y] = Line(row.signs + signs, row.inks + inks)
    return lines


def in_focus(lines: list[Line], head: Head, sign: str) -> list[Line]:
    """The lines of a lane as they are where it is in focus: its head marked, on another ground."""
    marked = lines[:]
    for y, line in enumerate(lines[: len(head.lines)]):
        signs = (sign, *line.signs[1:]) if y == 0 else line.signs
        on_ground = tuple(f"{ink}@picked" for ink in line.inks[: head.width])
        marked[y] = Line(signs, on_ground + line.inks[head.width :])
    return marked


def _head_lines(setting: Setting) -> int:
    return setting.rows if head_columns(setting.view) else max(1, setting.rows - 1)


def _frame(setting: Setting) -> Frame:
    if not head_columns(setting.view):
        text_rows = _head_lines(setting)
        return Frame(0, text_rows, setting.rows - text_rows, None)
    left = track_left(setting.view)
    if setting.rows >= 3:
        return Frame(left, 1, setting.rows - 1, 0)
    return Frame(left, 0, setting.rows, None)


def _tell(sheet: Sheet, words: str, setting: Setting, frame: Frame) -> None:
    """Why there is no track, over all of its place."""
    top = frame.top if frame.caption is None else frame.caption
    rows = frame.top + frame.rows - top
    room = setting.width - frame.left - 1
    lines = wrap(words, room)
    if len(lines) > rows:
        rest = " ".join(lines[rows - 1 :])
        lines = [*lines[: rows - 1], clip(rest, room, setting.view.signs.more)]
    for y, line in enumerate(lines):
        sheet.put(frame.left + 1, top + y, line, "bad")
