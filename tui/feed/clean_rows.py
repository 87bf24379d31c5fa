"""A block of rows that are all as they should be, read by a compiled reader.

Nothing is decided here: a block in which anything is out of the ordinary is left, as a whole, to
the careful reader, which gives the same for a clean one.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tui.feed.lines import LONGEST_LINE
from tui.feed.rows import Column

_AT_ONCE_BYTES = 1024 * 1024
_SEPARATORS = frozenset(",;\t|")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be read of each row, by the index of its column."""

    separator: str
    decimal: str
    floats: frozenset[int]
    """Numbers with the decimal mark."""
    integers: frozenset[int]
    """Numbers that have shown no decimal mark yet."""
    texts: frozenset[int]
    """Written without a gap; none is empty."""
    words: frozenset[int]
    """Texts of which there are few."""
    width: int
    """Columns of the header."""


@dataclass(frozen=True, slots=True, eq=False)
class CleanRows:
    """The columns of a block."""

    count: int
    numbers: dict[int, Column]
    texts: dict[int, bytes]
    words: dict[int, list[tuple[list[str], list[int]]]]
    """By stretch: the words that come in it, and which of them each row has."""


def read_clean(block: bytes, wanted: Wanted) -> CleanRows | None:
    """Whole lines of ASCII → their columns; None if they are not all plain rows.

    Args:
        block: ends with a line end.
        wanted: columns and how they are written.
    """
    if not _may_be_clean(block, wanted):
        return None
    # Only a backlog of rows is worth the tens of megabytes that this costs.
    import pyarrow as pa  # noqa: PLC0415
    from pyarrow import csv  # noqa: PLC0415

    first = block[: block.index(b"\n")].decode("ascii").strip(" \r\0")
    width = first.count(wanted.separator) + 1
    if width < wanted.width:
        return None
    beyond = range(wanted.width, width)
    types = {
        **{str(index): pa.float64() for index in wanted.floats},
        **{str(index): pa.int64() for index in wanted.integers},
        **{str(index): pa.string() for index in (*wanted.texts, *beyond)},
        **{str(index): pa.dictionary(pa.int32(), pa.string()) for index in wanted.words},
    }
    try:
        table = csv.read_csv(
            pa.py_buffer(block),
            read_options=csv.ReadOptions(
                column_names=[str(index) for index in range(width)], block_size=_AT_ONCE_BYTES
            ),
            parse_options=csv.ParseOptions(
                delimiter=wanted.separator, quote_char=False, ignore_empty_lines=False
            ),
            convert_options=csv.ConvertOptions(
                column_types=types,
                include_columns=list(types),
                null_values=[],
                strings_can_be_null=False,
                decimal_point=wanted.decimal,
                auto_dict_encode=False,
            ),
        )
    except pa.ArrowInvalid:
        return None
    if any(_letters(table[str(index)]).strip() for index in beyond):
        return None
    numbers = {
        index: table[str(index)].to_numpy().astype(float, copy=False)
        for index in (*wanted.floats, *wanted.integers)
    }
    if not all(np.isfinite(column).all() for column in numbers.values()):
        return None
    return CleanRows(
        table.num_rows,
        numbers,
        {index: _letters(table[str(index)]) for index in wanted.texts},
        {index: _words(table[str(index)]) for index in wanted.words},
    )


def _may_be_clean(block: bytes, wanted: Wanted) -> bool:
    if wanted.separator not in _SEPARATORS or not wanted.floats | wanted.integers:
        return False
    if b'"' in block or b"\0" in block or not block.isascii():
        return False
    # A line may end with both marks; one that stands alone would make two lines of one.
    if b"\r" in block and block.count(b"\r\n") != block.count(b"\r"):
        return False
    # Where every stretch holds a line end no line is as long as two of them.
    half = LONGEST_LINE // 8
    return all(block.find(b"\n", at, at + half) >= 0 for at in range(0, len(block) - half, half))


def _words(column: Any) -> list[tuple[list[str], list[int]]]:
    return [
        (chunk.dictionary.to_pylist(), chunk.indices.to_numpy().tolist()) for chunk in column.chunks
    ]


def _letters(column: Any) -> bytes:
    """All texts of a column one behind the other."""
    return b"".join(_chunk_letters(chunk) for chunk in column.chunks)


def _chunk_letters(chunk: Any) -> memoryview:
    _, offsets, letters = chunk.buffers()
    if letters is None:
        return memoryview(b"")
    ends = np.frombuffer(offsets, np.int32)[chunk.offset : chunk.offset + len(chunk) + 1]
    return memoryview(letters)[ends[0] : ends[-1]]
