"""The picture as text for a terminal or a file: one block a cell, down to 40 columns."""

import shlex
import unicodedata
from collections.abc import Iterable, Mapping, Sequence

import click

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import Bench, Blind, Cell, Live
from tui.bench.visits import grouped
from tui.settings.problems import Problem
from tui.words import (
    SAFETY,
    WHOLE_BENCH,
    Manner,
    State,
    age,
    ahead_words,
    alarm_sign,
    attended_words,
    b_value,
    cannot_judge_words,
    date_and_time,
    duty_words,
    event_words,
    interval,
    kind_words,
    kinds_words,
    moment,
    percent,
    phase_words,
    plain,
    pressure,
    problem_words,
    readings,
    sanitise,
    shared_by,
    since_words,
    source_words,
    state,
    state_words,
    visit_words,
)

NARROWEST = 40
"""Text is not made to fit less. [columns]"""

_COLOURS = {"good": "green", "warn": "yellow", "alert": "yellow", "bad": "red", "alarm": "red"}
_MARKS = {"error": "✕", "warning": "△", "note": "·"}
_MOST_HANDS = 6


More = Mapping[str, Sequence[Sequence[str]]]
"""What else is told of a cell, by its folder ("": of the bench): the parts of each line."""


def print_bench(
    bench: Bench, manner: Manner, width: int, more: More | None = None, title: str = ""
) -> list[str]:
    """Everything that one look tells, as lines.

    Args:
        width: of the page; lines are no longer than this and not shorter than 40. [columns]
        more: told besides; then the hands come first.
        title: what page this is.
    """
    told = more or {}
    page = _Page(manner, max(width, NARROWEST))
    count = f"{len(bench.cells)} cell{'' if len(bench.cells) == 1 else 's'}"
    when = date_and_time(bench.at, bench.zone)
    if title:
        page.flow((title,))
    page.flow(
        (
            sanitise(bench.name),
            count if bench.cells else "no cell",
            when if bench.follows_clock else f"as of {when}",
        )
    )
    duty = duty_words(bench.guard)
    page.flow((duty if bench.guard.on_duty else f"{duty}: nobody is told of alarms",))
    page.problems(bench.problems, indent=0)
    for alarm in bench.alarms:
        _print_alarm(page, alarm, "", bench, indent=0)
    for parts in told.get("", ()):
        page.flow(parts)
    if more is not None and bench.hands:
        page.blank()
        _print_hands(page, bench)
    # What no cell can be judged for is said once, or it would bury what differs.
    shared = _shared_blind(bench.cells)
    for cell in bench.cells:
        page.blank()
        _print_cell(page, cell, bench, shared)
        for parts in told.get(cell.folder, ()):
            page.flow(parts, indent=2)
    if bench.not_adopted:
        page.blank()
        page.flow(
            ["not adopted (logs but no cell.toml):", *map(sanitise, bench.not_adopted)], joint=" "
        )
    if more is None and bench.hands:
        page.blank()
        _print_hands(page, bench)
    page.blank()
    for words in cannot_judge_words(shared):
        page.flow((f"in no cell can be judged {words}",))
    page.flow((SAFETY,))
    return page.lines


