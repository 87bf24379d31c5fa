"""The heading of the wall: what its heads say, moments on its axis, and where now is."""

from rich.cells import cell_len

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Sheet, clip, first_fitting
from tui.ink.times import TimeAxis, ticks
from tui.panes.lane import track_left
from tui.panes.lanes import heading
from tui.panes.pane import PatientPane, View
from tui.panes.stretch import axis_of, span_of
from tui.words import age, coarse_age, plain


class AxisPane(PatientPane):
    """One line above the lanes."""

    follows_focus = False

    def of_moment(self, bench: Bench) -> object:
        """Where the axis stands, which moves by whole columns; how far now is, if out of sight."""
        axis = axis_of(bench, self.view, self.size.width)
        return axis, None if axis.shows_now else age(_away(axis, bench.at))

    def of_bench(self, bench: Bench) -> object:
        """What is said of the lanes; how much time they show is told by the axis."""
        return bool(bench.cells), heading(bench, self.view), bench.zone

    def draw(self, width: int, height: int) -> list[Line]:
        """It."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None or not bench.cells:
            return sheet.lines()
        left, axis = track_left(view), axis_of(bench, view, width)
        now, column = _now(axis, bench.at, view)
        start, end = left + column, left + column + cell_len(now)
        sheet.put(start, 0, now, "now")
        taken = [(start, end)]
        says = heading(bench, view)
        if left:
            across = age(span_of(bench, view)).replace(" 00 min", "").replace(" 0 h", "")
            usual = "cell/back/pore" if view.form == "medium" else f"{across} across"
            if view.lane_rows <= 2:
                usual = "cell/back/pore σ′, age, readings"
            sheet.put(2, 0, plain(says or usual, view.manner), "dim", left)
        elif says:  # in the larger part beside now
            first, last = (1, start - 1) if start > width - end else (end + 1, width)
            says = clip(plain(says, view.manner), last - first, view.signs.more)
            taken.append((first, sheet.put(first, 0, says, "dim")))
        for place, label in ticks(axis, bench.zone):
            text, x = view.signs.tick + label, left + place
            if all(x + len(text) < first or x > last for first, last in taken):
                sheet.put(x, 0, text if x + len(text) <= width else view.signs.tick, "dim")
        return sheet.lines()


def _away(axis: TimeAxis, at: float) -> float:
    """How far now is from that end of the axis beyond which it lies. [s]"""
    return axis.first - at if at < axis.first else at - axis.last


def _now(axis: TimeAxis, at: float, view: View) -> tuple[str, int]:
    """What is said of now, and from which column on; an arrow where it is out of sight."""
    word = "now" if view.frozen is None else "frozen"
    if axis.shows_now:
        text, column = f"{view.signs.now_head} {word}", axis.now_column
        if column + len(text) > axis.width:
            text, column = f"{word} {view.signs.now_head}", column - len(word) - 1
        return text, column
    far = _away(axis, at)
    says = [plain(f"{word} {words}", view.manner) for words in (age(far), coarse_age(far))]
    text = first_fitting(axis.width // 2, *says)
    if axis.now_column < 0:
        return f"{view.signs.back} {text}", 0
    return f"{text} {view.signs.picked}", axis.width - len(text) - 2
