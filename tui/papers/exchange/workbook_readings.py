"""Every reading of every test, with what it means, on one sheet of a workbook."""

from collections.abc import Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING, Any

import numpy as np

from tui.papers.exchange.quantities import words_and_unit
from tui.papers.exchange.readings import readings_columns
from tui.papers.exchange.workbook_sheets import LAST_ROW, Sheets
from tui.papers.exchange.workbook_tables import Column, Scale, Table, time_column
from tui.papers.subject import Subject

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

SHEET = "Readings"


def write_readings(
    sheets: Sheets, subjects: Sequence[Subject], scale: Scale, zone: tzinfo, last: int = LAST_ROW
) -> None:
    """One test after the other; a sheet that is full goes on in the next one.

    Args:
        sheets: of the workbook.
        subjects: tests that were reduced.
        scale: for the units.
        zone: of the times.
        last: rows that a sheet takes below its header.
    """
    of_tests: list[tuple[str, dict[str, Any]]] = []
    for one in subjects:
        assert one.found is not None
        of_tests.append((one.name, readings_columns(one.found, zone)))
    names = list(dict.fromkeys(name for _, columns in of_tests for name in columns))
    heads = (Column("test"), *(_column(name, scale, zone) for name in names))
    sheet: Worksheet | None = None
    row, count = last, 0
    for test, columns in of_tests:
        shown = [_shown(name, columns.get(name), scale) for name in names]
        for reading in range(len(columns["time"])):
            if sheet is None or row == last:
                count += 1
                sheet = _begun(sheets, SHEET if count == 1 else f"{SHEET} {count}", heads)
                row = 0
            row += 1
            sheets.cell(sheet, row, 0, test, "")
            for place, column in enumerate(shown, 1):
                value = None if column is None else column[reading]
                if value == value:  # noqa: PLR0124 (NaN is no reading)
                    sheets.cell(sheet, row, place, value, heads[place].digits)


def _begun(sheets: Sheets, name: str, heads: tuple[Column, ...]) -> "Worksheet":
    sheet = sheets.book.add_worksheet(name)
    sheets.widths(sheet, [Table(heads, ())])
    sheet.freeze_panes(1, 2)
    sheets.head(sheet, heads, 0)
    return sheet


def _column(name: str, scale: Scale, zone: tzinfo) -> Column:
    if name == "time":
        return time_column(name, zone)
    return Column(name) if name in ("phase", "step") else scale.column(*words_and_unit(name))


def _shown(name: str, column: Any, scale: Scale) -> Any:
    """A column in the units of the workbook, as plain values."""
    if not isinstance(column, np.ndarray):
        return column
    return scale.of(column, words_and_unit(name)[1]).tolist()