def _print_cell(page: "_Page", cell: Cell, bench: Bench, shared: Sequence[Blind]) -> None:
    manner, zone, now = page.manner, bench.zone, bench.at
    found = state(cell, manner, shared_by(cell, bench.alarms))
    page.head(
        found,
        [
            f"{found.sign} {sanitise(cell.cell)} {found.word}",
            *(sanitise(word) for word in (cell.test, cell.specimen, cell.test_id) if word),
        ],
    )
    for alarm in cell.alarms:
        _print_alarm(page, alarm, cell.folder, bench, indent=2)
    phase = cell.phase
    if phase is not None:
        since = phase.step_since if phase.step else phase.since
        page.flow(
            (
                phase_words(phase, manner),
                f"since {moment(since, zone, now)}",
                source_words(phase),
            ),
            indent=2,
        )
        if phase.contradiction:
            page.flow((f"but {sanitise(phase.contradiction)}",), indent=2)
    if cell.live is not None:
        page.flow(_live_words(cell.live, now, manner), indent=2)
    if quantities := _quantity_words(cell, manner):
        page.flow(quantities, indent=2)
    if cell.schedule is not None:
        page.flow((f"readings {readings(cell.schedule, now, manner)}",), indent=2)
        for words in cell.advice[:1] if cell.slots_end_early else ():
            page.flow((sanitise(words),), indent=2)
    projection = cell.projection
    event = [f"next: {event_words(projection, zone, now, manner)}"]
    if projection.at is not None:
        likely = (
            f" ({percent(projection.confidence, manner)})"
            if projection.confidence is not None
            else ""
        )
        if projection.earliest is not None or projection.latest is not None:
            event.append(f"{interval(projection.earliest, projection.latest, zone, now)}{likely}")
        if projection.progress is not None:
            event.append(f"{percent(projection.progress, manner)} done")
    page.flow(event, indent=2)
    if then := ahead_words(cell.ahead, zone, now, manner):
        page.flow((f"then: {then[0]}", *then[1:]), indent=2)
    if cell.rows_unused:
        page.flow((f"{cell.rows_unused} of {cell.rows_used + cell.rows_unused} rows unused",), 2)
    page.problems(cell.problems, indent=2)
    for words in cannot_judge_words([one for one in cell.blind if one not in shared]):
        page.flow((f"cannot judge {words}",), indent=2)


def _print_alarm(page: "_Page", alarm: Alarm, folder: str, bench: Bench, indent: int) -> None:
    """One that stands in full, with what to do; one that is shelved or over on one line."""
    zone, now = bench.zone, bench.at
    parts = [f"{alarm_sign(alarm)} {alarm.priority}", kind_words(alarm)]
    if alarm.cells:
        parts.append(", ".join(map(sanitise, alarm.cells)))
    parts.append(state_words(alarm, zone, now))
    if not alarm.counts:
        page.flow(parts, indent)
        return
    page.alarm([*parts, since_words(alarm, zone, now)], indent, alarm)
    page.flow((sanitise(alarm.message),), indent + 2)
    if alarm.consequences:
        page.flow((f"with it: {kinds_words(alarm.consequences)}",), indent + 2)
    page.flow((f"→ {sanitise(alarm.action)}",), indent + 2)
    if alarm.state == "unacknowledged":
        about = () if alarm.about is None else ("--about", sanitise(alarm.about))
        words = (sanitise(folder) or WHOLE_BENCH, sanitise(alarm.kind), *about)
        page.flow((f"porewatch acknowledge {shlex.join(words)}",), indent + 2)


def _print_hands(page: "_Page", bench: Bench) -> None:
    page.flow(("hands are needed",))
    told = 0
    for visit, hands in grouped(bench.hands, bench.visits):
        if told >= _MOST_HANDS:
            break
        together = visit is not None and len(hands) > 1
        if visit is not None and together:
            page.flow(visit_words(visit, bench.zone, bench.at), indent=2, joint=" ")
        for hand in hands[: _MOST_HANDS - told]:
            words = [sanitise(hand.cell), sanitise(hand.what)]
            if hand.at is not None:
                words.insert(0, moment(hand.at, bench.zone, bench.at))
            if hand.attended_at is not None and not together:
                words.append(attended_words(hand.attended_at, bench.zone, bench.at))
            page.flow(words, indent=4 if together else 2)
        told += len(hands)
    if (more := len(bench.hands) - _MOST_HANDS) > 0:
        page.flow((f"and {more} more",), indent=2)


def _live_words(live: Live, now: float, manner: Manner) -> list[str]:
    named = (
        ("cell", live.cell_pressure_kPa),
        ("back", live.back_pressure_kPa),
        ("pore", live.pore_pressure_kPa),
        ("σ′3", live.effective_stress_kPa),
    )
    words = [f"{name} {pressure(value, manner)}" for name, value in named if value is not None]
    how_old = age(now - live.at)
    words.append(how_old if how_old.endswith("ahead") else f"{how_old} ago")
    return words


