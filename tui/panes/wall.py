"""The wall of lanes: one lane a cell on one time axis, with one line for now."""

from dataclasses import replace
from typing import NamedTuple

from rich.cells import cell_len
from textual import events
from textual.message import Message
from textual.reactive import var

from tui.bench.picture import READING, Bench, Cell
from tui.ink.sheet import Line, Sheet, wrap
from tui.panes.lane import (
    Setting,
    draw_head_of,
    draw_track_of,
    head_key,
    lane_of,
    track_key,
    track_of,
    track_place,
)
from tui.panes.lanes import lanes
from tui.panes.marks import windows
from tui.panes.pane import PatientPane, View, picked_cell
from tui.panes.stretch import SCROLLBAR, axis_of
from tui.panes.tracked import Track
from tui.words import LOOKING, plain, sanitise


class _Laid(NamedTuple):
    """A lane that was drawn: its parts, each with what it rests on beside its cell."""

    cell: Cell
    placed: tuple[object, Track]
    """The dots of its track, with what they rest on beside its cell."""
    track: tuple[object, Sheet]
    head: tuple[object, Sheet]
    lines: list[Line]


class Wall(PatientPane):
    """All lanes; only cells of the terminal that changed are repainted."""

    DEFAULT_CSS = """
    Wall { overflow-y: auto; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    """

    going: var[Bench | None] = var(None, init=False)
    """The picture of now, which goes on where that of the wall has been frozen."""

    class Picked(Message):
        """Somebody pointed at a lane."""

        def __init__(self, folder: str) -> None:
            super().__init__()
            self.folder = folder

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._laid: dict[str, _Laid] = {}

    def watch_going(self) -> None:
        """Alarms may have come or gone, and what has been frozen is older."""
        if self.view.frozen is not None:
            self.redraw()

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Other lanes come in sight."""
        super().watch_scroll_y(old_value, new_value)
        self.redraw()

    def of_view(self, view: View) -> object:
        """All but what the panes beneath it show of the cell in focus."""
        return view.unfocused, view.picked

    def of_moment(self, bench: Bench) -> object:
        """The moment, which lanes are in sight, and while it is frozen what goes on."""
        goes_on = None if self.view.frozen is None else self.going
        return bench.at, self.scroll_offset.y, goes_on

    def draw(self, width: int, height: int) -> list[Line]:
        """Lane under lane; one out of sight is left blank, one that stands is not drawn again."""
        width -= SCROLLBAR
        bench, view = self.bench, self.view
        if bench is None:
            return []
        if not bench.cells:
            return _no_cells(bench, view, width, height)
        axis = axis_of(bench, view, width)
        chosen = picked_cell(bench, view)
        names = min(10, max(cell_len(sanitise(cell.cell)) for cell in bench.cells))
        # What else somebody asked for, such as another cell or its next plot, is no matter here.
        of_all = View(view.manner, form=view.form, lane_rows=view.lane_rows, frozen=view.frozen)
        setting = Setting(
            bench.at,
            bench.zone,
            axis,
            width,
            view.lane_rows,
            of_all,
            names,
            bench.alarms,
            windows(bench.visits),
            bench.spells,
        )
        now = None if view.frozen is None else self.going
        if now is not None:
            setting = replace(setting, alarms=now.alarms, told_at=now.at)
        lines: list[Line] = []
        rows, top = view.lane_rows, self.scroll_offset.y
        blank = Sheet(width, rows).lines()
        for cell in lanes(bench, view):
            if not top - rows < len(lines) < top + height:
                lines += blank
                continue
            lines += self._lane(cell, _with_alarms_of(now, cell), setting, cell is chosen)
        self._laid = {c.folder: self._laid[c.folder] for c in bench.cells if c.folder in self._laid}
        if not lines:
            sheet = Sheet(width, 1)
            sheet.put(
                2, 0, plain("no lane tells of that; / seeks something else", view.manner), "dim"
            )
            return sheet.lines()
        return lines

    def _lane(self, cell: Cell, told: Cell, setting: Setting, picked: bool) -> list[Line]:
        """One lane; of its track and its head only what does not stand is drawn again.

        Args:
            cell: as the track shows it.
            told: the same as its head tells of it.
            setting: of all lanes.
            picked: whether it is in focus.
        """
        try:
            known = self._laid.get(cell.folder)
            stands = known is not None and known.cell is cell
            place = track_place(setting)
            placed = known.placed if known and stands else None
            if placed is None or placed[0] != place:
                placed = place, track_of(cell, setting)
            of_track = track_key(cell, placed[1], setting)
            of_head = head_key(told, setting), picked
            track = known.track if known else None
            if track is None or track[0] != of_track:
                track = of_track, draw_track_of(cell, placed[1], setting)
            head = known.head if known and stands else None
            if head is None or head[0] != of_head:
                head = of_head, draw_head_of(told, setting, picked)
            if known is None or track is not known.track or head is not known.head:
                known = _Laid(cell, placed, track, head, lane_of(head[1], track[1]))
                self._laid[cell.folder] = known
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


def _with_alarms_of(now: Bench | None, cell: Cell) -> Cell:
    """A cell of a frozen picture, with what is raised, wrong and not judged in it by now."""
    if now is None:
        return cell
    goes_on = next((one for one in now.cells if one.folder == cell.folder), cell)
    return replace(cell, alarms=goes_on.alarms, problems=goes_on.problems, blind=goes_on.blind)


def _no_cells(bench: Bench, view: View, width: int, height: int) -> list[Line]:
    sheet = Sheet(width, height)
    if READING in bench.problems:
        sheet.put(2, 1, f"{LOOKING}.", "text")
        return sheet.lines()
    words = [f"No cell in {sanitise(bench.folder)}."]
    if bench.not_adopted:
        words.append("Folders with logs but no cell.toml:")
        words += [f"  {sanitise(name)}" for name in bench.not_adopted]
    words.append("A cell is a folder with a cell.toml; `porewatch demo` shows an invented bench.")
    y = 1
    for line in words:
        indent = 2 + len(line) - len(line.lstrip())
        for part in wrap(plain(line, view.manner), width - 2 - indent):
            sheet.put(indent, y, part, "text")
            y += 1
    return sheet.lines()
