"""How a log is laid out: separator, the header among the banner lines, the units line under it.

Decided by the first line that reads as a row under a header: only lines up to that one count, so
that the same file is understood the same way however many of its bytes came at a time.
"""

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reduce.errors import UnitError
from reduce.units import unit
from tui.feed.lines import BLANKS
from tui.feed.numbers import looks_numeric
from tui.feed.plain_text import plain, same_name
from tui.feed.time_columns import find_columns
from tui.settings.cell_toml import Log

SEARCHED = 500
"""Lines within which the first row must come."""

_WIDE = "  "
_JOINED = " T"
_SEPARATORS = (";", "\t", ",", "|", _WIDE, " ", _JOINED)
_WORDS = {
    "tab": "\t",
    "\\t": "\t",
    "comma": ",",
    "semicolon": ";",
    "pipe": "|",
    "space": " ",
    "spaces": " ",
}
_NAMES = {
    "\t": "tab",
    ",": "comma",
    ";": "semicolon",
    " ": "spaces",
    _WIDE: "two or more spaces",
    _JOINED: "spaces (date and time in one column)",
}
_WIDE_BLANKS = re.compile(r"\s{2,}|\t")
_DATE_BLANK_TIME = re.compile(
    r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})\s+(\d{1,2}:\d{2}\S*)(?:\s+([AaPp]\.?[Mm]\.?)(?!\S))?"
)
_TIME_ALIKE = re.compile(r"\d{1,2}:\d{2}|\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")
_BLANKS_AND_TAB = BLANKS + "\t"
_BRACKETS = re.compile(r"[\[(]\s*([^\])]*?)\s*[\])]\s*$")

Score = Callable[[Sequence[str]], int]
Split = Callable[[str], list[str]]


@dataclass(frozen=True, slots=True)
class Dialect:
    """The layout of one file."""

    separator: str
    header_at: int
    """Index of the header among the lines, from 0."""
    header: tuple[str, ...]
    """Column names as the file writes them."""
    units: tuple[str, ...]
    """The units line under the header, one text a column; empty if there is none."""
    banner: tuple[str, ...]
    """Lines above the header."""
    no_rows: frozenset[str]
    """Header, units and banner lines: where they come again they are no rows either."""
    time_columns: tuple[int, ...]
    first_row: tuple[str, ...]
    """Fields of the line that decided."""

    @property
    def separator_name(self) -> str:
        """In words."""
        return _NAMES.get(self.separator, self.separator)

    def unit_of(self, index: int) -> str | None:
        """The unit that the file itself gives for a column."""
        texts = [self.units[index]] if index < len(self.units) else []
        if bracket := _BRACKETS.search(self.header[index]):
            texts.append(bracket[1])
        for text in texts:
            symbol = text.strip().strip("[]()").strip()
            if symbol and is_unit(symbol):
                return symbol
        return None


def is_unit(symbol: str) -> bool:
    """Whether a text is a unit symbol that is known."""
    try:
        unit(symbol)
    except UnitError:
        return False
    return True


def cut_line(line: str, separator: str | None) -> str:
    """A line without its end; a tab is an empty field where tabs separate."""
    return line.strip(BLANKS if separator == "\t" else _BLANKS_AND_TAB)


def splitter(separator: str) -> Split:
    """How one line becomes fields; blanks around a field stay."""

    def quoted(line: str) -> list[str]:
        delimiter = " " if separator in (_WIDE, _JOINED) else separator
        try:
            return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
        except csv.Error:
            return [line]

    if separator == _WIDE:
        return lambda line: quoted(line) if '"' in line else _WIDE_BLANKS.split(line)
    if separator == " ":
        return lambda line: quoted(line) if '"' in line else line.split()
    if separator == _JOINED:
        # Under one header name the blank within a moment does not separate.
        return lambda line: _DATE_BLANK_TIME.sub(_one_word, line).split()
    return lambda line: quoted(line) if '"' in line else line.split(separator)


def _one_word(match: re.Match[str]) -> str:
    return f"{match[1]}T{match[2]}{match[3] or ''}"


def trimmed(fields: Sequence[str]) -> list[str]:
    """Without the empty fields that a separator at the end of the line makes."""
    end = len(fields)
    while end and not fields[end - 1].strip():
        end -= 1
    return list(fields[:end])


def _is_row_like(fields: Sequence[str]) -> bool:
    filled = [field for field in fields if field.strip()]
    fitting = sum(looks_numeric(field) or bool(_TIME_ALIKE.search(field)) for field in filled)
    return bool(filled) and 2 * fitting >= len(filled)