def _quantity_words(cell: Cell, manner: Manner) -> list[str]:
    found = cell.quantities
    words = []
    if found.B is not None:
        words.append(f"B {b_value(found.B, manner)}")
    if found.U is not None:
        words.append(f"U {percent(found.U, manner)}")
    if found.axial_strain is not None:
        words.append(f"ε₁ {percent(found.axial_strain, manner, digits=2)}")
    if found.volumetric_strain is not None:
        words.append(f"εᵥ {percent(found.volumetric_strain, manner, digits=2)}")
    if found.deviator_kPa is not None:
        words.append(f"deviator {pressure(found.deviator_kPa, manner)}")
    return words


def _shared_blind(cells: Sequence[Cell]) -> list[Blind]:
    told = [cell for cell in cells if cell.blind]
    if len(told) < 2:
        return []
    return [one for one in told[0].blind if all(one in cell.blind for cell in told)]


class _Page:
    """Lines of a given width; breaks fall between the parts of a line where they can."""

    def __init__(self, manner: Manner, width: int) -> None:
        self.manner = manner
        self.lines: list[str] = []
        self._width = width

    def blank(self) -> None:
        self.lines.append("")

    def problems(self, problems: Iterable[Problem], indent: int) -> None:
        for problem in problems:
            mark = _MARKS[problem.severity]
            self.flow((f"{mark} {problem_words(problem, self.manner)}",), indent, hang=2)

    def head(self, found: State, parts: Sequence[str]) -> None:
        self._styled(parts, 0, _COLOURS.get(found.style), faint=found.style == "faint")

    def alarm(self, parts: Sequence[str], indent: int, alarm: Alarm) -> None:
        self._styled(parts, indent, {"urgent": "red", "warning": "yellow"}.get(alarm.priority))

    def _styled(
        self, parts: Sequence[str], indent: int, colour: str | None, *, faint: bool = False
    ) -> None:
        first = len(self.lines)
        self.flow(parts, indent)
        if self.manner.colour:
            self.lines[first] = click.style(self.lines[first], fg=colour, bold=not faint, dim=faint)

    def flow(
        self, parts: Sequence[str], indent: int = 0, hang: int = 2, joint: str = " · "
    ) -> None:
        """Put parts beside each other, and a part on the next line when it has no room."""
        joint = plain(joint, self.manner)
        line = " " * indent
        empty = True
        for part in (plain(part, self.manner) for part in parts):
            if not empty and columns(line) + len(joint) + columns(part) <= self._width:
                line += joint + part
                continue
            if not empty:
                self.lines.append(line)
                line = " " * (indent + hang)
            *full, line = wrapped(line + part, self._width, indent + hang)
            self.lines.extend(full)
            empty = False
        self.lines.append(line)


def columns(text: str) -> int:
    """How many columns of a terminal a text takes.

    Example:
        >>> columns("土 soil")
        7
    """
    return sum(2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text)


def wrapped(line: str, width: int, hang: int) -> list[str]:
    """A line broken between words, and within a word only if it alone is too long.

    Args:
        line: may begin with blanks, which stay.
        hang: blanks before each further line.
    """
    if columns(line) <= width:
        return [line]
    lines: list[str] = []
    begun = line[: len(line) - len(line.lstrip())]
    empty = True
    for word in line.split():
        if not empty and columns(begun) + 1 + columns(word) > width:
            lines.append(begun)
            begun, empty = " " * hang, True
        begun += word if empty else f" {word}"
        empty = False
        while columns(begun) > width:
            cut = _fitting(begun, width)
            lines.append(begun[:cut])
            begun = " " * hang + begun[cut:]
    return [*lines, begun]


def _fitting(text: str, width: int) -> int:
    """How many signs of a text fit."""
    taken = 0
    for number, sign in enumerate(text):
        taken += columns(sign)
        if taken > width:
            return number
    return len(text)
