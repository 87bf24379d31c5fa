"""The wall of lanes: one lane a cell on one time axis, with one line for now."""

from dataclasses import dataclass, replace
from functools import cached_property

from rich.cells import cell_len
from textual import events
from textual.message import Message
from textual.reactive import var

from tui.bench.picture import READING, Bench, Cell
from tui.ink.sheet import Line, Sheet, wrap
from tui.panes.lane import (
    Head,
    Setting,
    draw_head_of,
    draw_track_of,
    head_key,
    in_focus,
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


@dataclass(frozen=True)
class _Laid:
    """A lane that was drawn: its parts, each with what it rests on beside its cell."""

    cell: Cell
    placed: tuple[object, Track]
    """The dots of its track, with what they rest on beside its cell."""
    track: tuple[object, list[Line]]
    head: tuple[object, Head]
    lines: list[Line]
    sign: str
    """Before the name where the lane is in focus."""

    @cached_property
    def in_focus(self) -> list[Line]:
        """The same where it is."""
        return in_focus(self.lines, self.head[1], self.sign)


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
        self._lanes: list[tuple[Cell, list[Line]]] = []
        """All lanes as they are where they are not in focus."""
        self._rests_on: object = None
        """What they rest on."""

    def watch_view(self, before: View, now: View) -> None:
        """Another lane in focus is shown at once: it takes less than to come back to it."""
        if before.unfocused == now.unfocused:
            self.redraw()
        else:
            super().watch_view(before, now)

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

    def of_bench(self, bench: Bench) -> object:
        """All of it: each lane tells by itself whether it stands."""
        return bench

    def draw(self, width: int, height: int) -> list[Line]:
        """Lane under lane; one out of sight is left blank, one that stands is not drawn again."""
        width -= SCROLLBAR
        bench, view = self.bench, self.view
        if bench is None:
            return []
        if not bench.cells:
            return _no_cells(bench, view, width, height)
        goes_on = None if view.frozen is None else self.going
        rests_on = (bench, goes_on, view.unfocused, width, height, self.scroll_offset.y)
        if rests_on != self._rests_on:
            self._lanes, self._rests_on = self._drawn_lanes(bench, view, width, height), rests_on
        chosen = picked_cell(bench, view)
        lines: list[Line] = []
        for cell, drawn in self._lanes:
            laid = self._laid.get(cell.folder) if cell is chosen else None
            lines += laid.in_focus if laid is not None and laid.lines is drawn else drawn
        if not lines:
            sheet = Sheet(width, 1)
            sheet.put(
                2, 0, plain("no lane tells of that; / seeks something else", view.manner), "dim"
            )
            return sheet.lines()
        return lines

    def _drawn_lanes(
        self, bench: Bench, view: View, width: int, height: int
    ) -> list[tuple[Cell, list[Line]]]:
        axis = axis_of(bench, view, width)
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
        rows, top = view.lane_rows, self.scroll_offset.y
        place, blank = track_place(setting), Sheet(width, rows).lines()
        drawn: list[tuple[Cell, list[Line]]] = []
        for index, cell in enumerate(lanes(bench, view)):
            seen = top - rows < index * rows < top + height
            told = _with_alarms_of(now, cell)
            drawn.append((cell, self._lane(cell, told, setting, place) if seen else blank))
        self._laid = {c.folder: self._laid[c.folder] for c in bench.cells if c.folder in self._laid}
        return drawn

    def _lane(self, cell: Cell, told: Cell, setting: Setting, place: object) -> list[Line]:
        """One lane; of its track and its head only what does not stand is drawn again.

        Args:
            cell: as the track shows it.
            told: the same as its head tells of it.
            setting: of all lanes.
            place: of their tracks.
        """
        try:
            known = self._laid.get(cell.folder)
            stands = known is not None and known.cell is cell
            placed = known.placed if known else None
            if known is None or placed is None or placed[0] != place:
                placed = place, track_of(cell, setting)
            elif not stands:
                placed = place, track_of(cell, setting, (known.cell, placed[1]))
            of_track = track_key(cell, placed[1], setting)
            of_head = head_key(told, setting)
            track, head = (known.track, known.head) if known else (None, None)
            if track is None or track[0] != of_track:
                track = of_track, draw_track_of(cell, placed[1], setting).lines()
            if head is None or not stands or head[0] != of_head:
                head = of_head, draw_head_of(told, setting, head and head[1])
            if known is None or track is not known.track or head is not known.head:
                sign, lines = setting.view.signs.picked, lane_of(head[1], track[1])
                known = _Laid(cell, placed, track, head, lines, sign)
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
