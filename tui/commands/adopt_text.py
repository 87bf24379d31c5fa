"""What `adopt` understood and what it doubts, as lines for a person; nothing here is colour."""

from typing import TYPE_CHECKING

import numpy as np

from tui.feed.adopting.cell_text import settings_text
from tui.words import Manner, plain, sanitise
from tui.words.printed import NARROWEST, columns, wrapped

if TYPE_CHECKING:
    from tui.feed.adopting.proposals import Adoption, Proposal, SeenColumn

_UNIT, _RANGE, _CHANNEL = 5, 15, 20
"""Columns of the screen that the parts of a line take."""
_LONGEST_NAME = 24
_MOST_FILES = 3


def preview(adoption: "Adoption", manner: Manner, width: int) -> list[str]:
    """The page, from what was found to what is in doubt."""
    page = _Page(manner, max(width, NARROWEST))
    _head(page, adoption)
    page.blank()
    _table(page, adoption)
    page.blank()
    page.line("cell.toml would begin:", 0)
    for line in settings_text(adoption).splitlines():
        # The settings reader must get the very letters; the screen only harmless ones.
        page.line(f"| {line}" if line else "|", 0, hang=6)
    page.line("| and a skeleton of [test], [specimen], [plan], all comments", 0)
    page.blank()
    _open(page, adoption)
    return page.lines


def _head(page: "_Page", adoption: "Adoption") -> None:
    names = ", ".join(sanitise(name) for name in adoption.taken[:_MOST_FILES])
    more = len(adoption.taken) - _MOST_FILES
    page.line(f"logs   {names}" + (f" and {more} more" if more > 0 else ""), 0, hang=7)
    page.line(f"layout {adoption.layout}", 0, hang=7)
    named = (f'"{sanitise(name)}"' if name else "(no name)" for name in adoption.time.columns)
    time = " and ".join(named)
    page.line(f"time   {time}: {'; '.join(adoption.time.why)}", 0, hang=7)
    if adoption.live is not None:
        page.line(f"live   {sanitise(adoption.live)}: its one row is rewritten", 0, hang=7)


def _table(page: "_Page", adoption: "Adoption") -> None:
    longest = max((columns(sanitise(one.column.name)) for one in adoption.columns), default=6)
    name = max(6, min(longest, _LONGEST_NAME, page.width - _UNIT - _RANGE - _CHANNEL - 7))
    page.row(" ", ("column", name), ("unit", _UNIT), ("values", _RANGE), "channel")
    for one in adoption.columns:
        mark = "?" if one.doubts else " " if one.channel else "-"
        channel = f"→ {one.channel}" + (", sign -1" if one.sign < 0 else "")
        page.row(
            mark,
            (sanitise(one.column.name), name),
            (_unit(one), _UNIT),
            (_values(one.column), _RANGE),
            channel if one.channel else "not read",
        )
        if one.why:
            page.line("; ".join(map(sanitise, one.why)), 4, hang=4)
    if adoption.phases:
        told = ", ".join(f"{sanitise(w)} = {phase}" for w, phase in adoption.phases.items())
        page.line(f"phase words: {told}", 4, hang=4)


def _unit(one: "Proposal") -> str:
    return one.column.unit or ("?" if one.unit else "")


def _values(column: "SeenColumn") -> str:
    if not column.numeric:
        return " ".join(sanitise(word) for word in column.words[:3])
    low, high = float(np.nanmin(column.values)), float(np.nanmax(column.values))
    return f"{low:.4g} … {high:.4g}"


def _open(page: "_Page", adoption: "Adoption") -> None:
    for note in adoption.notes:
        page.line(f"· {sanitise(note)}", 0, hang=2)
    for doubt in adoption.doubts:
        page.line(f"? {doubt.key}: {sanitise(doubt.what)}", 0, hang=2)
        page.line(f"→ {sanitise(doubt.remedy)}", 2, hang=4)
    channels = [one for one in adoption.columns if one.channel is not None]
    sure = sum(one.sure for one in channels)
    doubts = len(adoption.doubts)
    left = len(adoption.columns) - len(channels)
    page.line(
        f"{sure} of {len(channels)} channels sure, "
        f"{doubts or 'no'} doubt{'' if doubts == 1 else 's'}, "
        f"{left} column{'' if left == 1 else 's'} not read",
        0,
    )


class _Page:
    """Lines of a width, in a manner."""

    def __init__(self, manner: Manner, width: int) -> None:
        self.lines: list[str] = []
        self.width = width
        self._manner = manner

    def blank(self) -> None:
        self.lines.append("")

    def line(self, text: str, indent: int, hang: int = 0) -> None:
        self.lines += wrapped(" " * indent + plain(text, self._manner), self.width, hang)

    def row(self, mark: str, *cells: tuple[str, int] | str) -> None:
        text = mark
        for cell in cells:
            text += f" {cell}" if isinstance(cell, str) else f" {_fitted(*cell)}"
        self.line(text.rstrip(), 0, hang=4)


def _fitted(text: str, width: int) -> str:
    """Cut or filled to so many columns of the screen."""
    while columns(text) > width:
        text = text[:-2].rstrip("…") + "…"
    return text + " " * (width - columns(text))
