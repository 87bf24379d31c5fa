"""The picture as text for a terminal or a file: one block a cell, down to 40 columns."""

import unicodedata
from collections.abc import Iterable, Mapping, Sequence

import click

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import Bench, Blind, Cell
from tui.settings.problems import Problem
from tui.words.cells import State, cannot_judge_words, problem_words
from tui.words.plain import SAFETY, Manner, plain, sanitise
from tui.words.told import (
    Parts,
    alarm_told,
    bench_told,
    blind_in_all,
    blind_told,
    cell_head,
    cell_told,
    visits_told,
)

NARROWEST = 40
"""A page of a command is not made to fit less. [columns]"""
_LEAST = 24
"""Nor is one on a part of the screen made to fit less than this. [columns]"""

_COLOURS = {"good": "green", "warn": "yellow", "alert": "yellow", "bad": "red", "alarm": "red"}
_MARKS = {"error": "✕", "warning": "△", "note": "·"}
_MOST_HANDS = 6
"""That a look lists; a handover lists all."""

More = Mapping[str, Sequence[Parts]]
"""What else is told of a cell, by its folder ("": of the bench): the parts of each line."""


def print_bench(
    bench: Bench, manner: Manner, width: int, more: More | None = None, title: str = ""
) -> list[str]:
    """Everything that one look tells, as lines.

    Args:
        width: of the page; lines are no longer than this. [columns]
        more: told besides; then the hands come first, all of them.
        title: what page this is.
    """
    told = more or {}
    page = _Page(manner, max(width, _LEAST))
    if title:
        page.flow((title,))
    for parts in bench_told(bench):
        page.flow(parts)
    page.problems(bench.problems, indent=0)
    for alarm in bench.alarms:
        _print_alarm(page, alarm, "", bench, indent=0)
    for parts in told.get("", ()):
        page.flow(parts)
    if more is not None and bench.hands:
        page.blank()
        _print_hands(page, bench, len(bench.hands))
    shared = blind_in_all(bench.cells)
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
        _print_hands(page, bench, _MOST_HANDS)
    page.blank()
    for words in cannot_judge_words(shared):
        page.flow((f"in no cell can be judged {words}",))
    page.flow((SAFETY,))
    return page.lines


def _print_cell(page: "_Page", cell: Cell, bench: Bench, shared: Sequence[Blind]) -> None:
    found, facts = cell_head(cell, bench, page.manner)
    page.head(found, [f"{found.sign} {sanitise(cell.cell)} {found.word}", *facts])
    for alarm in cell.alarms:
        _print_alarm(page, alarm, cell.folder, bench, indent=2)
    for parts in cell_told(cell, bench, page.manner):
        page.flow(parts, indent=2)
    page.problems(cell.problems, indent=2)
    for parts in blind_told(cell, shared):
        page.flow(parts, indent=2)


def _print_alarm(page: "_Page", alarm: Alarm, folder: str, bench: Bench, indent: int) -> None:
    """One that stands in full, with what to do; one that is shelved or over on one line."""
    told = alarm_told(alarm, folder, bench, page.manner)
    parts = [told.priority, *told.what, told.state]
    if not alarm.counts:
        page.flow(parts, indent)
        return
    page.alarm([*parts, told.since], indent, alarm)
    for line in (*told.more, told.command):
        if line:
            page.flow((line,), indent + 2)


def _print_hands(page: "_Page", bench: Bench, most: int) -> None:
    page.flow(("hands are needed",))
    left = most
    for visit in visits_told(bench):
        if left <= 0:
            break
        if visit.words:
            page.flow(visit.words, indent=2, joint=" ")
        for hand in visit.hands[:left]:
            words = (hand.when, hand.cell, hand.what, hand.attended)
            page.flow([word for word in words if word], indent=4 if visit.words else 2)
        left -= len(visit.hands)
    if (more := len(bench.hands) - most) > 0:
        page.flow((f"and {more} more",), indent=2)


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
