"""The cell in focus in words and numbers: phase and its source, readings, values, problems."""

from rich.cells import cell_len

from tui.bench.picture import Bench, Cell
from tui.ink.sheet import Line, Sheet, clip, first_fitting, wrap
from tui.panes.pane import Pane, View, picked_cell
from tui.words import (
    age,
    ahead_words,
    b_value,
    cannot_judge_words,
    event_words,
    force,
    interval,
    is_reached,
    length,
    local,
    moment,
    percent,
    phase_words,
    plain,
    pressure,
    problem_words,
    readings,
    sanitise,
    source_words,
    temperature,
    volume,
)

Told = list[tuple[str, str]]
"""Lines as (text, ink)."""

LOW = 12
"""Lines below which a pane says only the first of what is long."""
COLUMN = 25
"""Cells that label and value take at least."""
VALUES_KEPT = 4
"""Lines that what the plots need leaves to the values."""


def values(cell: Cell, view: View) -> list[tuple[str, str]]:
    """Every value that is known, as label and text."""
    manner, live, known = view.manner, cell.live, cell.quantities
    found: list[tuple[str, str | None]] = []
    if live is not None:
        found += [
            (
                "cell pressure",
                _or_none(live.cell_pressure_kPa, pressure(live.cell_pressure_kPa, manner)),
            ),
            (
                "pore pressure",
                _or_none(live.pore_pressure_kPa, pressure(live.pore_pressure_kPa, manner)),
            ),
            (
                "back pressure",
                _or_none(live.back_pressure_kPa, pressure(live.back_pressure_kPa, manner)),
            ),
            (
                "σ′",
                _or_none(live.effective_stress_kPa, pressure(live.effective_stress_kPa, manner)),
            ),
        ]
    found += [
        ("B", _or_none(known.B, b_value(known.B, manner))),
        ("U", _or_none(known.U, percent(known.U, manner, 1))),
        ("deviator q", _or_none(known.deviator_kPa, pressure(known.deviator_kPa, manner))),
        ("axial strain", _or_none(known.axial_strain, percent(known.axial_strain, manner, 2))),
        (
            "vol. strain",
            _or_none(known.volumetric_strain, percent(known.volumetric_strain, manner, 2)),
        ),
    ]
    if live is not None:
        found += [
            ("volume in", _or_none(live.back_volume_ml, volume(live.back_volume_ml, manner))),
            ("gauge left", _or_none(live.stroke_left_ml, volume(live.stroke_left_ml, manner))),
            ("cell volume", _or_none(live.cell_volume_ml, volume(live.cell_volume_ml, manner))),
            (
                "travel",
                _or_none(live.axial_displacement_mm, length(live.axial_displacement_mm, manner)),
            ),
            ("axial load", _or_none(live.axial_load_N, force(live.axial_load_N, manner))),
            ("temperature", _or_none(live.temperature_C, temperature(live.temperature_C, manner))),
        ]
    return [(plain(name, manner), text) for name, text in found if text is not None]


def _or_none(value: float | None, text: str) -> str | None:
    return None if value is None else text


def tick_row(ticks: str, width: int, view: View) -> str:
    """The schedule's slots as signs; the part around the next slot if there are too many."""
    signs = view.signs
    text = "".join({"t": signs.taken, "m": signs.missed}.get(tick, signs.due) for tick in ticks)
    if len(text) <= width:
        return text
    following = next((i for i, tick in enumerate(ticks) if tick == "d"), len(ticks))
    start = max(0, min(following - 2 * width // 3, len(text) - width))
    part = text[start : start + width]
    if start > 0:
        part = signs.more + part[1:]
    return part if start + width >= len(text) else part[:-1] + signs.more


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
        after += self._history(cell, bench)[: max(0, height - y - len(after))]
        for text, ink in after:
            sheet.put(0, y, clip(text, width, view.signs.more), ink)
            y += 1
        return sheet.lines()

    def _history(self, cell: Cell, bench: Bench) -> Told:
        """Checks and phases so far, newest first, for where there is room left over."""
        manner, zone, at = self.view.manner, bench.zone, bench.at
        told: Told = [("", "dim")]
        for check in reversed(cell.checks[-12:]):
            standing = "" if check.settled else ", not settled"
            if not check.finished:
                standing = ", still running"
            words = (
                f"{moment(check.at, zone, at):<11} B {b_value(check.B, manner)} at back pressure "
                f"{pressure(check.back_pressure_kPa, manner)}{standing}"
            )
            told.append((plain(words, manner), "saturation"))
        told += [("", "dim")] if cell.checks else []
        for span in reversed(cell.spans[-30:]):
            words = f"{moment(span.start, zone, at):<11} {phase_words(span)}"
            told.append((plain(words, manner), span.name))
        return told

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
            since = f"since {moment(phase.since, bench.zone, at)}"
            words = f"{phase_words(phase)}, {source_words(phase)}"
            old = age(at - phase.since)
            said = (f"{words}, {since} ({old})", f"{words}, {since}", f"{words}, {old}", words)
            first.append((plain(first_fitting(width, *said), manner), "text"))
            if phase.contradiction:
                words = plain(f"but: {sanitise(phase.contradiction)}", manner)
                first += [(line, "warn") for line in wrap(words, width)]
        if cell.schedule is not None:
            first.append((self._of_schedule(cell, at), "text"))
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
            basis = sanitise(projection.basis)
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

    def _of_schedule(self, cell: Cell, at: float) -> str:
        """How far it has come."""
        return readings(cell.schedule, at, self.view.manner)

    def _more_slots(self, cell: Cell, width: int, room: int) -> Told:
        """That slots end too early and which readings to add; its beginning in a low pane."""
        told: Told = []
        for words in cell.advice[:1] if cell.slots_end_early else ():
            text = plain(sanitise(words), self.view.manner)
            low = room < LOW
            lines = [clip(text, width, self.view.signs.more)] if low else wrap(text, width)
            told += [(line, "text") for line in lines]
        return told

    def _plot_needs(self, cell: Cell, width: int, room: int) -> Told:
        """What the plots of consolidation still need, where there is room left over."""
        told: Told = []
        for words in cell.advice[1 if cell.slots_end_early else 0 :]:
            lines = wrap(plain(sanitise(words), self.view.manner), width)
            if len(told) + len(lines) <= room:
                told += [(line, "dim") for line in lines]
        return told

    def _values(self, sheet: Sheet, cell: Cell, y: int, below: int) -> int:
        """Label and value in as many columns as fit; gives the next free line."""
        return in_columns(sheet, values(cell, self.view), y, sheet.height - y - below)


def in_columns(sheet: Sheet, found: list[tuple[str, str]], y: int, room: int) -> int:
    """Labels and values in as many columns as fit, within some lines; gives the next free one."""
    columns = max(1, (sheet.width + 2) // COLUMN)
    rows = min(max(0, room), -(-len(found) // columns))
    if rows <= 0:
        return y
    wide = (sheet.width + 2) // columns
    for i, (name, text) in enumerate(found[: rows * columns]):
        column, row = divmod(i, rows)
        x = column * wide
        sheet.put(x, y + row, name, "dim")
        sheet.put(x + wide - 2 - cell_len(text), y + row, text, "text")
    return y + rows
