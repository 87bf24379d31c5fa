"""The cell in focus in words and numbers: phase and its source, readings, values, problems."""

from itertools import islice

from tui.bench.picture import Bench, Cell
from tui.ink.sheet import Line, Sheet, clip, wrap
from tui.panes.known import (
    Told,
    check_lines,
    in_columns,
    phase_line,
    span_line,
    tick_row,
    values,
)
from tui.panes.pane import Pane, picked_cell
from tui.words import (
    age,
    ahead_words,
    cannot_judge_words,
    event_words,
    interval,
    is_reached,
    local,
    message,
    percent,
    plain,
    problem_words,
    readings,
    sanitise,
)

LOW = 12
"""Lines below which a pane says only the first of what is long."""
VALUES_KEPT = 4
"""Lines that what the plots need leaves to the values."""


class NumbersPane(Pane):
    """What is known of the cell in focus; what matters more stands higher."""

    def of_moment(self, bench: Bench) -> object:
        """Its day, for moments are told by it, and what it says of phase, readings and event."""
        cell, at, manner = picked_cell(bench, self.view), bench.at, self.view.manner
        return cell and (
            local(at, bench.zone).date(),
            age(at - cell.phase.since) if cell.phase else "",
            readings(cell.schedule, at, manner),
            is_reached(cell.projection, at),
        )

    def of_bench(self, bench: Bench) -> object:
        """The cell in focus."""
        return picked_cell(bench, self.view), bench.zone

    def draw(self, width: int, height: int) -> list[Line]:
        """As much as there is room for."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        cell = picked_cell(bench, view) if bench else None
        if bench is None or cell is None:
            return sheet.lines()
        facts = (cell.cell, cell.test, cell.test_id, cell.specimen)
        heading = " · ".join(sanitise(fact, 40) for fact in facts if fact)
        as_of = "" if view.frozen is None else f"as of {local(bench.at, bench.zone):%H:%M}"
        heading = clip(plain(heading, view.manner), width - len(as_of) - 4, view.signs.more)
        sheet.title(heading, as_of, view.signs.rule, view.signs.more)
        y = 1
        room = height - 1
        before, after = self._told(cell, bench, width, room)
        for text, ink in before:
            sheet.put(0, y, clip(text, width, view.signs.more), ink)
            y += 1
        y = self._values(sheet, cell, y, len(after))
        after += self._history(cell, bench, height - y - len(after))
        for text, ink in after:
            sheet.put(0, y, clip(text, width, view.signs.more), ink)
            y += 1
        return sheet.lines()

    def _history(self, cell: Cell, bench: Bench, room: int) -> Told:
        """Checks and phases so far, newest first, for where there is room left over."""
        if room <= 0:
            return []
        manner, zone, at = self.view.manner, bench.zone, bench.at
        checks = check_lines(cell, zone, at, manner, 12)
        told: Told = [("", "dim"), *checks, *([("", "dim")] if checks else [])]
        for span in islice(reversed(cell.spans), max(0, room - len(told))):
            told.append((span_line(span, zone, at, manner, short=False), span.name))
        return told[:room]

    def _told(self, cell: Cell, bench: Bench, width: int, room: int) -> tuple[Told, Told]:
        """Lines above the values and below them."""
        view, at = self.view, bench.at
        manner = view.manner
        first: Told = []
        for problem in cell.problems:
            ink = {"error": "bad", "warning": "warn"}.get(problem.severity, "dim")
            first += [(line, ink) for line in wrap(problem_words(problem, manner), width)]
        phase = cell.phase
        if phase is not None:
            first.append((phase_line(cell, bench, width, manner), "text"))
            if phase.contradiction:
                words = plain(f"but: {sanitise(phase.contradiction)}", manner)
                first += [(line, "warn") for line in wrap(words, width)]
        if cell.schedule is not None:
            first.append((readings(cell.schedule, at, manner), "text"))
            if cell.schedule.ticks and room >= len(first) + 3:
                ink = phase.name if phase else "dim"
                first.append((tick_row(cell.schedule.ticks, width, view), ink))
            first += self._more_slots(cell, width, room)
        projection = cell.projection
        first += [
            (line, "band") for line in wrap(event_words(projection, bench.zone, at, manner), width)
        ]
        if projection.at is not None:
            between = interval(projection.earliest, projection.latest, bench.zone, at)
            if projection.confidence is not None:
                between += f", {percent(projection.confidence)}"
            basis = message(projection.basis, manner)
            words = plain(f"{between} · {basis}" if basis else between, manner)
            lines = wrap(words, width)
            first += [(line, "dim") for line in (lines if room >= LOW else lines[:1])]
        if then := ahead_words(cell.ahead, bench.zone, at, manner):
            lines = wrap(plain("then " + " · ".join(then), manner), width)
            first += [(line, "dim") for line in lines if room >= LOW]
        if cell.schedule is not None:
            first += self._plot_needs(cell, width, room - len(first) - VALUES_KEPT)
        last: Told = []
        if room >= len(first) + 4 and (cell.rows_used or cell.rows_unused):
            text = f"{cell.rows_used} rows used, {cell.rows_unused} not used"
            last.append((clip(text, width, view.signs.more), "dim"))
        for words in cannot_judge_words(cell.blind):
            if room >= len(first) + len(last) + 6:
                text = plain(f"cannot judge {words}", manner)
                last.append((clip(text, width, view.signs.more), "dim"))
        return first[:room], last

    def _more_slots(self, cell: Cell, width: int, room: int) -> Told:
        """That slots end too early and which readings to add; its beginning in a low pane."""
        told: Told = []
        for words in cell.advice[:1] if cell.slots_end_early else ():
            text = message(words, self.view.manner)
            low = room < LOW
            lines = [clip(text, width, self.view.signs.more)] if low else wrap(text, width)
            told += [(line, "text") for line in lines]
        return told

    def _plot_needs(self, cell: Cell, width: int, room: int) -> Told:
        """What the plots of consolidation still need, where there is room left over."""
        told: Told = []
        for words in cell.advice[1 if cell.slots_end_early else 0 :]:
            lines = wrap(message(words, self.view.manner), width)
            if len(told) + len(lines) <= room:
                told += [(line, "dim") for line in lines]
        return told

    def _values(self, sheet: Sheet, cell: Cell, y: int, below: int) -> int:
        """Label and value in as many columns as fit; gives the next free line."""
        return in_columns(sheet, values(cell, self.view), y, sheet.height - y - below)
