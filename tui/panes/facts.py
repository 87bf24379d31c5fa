"""All that is known of the cell in focus, in words and numbers; it scrolls where it must."""

from datetime import tzinfo

from rich.cells import cell_len
from textual.reactive import var

from tui.bench.picture import Bench, Cell, Figure
from tui.ink.sheet import Line, Sheet, clip, first_fitting, wrap
from tui.journal.acts import WATCH_KINDS
from tui.journal.entries import UNDO, Entry
from tui.panes.known import (
    MOMENT,
    Told,
    check_lines,
    in_columns,
    phase_line,
    span_line,
    tick_row,
    values,
)
from tui.panes.pane import ScrollingPane, View, picked_cell
from tui.words import (
    Manner,
    age,
    ahead_words,
    alarm_ink,
    cannot_judge_words,
    event_words,
    interval,
    kind_words,
    message,
    moment,
    percent,
    plain,
    priority_words,
    problem_words,
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

_MOST = 60
"""Spans, checks and entries that are listed of each; of more the newest."""
_WIDE = 64
"""From here on phases are named in full."""
_PROBLEM = {"error": "bad", "warning": "warn"}
_PLUS_MINUS = "± from where the lines may lie alone; `porewatch reduce` adds gauges and dimensions"


class FactsPane(ScrollingPane):
    """Everything about one cell; what matters more stands higher."""

    notes: var[Notes] = var((), init=False)
    """What people entered about the cell."""

    def watch_notes(self) -> None:
        """The journal has been read."""
        self._drawn = None
        self.redraw()

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
        lines = _heading(name, width, view)
        lines += _lines(_raised(cell, bench, manner), width, view)
        lines += _lines(_now(cell, bench, width, view), width, view)
        lines += _columns(values(cell, view), width)
        checks = check_lines(cell, zone, at, manner, _MOST)
        unjudged: Told = [(words, "dim") for words in cannot_judge_words(cell.blind)]
        sections = (
            ("Read off the plots", _figures(cell, bench, manner, width)),
            ("Alarms", _alarms(cell, bench, manner)),
            ("Journal", _journal(self.notes, zone, at, manner)),
            ("B checks", checks),
            (_phases_title(cell), _spans(cell, zone, at, manner, width)),
            ("Rows", _rows(cell, manner)),
            ("Not judged", unjudged),
        )
        parts = [
            _heading(title, width, view) + _lines(told, width, view)
            for title, told in sections
            if told
        ]
        # air between them only where nothing has to scroll for it
        airy = len(lines) + sum(len(part) + 1 for part in parts) <= height
        for part in parts:
            lines += (Sheet(width, 1).lines() if airy else []) + part
        return lines + Sheet(width, max(0, height - len(lines))).lines()


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
        cut = text.rfind(" ", 0, width + 1 - (cell_len(text) - len(text)))
        first, rest = text[:cut].rstrip(), wrap(text[max(cut, 0) :], width - 2)
        if not first.strip():  # a word longer than the line
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


def _now(cell: Cell, bench: Bench, width: int, view: View) -> Told:
    """What is wrong, what the cell is doing, how its readings have come, what comes next."""
    manner, zone, at, phase = view.manner, bench.zone, bench.at, cell.phase
    told: Told = [
        (problem_words(one, manner), _PROBLEM.get(one.severity, "dim")) for one in cell.problems
    ]
    if phase is not None:
        told.append((phase_line(cell, bench, width, manner), "text"))
        if phase.contradiction:
            told.append((f"but: {sanitise(phase.contradiction)}", "warn"))
    if cell.schedule is not None:
        words = readings(cell.schedule, at, manner, ticking=True)
        told.append((first_fitting(width, f"readings {words}", words), "text"))
        if cell.schedule.ticks:
            row = tick_row(cell.schedule.ticks, width, view)
            told.append((row, phase.name if phase else "dim"))
    needs = [message(words, manner) for words in cell.advice]
    if cell.slots_end_early:
        told.append((needs.pop(0), "text"))
    projection = cell.projection
    told.append((event_words(projection, zone, at, manner), "band"))
    if projection.at is not None:
        between = interval(projection.earliest, projection.latest, zone, at)
        if projection.confidence is not None:
            between += f", {percent(projection.confidence)}"
        basis = message(projection.basis, manner)
        told.append((f"{between} · {basis}" if basis else between, "dim"))
    if then := ahead_words(cell.ahead, zone, at, manner):
        told.append((f"then {' · '.join(then)}", "dim"))
    return told + [(words, "dim") for words in needs]


def _figures(cell: Cell, bench: Bench, manner: Manner, width: int) -> Told:
    """With what ± does not tell; then the envelope of the set."""
    envelope = next((one for one in bench.envelopes if one.set_name == cell.set_name), None)
    found = list(cell.figures)
    if envelope is not None:
        basis = f"line through {len(envelope.points)} tops"
        found.append(Figure("c′", envelope.c_kPa, "kPa", None, basis))
        found.append(Figure("φ′", envelope.phi_deg, "°", None, basis))
    names = [plain(one.name, manner) for one in found]
    numbers = [figure_words(one, manner) for one in found]
    first, second = max(map(cell_len, names), default=0), max(map(cell_len, numbers), default=0)
    parts = list(zip(names, numbers, [message(one.basis, manner) for one in found], strict=True))
    texts = [f"{name:<{first}}  {number:<{second}}  {basis}" for name, number, basis in parts]
    if any(cell_len(text) > width for text in texts):  # no columns where they do not fit
        texts = [f"{name} {number}, {basis}" for name, number, basis in parts]
    told: Told = [(text, "text") for text in texts]
    if any(one.uncertainty is not None for one in found):
        told.append((_PLUS_MINUS, "dim"))
    return told


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
        told.append((f"  {message(alarm.message, manner)}", "text" if alarm.counts else "dim"))
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
        words = f"{moment(act.held_at, zone, at):<{MOMENT}} {said(act, zone)}, {sanitise(act.who)}"
        if act.text:
            words += f": {quotes[0]}{sanitise(act.text)}{quotes[1]}"
        told.append((words, "text"))
    return told[:_MOST]


def _phases_title(cell: Cell) -> str:
    """With whose word all of them rest on, if it is one."""
    sources = {source_words(span) for span in cell.spans}
    return f"Phases, {sources.pop()}" if len(sources) == 1 else "Phases"


def _spans(cell: Cell, zone: tzinfo, at: float, manner: Manner, width: int) -> Told:
    """Begin, phase and step, how long, whose word each rests on if they differ; newest first."""
    spans = cell.spans[-_MOST:]
    begins = [span_line(span, zone, at, manner, short=width < _WIDE) for span in spans]
    wide = max(map(cell_len, begins), default=0)
    differ = len({span.source for span in cell.spans}) > 1
    told: Told = []
    for span, begin in zip(reversed(spans), reversed(begins), strict=True):
        lasted = age((at if span.end is None else span.end) - span.start)
        so_far = " so far" if span.end is None else ""
        source = f", {source_words(span)}" if differ else ""
        pad = " " * (wide - cell_len(begin))
        told.append((f"{begin}{pad}  {lasted}{so_far}{source}", span.name))
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
