"""What all panes share: they get the picture and the view, draw lines, and survive a failure."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

from textual import events
from textual.reactive import var
from textual.scrollbar import ScrollBarRender

from tui.bench.picture import Bench, Cell, Guard
from tui.ink.paper import Paper
from tui.ink.sheet import Line, Sheet, clip
from tui.ink.signs import Signs, signs
from tui.words import PLAIN, Manner, Raised, raised, sanitise

Form = str
"""wide, medium, narrow or tiny."""


@dataclass(frozen=True, slots=True)
class Frozen:
    """A wall that stands still, while alarms go on."""

    at: float
    """The moment of its picture. [s]"""
    known: frozenset[tuple[str, str, str | None]] = frozenset()
    """The urgent alarms that stood then: folder of the cell, kind, about."""


@dataclass(frozen=True, slots=True)
class View:
    """How the person at the screen wants to see the bench."""

    manner: Manner = PLAIN
    picked: str | None = None
    """Folder of the cell in focus."""
    plot: int = 0
    """Which of its plots; counted around."""
    span_s: float | None = None
    """Time across the lanes; None fits what there is. [s]"""
    form: Form = "wide"
    lane_rows: int = 4
    """Lines a lane has."""
    trouble: str = ""
    """Why the last look at the bench failed; empty if it did not."""
    pace: str = ""
    """How time runs when it does not follow the clock: "replay × 60"."""
    alarm: tuple[str, str, str | None] | None = None
    """The alarm in focus: folder of its cell, kind, about; None for the most pressing."""
    acts: bool = False
    """Whether what people say can be entered here."""
    said: str = ""
    """What became of the last act, or why it was not possible."""

    order: str = "bench"
    """Of the lanes: "bench", "urgency" or "hands"."""
    sought: str = ""
    """Only lanes that tell of this are shown; all if empty."""
    window: tuple[float, float] | None = None
    """Of the plot on the whole screen: the places on its axis that are in sight; None for all."""
    cursor: tuple[float, float] | None = None
    """Point of that plot at which it is read off."""
    held_s: float | None = None
    """The moment that the wall was moved to, in place of now; None goes with now. [s]"""
    frozen: Frozen | None = None
    """Since when the wall stands still; None while it goes on."""

    @property
    def signs(self) -> Signs:
        """The set of signs to draw with."""
        return signs(self.manner.ascii)

    @property
    def unfocused(self) -> "View":
        """The same whatever is in focus: what such panes rest on that show all cells alike."""
        return _unfocused(self)


@lru_cache(maxsize=8)
def _unfocused(view: View) -> View:
    return replace(view, picked=None, plot=0, alarm=None, window=None, cursor=None)


def picked_cell(bench: Bench, view: View) -> Cell | None:
    """The cell in focus; the first one if that which was picked is gone."""
    chosen = next((cell for cell in bench.cells if cell.folder == view.picked), None)
    return chosen or (bench.cells[0] if bench.cells else None)


def picked_alarm(bench: Bench, view: View) -> Raised | None:
    """The alarm in focus; the most pressing one if that which was picked is gone."""
    found = raised(bench)
    chosen = next((one for one in found if one.key == view.alarm), None)
    return chosen or (found[0] if found else None)


def since_frozen(bench: Bench, view: View) -> list[Raised]:
    """The urgent alarms that have been raised since the wall stands still."""
    if view.frozen is None:
        return []
    return [one for one in urgent(bench) if one.key not in view.frozen.known]


def urgent(bench: Bench) -> list[Raised]:
    """The urgent alarms that stand."""
    found = raised(bench)
    return [one for one in found if one.alarm.counts and one.alarm.priority == "urgent"]


class Pane(Paper):
    """A part of the screen: `draw` makes its lines from the picture and the view alone."""

    bench: var[Bench | None] = var(None, init=False)
    """The picture; None until the first look."""
    view: var[View] = var(View(), init=False)
    """What the person asked for."""
    follows_focus: ClassVar[bool] = True
    """False of one that shows all cells alike, whichever is in focus."""
    _drawn: object = None
    """What the drawing on it rests on; None where it is to be drawn in any case."""

    def watch_bench(self) -> None:
        """A new picture."""
        self.redraw()

    def show(self, bench: Bench | None) -> None:
        """The same by hand, without what the toolkit does around an attribute that is watched."""
        self.set_reactive(Pane.bench, bench)
        self.redraw()

    def watch_view(self, before: View, now: View) -> None:
        """Somebody asked for another view."""
        if self.of_view(before) != self.of_view(now):
            self.view_changed()

    def view_changed(self) -> None:
        """It is another one for this pane."""
        self.redraw()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size, another drawing."""
        self.redraw()

    def redraw(self) -> None:
        """Draw and lay what has changed; a pane that fails says so and leaves the others alone."""
        size = self.size
        if size.width == 0 or size.height == 0:
            return
        try:
            bench = self.bench
            told = None if bench is None else (self.of_moment(bench), self.of_bench(bench))
            rests_on = (size, self.of_view(self.view), told)
            before, self._drawn = self._drawn, rests_on
            if rests_on == before:
                return
            lines = self.draw(size.width, size.height)
        except Exception as error:  # noqa: BLE001 - one pane's failure must not close the screen
            self._drawn = None  # it is tried again
            lines = self.failure(error, size.width)
        self.lay(lines)

    def failure(self, error: Exception, width: int, part: str = "") -> list[Line]:
        """What stands in place of a drawing that failed."""
        sheet = Sheet(width, 1)
        what = f"{type(error).__name__}: {sanitise(str(error))}"
        sheet.put(0, 0, clip(f"the {part or self.id} cannot be drawn: {what}", width), "bad")
        return sheet.lines()

    def of_bench(self, bench: Bench) -> object:
        """What the pane shows of the picture beside its moment: while it stands, so does the pane.

        Rows come all the time; what is named here should be no more than what is shown.
        """
        return replace(bench, at=0.0, guard=Guard())

    def of_view(self, view: View) -> object:
        """What the pane shows of the view: while it stands, so does the pane."""
        return view if self.follows_focus else view.unfocused

    def of_moment(self, bench: Bench) -> object:
        """What the pane says of the moment of the picture: while it stands, so does the pane."""
        return bench.at

    def draw(self, width: int, height: int) -> list[Line]:
        """The lines of this pane."""
        raise NotImplementedError


