"""The heading of the wall: what its heads say, moments on its axis, and where now is."""

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Sheet, first_fitting
from tui.ink.times import TimeAxis, ticks
from tui.panes.lane import track_left
from tui.panes.lanes import heading
from tui.panes.pane import PatientPane, View
from tui.panes.stretch import axis_of, span_of
from tui.words import age, coarse_age, plain


class AxisPane(PatientPane):
    """One line above the lanes."""

    def of_moment(self, bench: Bench) -> object:
        """Where the axis stands, which moves by whole columns; how far now is, if out of sight."""
        axis = axis_of(bench, self.view, self.size.width)
        return axis, None if axis.shows_now else age(_away(axis, bench.at))

    def draw(self, width: int, height: int) -> list[Line]:
        """It."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None or not bench.cells:
            return sheet.lines()
        left = track_left(view)
        axis = axis_of(bench, view, width)
        told = 0
        if left:
            across = age(span_of(bench, view)).replace(" 00 min", "").replace(" 0 h", "")
            says = "cell/back/pore" if view.form == "medium" else f"{across} across"
            if view.lane_rows <= 2:
                says = "cell/back/pore σ′, age, readings"
            says = heading(bench, view) or says
            sheet.put(2, 0, plain(says, view.manner), "dim", left)
        elif says := heading(bench, view):
            end = axis.now_column if axis.shows_now else axis.width // 2
            told = sheet.put(1, 0, plain(says, view.manner), "dim", end - 1) + 1
        now, column = _now(axis, bench.at, view)
        start = left + column
        for place, label in ticks(axis, bench.zone):
            text = view.signs.tick + label
            x = left + place
            if told <= x < start - len(text) or x > max(told - 1, start + len(now)):
                sheet.put(x, 0, text if x + len(text) <= width else view.signs.tick, "dim")
        sheet.put(start, 0, now, "now")
        return sheet.lines()


def _away(axis: TimeAxis, at: float) -> float:
    """How far now is from that end of the axis beyond which it lies. [s]"""
    return axis.first - at if at < axis.first else at - axis.last


def _now(axis: TimeAxis, at: float, view: View) -> tuple[str, int]:
    """What is said of now, and from which column on; an arrow where it is out of sight."""
    word = "now" if view.frozen is None else "frozen"
    if axis.shows_now:
        return f"{view.signs.now_head} {word}", axis.now_column
    far = _away(axis, at)
    says = [plain(f"{word} {words}", view.manner) for words in (age(far), coarse_age(far))]
    text = first_fitting(axis.width // 2, *says)
    if axis.now_column < 0:
        return f"{view.signs.back} {text}", 0
    return f"{text} {view.signs.picked}", axis.width - len(text) - 2
