"""All that is known of the cell in focus, in words and numbers; it scrolls where it must."""

from datetime import tzinfo

from rich.cells import cell_len
from textual.reactive import var

from tui.bench.picture import Bench, Cell
from tui.ink.sheet import Line, Sheet, clip, wrap
from tui.journal.acts import WATCH_KINDS
from tui.journal.entries import UNDO, Entry
from tui.panes.numbers import NumbersPane, Told, in_columns, values
from tui.panes.pane import ScrollingPane, View, picked_cell
from tui.words import (
    Manner,
    age,
    alarm_ink,
    b_value,
    cannot_judge_words,
    kind_words,
    moment,
    phase_words,
    plain,
    pressure,
    priority_words,
    readings,
    sanitise,
    shared_by,
    since_words,
    source_words,
    state_words,
)
from tui.words.entries import said
from tui.words.plots import figure_words

Notes = tuple[Entry, ...] | str
"""What the journal holds about the cell, or why it cannot be read."""

_EVERYTHING = 10_000
"""More lines than there ever are."""
_MOST = 60
"""Spans, checks and entries that are listed of each; of more the newest."""
_MOMENT = 11
"""Cells of "today 14:20" and the like."""
_WIDE = 64
"""From here on phases are named in full."""


class FactsPane(ScrollingPane, NumbersPane):
    """Everything about one cell; what matters more stands higher."""

    notes: var[Notes] = var((), init=False)
    """What people entered about the cell."""

    def watch_notes(self) -> None:
        """The journal has been read."""
        self._drawn = (None, None)
        self.redraw()

    def of_moment(self, bench: Bench) -> object:
        """Seconds are counted down."""
        return bench.at

    def draw(self, width: int, height: int) -> list[Line]:
        """All of it."""
        bench, view = self.bench, self.view
        cell = picked_cell(bench, view) if bench else None
        width -= 1  # of the scroll bar
        if bench is None or cell is None:
            return Sheet(width, height).lines()
        manner, zone, at = view.manner, bench.zone, bench.at
        facts = (cell.cell, cell.test, cell.test_id, cell.specimen)
        name = " · ".join(sanitise(fact, 40) for fact in facts if fact)
        lines = _heading(name, width, view) + _lines(_raised(cell, bench, manner), width, view)
        before, _ = self._told(cell, bench, width, _EVERYTHING)
        lines += _lines(before, width, view)
        lines += _columns(values(cell, view), width)
        lines += _lines(_figures(cell, manner), width, view)
        parts = [
            _heading(title, width, view) + _lines(told, width, view)
            for title, told in (
                ("Alarms", _alarms(cell, bench, manner)),
                ("Journal", _journal(self.notes, zone, at, manner)),
                ("B checks", _checks(cell, zone, at, manner)),
                ("Phases", _spans(cell, zone, at, manner, width)),
                ("Rows", _rows(cell, manner)),
                ("Not judged", [(words, "dim") for words in cannot_judge_words(cell.blind)]),
            )
            if told
        ]
        # air between them only where nothing has to scroll for it
        airy = len(lines) + sum(len(part) + 1 for part in parts) <= height
        for part in parts:
            lines += (Sheet(width, 1).lines() if airy else []) + part
        return lines + Sheet(width, max(0, height - len(lines))).lines()

    def _of_schedule(self, cell: Cell, at: float) -> str:
        """With the seconds."""
        return readings(cell.schedule, at, self.view.manner, ticking=True)


def _heading(text: str, width: int, view: View) -> list[Line]:
    sheet = Sheet(width, 1)
    sheet.title(plain(text, view.manner), "", view.signs.rule, view.signs.more)
    return sheet.lines()


def _lines(told: Told, width: int, view: View) -> list[Line]:
    """Wrapped; what goes on stands a little to the right."""
    wrapped: Told = []
    for raw, ink in told:
        text = plain(raw, view.manner)
        if cell_len(text) <= width:
            wrapped.append((text, ink))
            continue
        first, *rest = wrap(text, width - 2)
        wrapped += [(first, ink), *((f"  {line}", ink) for line in rest)]
    sheet = Sheet(width, len(wrapped))
    for y, (text, ink) in enumerate(wrapped):
        sheet.put(0, y, clip(text, width, view.signs.more), ink)
    return sheet.lines()


