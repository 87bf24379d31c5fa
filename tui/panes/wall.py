"""The wall of lanes: one lane a cell on one time axis, with one line for now."""

from dataclasses import dataclass, replace

from rich.cells import cell_len
from textual import events
from textual.message import Message

from tui.bench.picture import Bench, Cell
from tui.ink.sheet import Line, Sheet
from tui.ink.times import TimeAxis, ticks, wanted_span
from tui.panes.lane import Setting, draw_lane, draw_track_of, head_key, track_key, track_left
from tui.panes.lanes import heading, lanes
from tui.panes.pane import Pane, View, picked_cell
from tui.words import age, plain, sanitise

NOW_SHARE = {"wide": 0.6, "medium": 0.55, "narrow": 0.55, "tiny": 0.55}
"""Where on the axis now stands, by form: words to its right want room."""
_FAR_BACK_S, _FAR_AHEAD_S = 36 * 3600.0, 28 * 3600.0
"""How far the axis reaches of itself; more is a key away."""


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


SCROLLBAR = 1
"""Columns that the wall keeps free at its right, scrolling or not; its size counts them."""


def axis_of(bench: Bench, view: View, width: int) -> TimeAxis:
    """The axis that heading and lanes share."""
    room = max(1, width - track_left(view))
    return TimeAxis.around(bench.at, span_of(bench, view), room, NOW_SHARE[view.form])


class AxisPane(Pane):
    """The heading of the wall: moments, and where now is."""

    def of_moment(self, bench: Bench) -> object:
        """Where the axis stands; it moves by whole columns."""
        return axis_of(bench, self.view, self.size.width)

    def draw(self, width: int, height: int) -> list[Line]:
        """One line."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None or not bench.cells:
            return sheet.lines()
        left = track_left(view)
        axis = axis_of(bench, view, width)
        if left:
            across = age(span_of(bench, view)).replace(" 00 min", "").replace(" 0 h", "")
            says = "cell/pore/back" if view.form == "medium" else f"{across} across"
            if view.lane_rows <= 2:
                says = "cell/pore/back σ′, age, readings"
            says = heading(bench, view) or says
            sheet.put(2, 0, plain(says, view.manner), "dim", left)
        told = 0
        if not left and (says := heading(bench, view)):
            told = sheet.put(1, 0, plain(says, view.manner), "dim", axis.now_column - 1) + 1
        now = f"{view.signs.now_head} now"
        start = left + axis.now_column
        for column, label in ticks(axis, bench.zone):
            text = view.signs.tick + label
            x = left + column
            if told <= x < start - len(text) or x > start + len(now):
                sheet.put(x, 0, text if x + len(text) <= width else view.signs.tick, "dim")
        sheet.put(start, 0, now, "now")
        return sheet.lines()


@dataclass(slots=True)
class _Laid:
    """A lane that was drawn, and what it rests on."""

    cell: Cell
    track_rests_on: object
    track: Sheet
    rests_on: object
    lines: list[Line]


class Wall(Pane):
    """All lanes; only cells of the terminal that changed are repainted."""

    DEFAULT_CSS = """
    Wall { overflow-y: auto; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    """

    class Picked(Message):
        """Somebody pointed at a lane."""

        def __init__(self, folder: str) -> None:
            super().__init__()
            self.folder = folder

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._laid: dict[str, _Laid] = {}

    def draw(self, width: int, height: int) -> list[Line]:
        """Lane under lane; a lane whose cell and times stand is not even drawn again."""
        width -= SCROLLBAR
        bench, view = self.bench, self.view
        if bench is None:
            return []
        if not bench.cells:
            return _no_cells(bench, view, width, height)
        axis = axis_of(bench, view, width)
        chosen = picked_cell(bench, view)
        names = min(10, max(cell_len(sanitise(cell.cell)) for cell in bench.cells))
        # Whose lane is in focus, and with which plot, is no matter to the others.
        of_all = replace(view, picked=None, plot=0)
        setting = Setting(
            bench.at, bench.zone, axis, width, view.lane_rows, of_all, names, bench.alarms
        )
        lines: list[Line] = []
        for cell in lanes(bench, view):
            lines += self._lane(cell, setting, cell is chosen)
        self._laid = {c.folder: self._laid[c.folder] for c in bench.cells if c.folder in self._laid}
        if not lines:
            sheet = Sheet(width, 1)
            sheet.put(
                2, 0, plain("no lane tells of that; / seeks something else", view.manner), "dim"
            )
            return sheet.lines()
        return lines

    def _lane(self, cell: Cell, setting: Setting, picked: bool) -> list[Line]:
        """One lane; of a cell that stands only the head is drawn again, once its ages change."""
        try:
            known = self._laid.get(cell.folder)
            if known is not None and known.cell is not cell:
                known = None
            of_track = track_key(cell, setting)
            of_lane = (of_track, head_key(cell, setting), picked)
            if known is None or known.rests_on != of_lane:
                same = known is not None and known.track_rests_on == of_track
                track = known.track if known and same else draw_track_of(cell, setting)
                lines = draw_lane(cell, setting, picked, track)
                known = self._laid[cell.folder] = _Laid(cell, of_track, track, of_lane, lines)
        except Exception as error:  # noqa: BLE001 - one lane's failure must not hide the others
            lines = self.failure(error, setting.width, f"lane of {sanitise(cell.cell, 24)}")
            return lines + Sheet(setting.width, setting.rows - 1).lines()
        return known.lines

    def on_click(self, event: events.Click) -> None:
        """Point at a lane to bring its cell into focus."""
        if self.bench is None:
            return
        index = (event.y + self.scroll_offset.y) // max(1, self.view.lane_rows)
        shown = lanes(self.bench, self.view)
        if 0 <= index < len(shown):
            self.post_message(self.Picked(shown[index].folder))

    def show_picked(self) -> None:
        """Scroll so far that the lane in focus is in sight."""
        if self.bench is None or (cell := picked_cell(self.bench, self.view)) is None:
            return
        rows = self.view.lane_rows
        shown = lanes(self.bench, self.view)
        if cell not in shown:
            return
        top = shown.index(cell) * rows
        above = self.scroll_offset.y
        if top < above:
            self.scroll_to(y=top, animate=False)
        elif top + rows > above + self.size.height:
            self.scroll_to(y=top + rows - self.size.height, animate=False)


def _no_cells(bench: Bench, view: View, width: int, height: int) -> list[Line]:
    sheet = Sheet(width, height)
    words = [f"No cell in {sanitise(bench.folder)}."]
    if bench.not_adopted:
        words.append("Folders with logs but no cell.toml:")
        words += [f"  {sanitise(name)}" for name in bench.not_adopted]
    words.append("A cell is a folder with a cell.toml; `porewatch demo` shows an invented bench.")
    for y, line in enumerate(words):
        sheet.put(2, y + 1, plain(line, view.manner), "text")
    return sheet.lines()