def is_units_line(fields: Sequence[str]) -> bool:
    """Whether a line holds units and no numbers."""
    filled = [field.strip().strip("[]()").strip() for field in fields if field.strip(" -[]()")]
    if not filled or any(_TIME_ALIKE.search(field) or looks_numeric(field) for field in filled):
        return False
    return any(is_unit(field) for field in filled)


class _Table:
    """The lines under one separator."""

    def __init__(self, lines: Sequence[str], separator: str) -> None:
        split = splitter(separator)
        self.separator = separator
        self.lines = [cut_line(line, separator) for line in lines]
        self.fields = [split(line) if line.strip() else [] for line in self.lines]
        self.names = [trimmed(fields) for fields in self.fields]


def _fits(names: Sequence[str], fields: Sequence[str]) -> bool:
    return len(trimmed(fields)) <= len(names) <= len(fields)


def _header_of(table: _Table, row: int, score: Score, pinned: int | None) -> tuple[int, int] | None:
    """(index, score) of the header above a row."""
    fields = table.fields[row]
    if pinned is not None:
        at = pinned - 1
        if at >= row or not _fits(table.names[at], fields):
            return None
        return at, score(table.names[at]) + 1
    best: tuple[int, int] | None = None
    near = 0
    for at in range(row - 1, -1, -1):
        names = table.names[at]
        if not names:
            continue
        near += 1
        if not _fits(names, fields):
            continue
        found = score(names)
        if found and (best is None or found > best[1]):
            best = (at, found)
        if not found and best is None and near <= 4 and _names_only(names):
            best = (at, 0)
    return best


def _names_only(names: Sequence[str]) -> bool:
    return (
        len(names) >= 2
        and not is_units_line(names)
        and not any(looks_numeric(name) or _TIME_ALIKE.search(name) for name in names if name)
    )


def _candidate(
    table: _Table, row: int, log: Log, score: Score, *, needs_time: bool
) -> tuple[int, Dialect] | None:
    fields = [field.strip() for field in table.fields[row]]
    if len(fields) < 2 or not _is_row_like(fields):
        return None
    found = _header_of(table, row, score, log.header_row)
    if found is None:
        return None
    at, points = found
    header = tuple(name.strip() for name in table.names[at])
    columns = find_columns(header, fields, log.time)
    if columns is None and needs_time:
        return None
    # Without any wanted name only a row with a date may say that the line above is a header.
    if not points and not any(_TIME_ALIKE.search(field) for field in fields):
        return None
    under = at + 1
    while under < row and not table.lines[under].strip():
        under += 1
    has_units = under < row and is_units_line(table.fields[under])
    units = tuple(field.strip() for field in table.fields[under]) if has_units else ()
    banner = tuple(line for line in table.lines[:at] if line.strip())
    rest = (table.lines[under],) if has_units else ()
    dialect = Dialect(
        table.separator,
        at,
        header,
        units,
        banner,
        frozenset((table.lines[at], *rest, *banner)),
        columns or (),
        tuple(fields),
    )
    return points, dialect


def separators(pinned: str | None) -> tuple[str, ...]:
    """The separators that are tried."""
    if pinned is None:
        return _SEPARATORS
    known = _WORDS.get(pinned.casefold(), pinned if pinned.strip() or pinned == "\t" else " ")
    return (_WIDE, " ", _JOINED) if known == " " else (known,)


def find_dialect(
    lines: Sequence[str], log: Log, score: Score, *, needs_time: bool = True
) -> Dialect | None:
    """The layout that the first row shows; None while there is no row under a header.

    Args:
        lines: from the beginning of the file, whole ones.
        log: whatever it pins is not guessed.
        score: how many names of a line are wanted as columns.
        needs_time: accept only a row whose time can be read; without, to say what is there.
    """
    tables = [_Table(lines[:SEARCHED], separator) for separator in separators(log.separator)]
    for row in range(1, min(len(lines), SEARCHED)):
        best: tuple[tuple[int, int], Dialect] | None = None
        for table in tables:
            found = _candidate(table, row, log, score, needs_time=needs_time)
            if found is None:
                continue
            rank = (found[0], len(found[1].header))
            if best is None or rank > best[0]:
                best = (rank, found[1])
        if best is not None:
            return best[1]
    return None


def listed(names: Sequence[str], most: int = 20) -> str:
    """Column names for a message."""
    shown = [f'"{plain(name, 40)}"' for name in names[:most]]
    rest = f" and {len(names) - most} more" if len(names) > most else ""
    return (", ".join(shown) or "none") + rest


def bare_name(name: str) -> str:
    """A column's name without the unit in brackets behind it.

    Example:
        >>> bare_name("Pc [kPa]")
        'pc'
    """
    return same_name(_BRACKETS.sub("", name))
