"""Tables onto sheets of a workbook, cell by cell: text as text, numbers with all their digits."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from tui.papers.exchange.workbook_tables import TIME_FORMAT, Cell, Column, Table
from tui.words import sanitise

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.worksheet import Worksheet

LAST_ROW = 1_048_575
"""Rows of a sheet below its header."""
LONGEST = 30_000
"""Of a text in a cell; a sheet takes a little more. [characters]"""
WIDEST = 60.0
"""Of a column that several tables share. [characters]"""


class _Unrounded(float):
    """A number that is written with all its digits: the writer of the file keeps sixteen."""

    def __format__(self, _spec: str) -> str:
        return repr(float(self))


class Sheets:
    """Writes sheets of one workbook, in the order in which they are asked for."""

    def __init__(self, book: "Workbook") -> None:
        self.book = book
        self._head = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1, "bg_color": "#EEF1F4"}
        )
        self._title = book.add_format({"bold": True, "font_size": 12})
        self._formats: dict[str, Any] = {}

    def tables(
        self, name: str, tables: Sequence[tuple[str, Table]], nothing: str
    ) -> "tuple[Worksheet, list[int]]":
        """A sheet with tables one below the other, the first from the very top.

        Args:
            name: of the sheet.
            tables: each with the title that stands above it where it is not the first.
            nothing: what is said instead, where no table has a row.

        Returns:
            The sheet, and for each table the row below its header (of one without rows, the row
            where it would have begun); the last is the first free row.
        """
        sheet = self.book.add_worksheet(name)
        full = [table for _, table in tables if table.rows]
        if not full:
            sheet.write_string(0, 0, nothing)
            return sheet, [*(2 for _ in tables), 2]
        self.widths(sheet, full)
        sheet.freeze_panes(1, 1)
        row, begins = 0, []
        for title, table in tables:
            if table.rows and row > 0:
                sheet.write_string(row, 0, title, self._title)
                row += 1
            begins.append(row + 1)
            if table.rows:
                self.head(sheet, table.columns, row)
                self.rows(sheet, table, row + 1)
                row += len(table.rows) + 2
        return sheet, [*begins, row]

    def widths(self, sheet: "Worksheet", tables: Sequence[Table]) -> None:
        """As wide as the widest table wants each column."""
        for place in range(max(len(table.columns) for table in tables)):
            here = [one.columns[place].width for one in tables if place < len(one.columns)]
            sheet.set_column(place, place, min(max(here), WIDEST) if len(tables) > 1 else here[0])

    def head(self, sheet: "Worksheet", columns: Sequence[Column], row: int) -> None:
        """The headers."""
        for place, column in enumerate(columns):
            sheet.write_string(row, place, text(column.header), self._head)

    def rows(self, sheet: "Worksheet", table: Table, row: int) -> None:
        """The rows below them."""
        for count, line in enumerate(table.rows):
            for place, (value, column) in enumerate(zip(line, table.columns, strict=True)):
                self.cell(sheet, row + count, place, value, column.digits)

    def cell(self, sheet: "Worksheet", row: int, place: int, value: Cell, digits: str) -> None:
        """One cell; what is not known stays blank."""
        if value is None:
            return
        if isinstance(value, bool):
            sheet.write_boolean(row, place, value)
        elif isinstance(value, str):
            sheet.write_string(row, place, text(value))
        elif isinstance(value, datetime):
            sheet.write_datetime(row, place, value.replace(tzinfo=None), self._format(TIME_FORMAT))
        else:
            sheet.write_number(row, place, _Unrounded(value), self._format(digits))

    def _format(self, digits: str) -> Any:
        if digits not in self._formats:
            self._formats[digits] = self.book.add_format({"num_format": digits})
        return self._formats[digits]


def text(words: str) -> str:
    """Text from outside as a cell takes it."""
    return sanitise(words, LONGEST)