class PatientPane(Pane):
    """A pane that is drawn once for all that was asked for in one go, such as by a key held down.

    Whatever acts on the screen reads the view, and never what such a pane has drawn.
    """

    _is_due = False

    def view_changed(self) -> None:
        """It is drawn as soon as the keys that wait are answered."""
        if not self._is_due:
            self._is_due = True
            self.call_later(self._draw_what_is_due)

    def _draw_what_is_due(self) -> None:
        self._is_due = False
        self.redraw()


class TimelessPane(Pane):
    """A pane that says nothing of the moment."""

    def of_moment(self, _bench: Bench) -> object:
        """Nothing."""
        return None


class BlankBars(ScrollBarRender):
    """A bar without the blocks that end it between two lines: they are no ASCII."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "] * 8


class ScrollingPane(Pane):
    """A pane that may have more lines than there is room for."""

    DEFAULT_CSS = """
    ScrollingPane { overflow-y: auto; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    """

    def view_changed(self) -> None:
        """The bar is drawn in the manner of everything else."""
        if self.view.manner.ascii:
            self.vertical_scrollbar.renderer = BlankBars  # type: ignore[misc]
        super().view_changed()

    def read_on(self, by: int) -> None:
        """Go so many times as far as there is in sight."""
        step = max(1, self.size.height - 1)
        self.scroll_to(y=self.scroll_offset.y + by * step, animate=False)