def _columns(found: list[tuple[str, str]], width: int) -> list[Line]:
    sheet = Sheet(width, len(found))
    used = in_columns(sheet, found, 0, len(found))
    return sheet.lines()[:used]


def _figures(cell: Cell, manner: Manner) -> Told:
    numbers = [figure_words(one, manner) for one in cell.figures]
    names = max((cell_len(one.name) for one in cell.figures), default=0)
    wide = max(map(cell_len, numbers), default=0)
    return [
        (f"{one.name:<{names}}  {number:<{wide}}  {sanitise(one.basis)}", "text")
        for one, number in zip(cell.figures, numbers, strict=True)
    ]


def _raised(cell: Cell, bench: Bench, manner: Manner) -> Told:
    """What stands, in a line each: the first thing to know."""
    return [
        (
            f"{priority_words(one, manner)} {kind_words(one)}, {age(bench.at - one.since)}",
            alarm_ink(one),
        )
        for one in (*cell.alarms, *shared_by(cell, bench.alarms))
        if one.counts
    ]


def _alarms(cell: Cell, bench: Bench, manner: Manner) -> Told:
    told: Told = []
    for alarm in (*cell.alarms, *shared_by(cell, bench.alarms)):
        ink = alarm_ink(alarm)
        told.append((f"{priority_words(alarm, manner)} {kind_words(alarm)}", ink))
        stands = state_words(alarm, bench.zone, bench.at)
        told.append((f"  {stands} · {since_words(alarm, bench.zone, bench.at)}", "dim"))
        told.append((f"  {sanitise(alarm.message)}", "text" if alarm.counts else "dim"))
    return told


def _journal(notes: Notes, zone: tzinfo, at: float, manner: Manner) -> Told:
    if isinstance(notes, str):
        return [(f"the journal cannot be read: {sanitise(notes)}", "warn")]
    told: Told = []
    quotes = '""' if manner.ascii else "“”"
    for entry in reversed(notes):
        act = entry.act
        if act.kind in (*WATCH_KINDS, UNDO) or entry.undone_by is not None:
            continue
        words = f"{moment(act.held_at, zone, at):<{_MOMENT}} {said(act, zone)}, {sanitise(act.who)}"
        if act.text:
            words += f": {quotes[0]}{sanitise(act.text)}{quotes[1]}"
        told.append((words, "text"))
    return told[:_MOST]


def _checks(cell: Cell, zone: tzinfo, at: float, manner: Manner) -> Told:
    told: Told = []
    for check in reversed(cell.checks[-_MOST:]):
        standing = "" if check.settled else ", not settled"
        if not check.finished:
            standing = ", still running"
        where = pressure(check.back_pressure_kPa, manner)
        words = f"B {b_value(check.B, manner)} at back pressure {where}{standing}"
        told.append((f"{moment(check.at, zone, at):<{_MOMENT}} {words}", "saturation"))
    return told


def _spans(cell: Cell, zone: tzinfo, at: float, manner: Manner, width: int) -> Told:
    """Begin, phase and step, how long, whose word it rests on; newest first."""
    short = width < _WIDE
    spans = cell.spans[-_MOST:]
    names = max((cell_len(phase_words(span, manner, short)) for span in spans), default=0)
    told: Told = []
    for span in reversed(spans):
        words = phase_words(span, manner, short)
        lasted = age((at if span.end is None else span.end) - span.start)
        if span.end is None:
            lasted += " so far"
        begin = f"{moment(span.start, zone, at):<{_MOMENT}} {words}"
        pad = " " * (names - cell_len(words))
        told.append((f"{begin}{pad}  {lasted}, {source_words(span)}", span.name))
    return told


def _rows(cell: Cell, manner: Manner) -> Told:
    if not cell.rows_used and not cell.rows_unused:
        return []
    told: Told = [(f"{cell.rows_used} used, {cell.rows_unused} not used", "text")]
    for reason, number in sorted(cell.unused.reasons, key=lambda pair: -pair[1]):
        told.append((f"{number:>6}  {sanitise(reason, 80)}", "warn"))
    for row in reversed(cell.unused.newest):
        field = f", {sanitise(row.field, 40)}" if row.field else ""
        told.append((f"{sanitise(row.file, 80)}:{row.line}{field}: {sanitise(row.reason)}", "dim"))
    return [(plain(text, manner), ink) for text, ink in told]
