"""A printed page of results: lines, tables, numbers with their uncertainty."""

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from tui.commands.arguments import page_width
from tui.words import NOTHING, Manner, measured, plain, result_unit, sanitise

SIGNED = "A draft: no number here replaces the judgement of the engineer who signs."


class Page:
    """A console that writes to standard output in the user's manner."""

    def __init__(self, manner: Manner, uncertainty: Mapping[str, float] | None = None) -> None:
        self.manner = manner
        self._known = uncertainty or {}
        self._console = Console(
            width=max(page_width(), 40),
            no_color=not manner.colour,
            force_terminal=manner.colour,
            highlight=False,
            legacy_windows=False,
        )

    def line(self, words: str, style: str = "", indent: int = 0) -> None:
        """One line, wrapped; nothing in it is markup."""
        text = Text(plain(sanitise(words), self.manner), style=style)
        self._console.print(Padding(text, (0, 0, 0, indent), expand=False))

    def blank(self) -> None:
        """A line with nothing on it."""
        self._console.print()

    def head(self, words: str) -> None:
        """The title of a part."""
        self.blank()
        self.line(words, "bold")

    @property
    def nothing(self) -> str:
        """What stands for a number that could not be told."""
        return plain(NOTHING, self.manner)

    def value(self, name: str, value: float | None, unit: str, *, bare: bool = False) -> str:
        """A number of the reduction by its dotted name, with its uncertainty; ratios as % too."""
        spread = self._known.get(name)
        if unit == "%":
            value = None if value is None else 100.0 * value
            spread = None if spread is None else 100.0 * spread
        return measured(value, spread, unit, self.manner, bare=bare)

    def label(self, words: str, unit: str) -> str:
        """A row's name with the unit of its numbers."""
        return f"{words} [{result_unit(unit, self.manner)}]" if unit else words

    def rows(self, rows: Iterable[Sequence[str]], heads: Sequence[str] = ()) -> None:
        """A table without lines; row under row where the page is too narrow for it."""
        listed = [[plain(sanitise(one), self.manner) for one in row] for row in rows]
        if not listed:
            return
        table = _table(listed, [plain(one, self.manner) for one in heads])
        if heads and self._least_width(table) > self._console.width:
            for name, *values in listed:
                self.line(name, indent=2)
                named = list(zip(heads[1:], values, strict=True))
                self._console.print(Padding(_table(named, ()), (0, 0, 0, 2), expand=False))
            return
        self._console.print(table)

    def _least_width(self, table: Table) -> int:
        """Columns that a table needs so that no word of it is cut."""
        room = self._console.options.update(max_width=1000)
        return Measurement.get(self._console, room, table).minimum


def _table(rows: Sequence[Sequence[str]], heads: Sequence[str]) -> Table:
    table = Table(box=None, show_header=bool(heads), header_style="dim", pad_edge=False)
    table.add_column("")
    for number in range(len(rows[0])):
        head = Text(heads[number] if heads else "")
        table.add_column(head, justify="left" if number == 0 else "right")
    for row in rows:
        table.add_row("", *(Text(one) for one in row))
    return table
