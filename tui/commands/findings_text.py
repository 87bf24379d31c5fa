"""What `check` found, as a list for a person: the bench, then cell by cell."""

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

import click

from tui.commands.understood_text import understood_lines
from tui.settings.problems import Problem
from tui.words import Manner, place_words, plain, sanitise
from tui.words.printed import NARROWEST, wrapped

if TYPE_CHECKING:
    from tui.commands.findings import CellFindings, Findings
    from tui.feed.rows import UnusedRow

_MARKS = {"error": "✕", "warning": "△", "note": "·"}
_COLOURS = {"error": "red", "warning": "yellow", "note": None}
_MOST_LINES = 8
"""Lines of a file that are named before the rest is counted; --json has them all."""


def findings_text(findings: "Findings", manner: Manner, width: int) -> list[str]:
    """The lines of the page."""
    page = _Page(manner, max(width, NARROWEST))
    page.line(f"bench {sanitise(findings.folder)}", 0, bold=True)
    if findings.at is not None:
        as_of = findings.at.isoformat(sep=" ", timespec="minutes")
        page.line(f"readings as of {as_of}; settings, disk and routes as now", 2)
    for problem in findings.problems:
        page.problem(problem)
    if not findings.problems:
        page.line("nothing to mend in bench.toml, folders, disk, journal and routes", 2)
    for cell in findings.cells:
        page.blank()
        _cell(page, cell)
    page.blank()
    page.line(_summary(findings), 0, bold=True)
    return page.lines


def _cell(page: "_Page", cell: "CellFindings") -> None:
    name = sanitise(cell.cell)
    folder = sanitise(cell.folder)
    page.line(name if name == folder else f"{name} ({folder})", 0, bold=True)
    for problem in cell.problems:
        page.problem(problem)
    if not cell.problems:
        page.line("settings and plan: nothing to mend", 2)
    for indent, words in understood_lines(cell.understood):
        page.line(words, 2 + indent)
    if cell.rows or cell.unused:
        count = len(cell.unused)
        page.line(f"{cell.rows} rows used; {count} row{_s(count)} or field{_s(count)} not used", 2)
    for words in _unused(cell.unused):
        page.line(words, 4)


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _unused(rows: tuple["UnusedRow", ...]) -> Iterator[str]:
    """One line a file, column and reason, with the lines of the file."""

    def kind(row: "UnusedRow") -> tuple[str, str, str]:
        return (row.file, row.field or "", row.reason)

    for (file, field, reason), group in groupby(sorted(rows, key=kind), key=kind):
        numbers = [row.line for row in group]
        named = ", ".join(str(one) for one in numbers[:_MOST_LINES])
        more = len(numbers) - _MOST_LINES
        where = f"{sanitise(file)} line{_s(len(numbers))} {named}"
        if more > 0:
            where += f" and {more} more"
        column = f", column {sanitise(field)}" if field else ""
        yield f"{where}{column}: {sanitise(reason)}"


def _summary(findings: "Findings") -> str:
    counts = {"error": 0, "warning": 0, "note": 0}
    for problem in findings.all_problems:
        counts[problem.severity] += 1
    words = [f"{count} {what}{_s(count)}" for what, count in counts.items() if count]
    return ", ".join(words) if words else "nothing to mend"


class _Page:
    """Lines of a width; the only place of this page that knows colours."""

    def __init__(self, manner: Manner, width: int) -> None:
        self.lines: list[str] = []
        self._manner = manner
        self._width = width

    def blank(self) -> None:
        self.lines.append("")

    def line(
        self, text: str, indent: int, *, bold: bool = False, colour: str | None = None
    ) -> None:
        for line in wrapped(" " * indent + plain(text, self._manner), self._width, indent + 2):
            styled = self._manner.colour and (bold or colour)
            self.lines.append(click.style(line, fg=colour, bold=bold) if styled else line)

    def problem(self, problem: Problem) -> None:
        where = place_words(problem)
        what = sanitise(problem.what)
        mark = _MARKS[problem.severity]
        self.line(
            f"{mark} {where}: {what}" if where else f"{mark} {what}",
            2,
            colour=_COLOURS[problem.severity],
        )
        if problem.remedy:
            self.line(f"→ {sanitise(problem.remedy)}", 4)
