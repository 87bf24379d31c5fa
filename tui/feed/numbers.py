"""One column of text fields as numbers, with a reason for every field that is none."""

import math
import re
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tui.feed.plain_text import plain
from tui.feed.rows import Column

Fault = tuple[int, str]
"""(index, reason)."""

CUT = "\0cut"
"""Stands for the last field of a row that ends early: its digits may be missing."""
MISSING = "\0missing"
"""Stands for the fields that a row that ends early does not have."""

_PLACEHOLDERS = re.compile(
    r"[-+]?\s*(?:nan|inf(?:inity)?|n\.?/?a\.?|#n/?a|#\S*[!?]|null|none|over(?:flow|range|load)?|ovr|ol|"
    r"o\.l\.?|under(?:flow|range)?|err(?:or)?|fault|open|bad|invalid|[-*.?]+)\s*$",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?$")


def looks_numeric(text: str) -> bool:
    """Whether a field could stand in a column of numbers: a number, or what loggers put there."""
    field = text.strip()
    return _NUMBER.match(field) is not None or _PLACEHOLDERS.match(field) is not None


class NumberColumn:
    """A column's decimal mark, learnt from the first field that has one, and its numbers."""

    def __init__(self, decimal: Literal[".", ","] | None) -> None:
        self.decimal: Literal[".", ","] | None = decimal
        """None until a field has shown it."""

    def read(self, texts: list[str]) -> tuple[Column, list[Fault]]:
        """Fields → (n,) numbers, NaN where there is none, and why."""
        (found,) = read_columns([self], [texts])
        return found

    def read_one_by_one(self, texts: list[str]) -> tuple[Column, list[Fault]]:
        """What `read` gives, also for fields that are no plain numbers."""
        values = np.full(len(texts), math.nan)
        faults: list[Fault] = []
        for index, text in enumerate(texts):
            value, reason = self._one(text.strip())
            values[index] = value
            if reason is not None:
                faults.append((index, reason))
        return values, faults

    def _one(self, text: str) -> tuple[float, str | None]:
        if not text:
            return math.nan, "empty"
        if text == MISSING:
            return math.nan, "missing: the row ends early"
        if text == CUT:
            return math.nan, "perhaps cut: the row ends early"
        if "\0" in text:
            return math.nan, "NUL bytes"
        text = text.replace("−", "-")
        if _NUMBER.match(text) is None:
            if _PLACEHOLDERS.match(text):
                return math.nan, plain(text)
            return math.nan, f'not a number: "{plain(text, 40)}"'
        mark = "," if "," in text else "." if "." in text else None
        if mark is not None and self.decimal is None:
            self.decimal = "," if mark == "," else "."
        if mark is not None and mark != self.decimal:
            return math.nan, f'decimal "{mark}" among "{self.decimal}": "{plain(text, 40)}"'
        value = float(text.replace(",", "."))
        return (value, None) if math.isfinite(value) else (math.nan, "too large")


def read_columns(
    columns: Sequence[NumberColumn], texts: Sequence[list[str]]
) -> list[tuple[Column, list[Fault]]]:
    """What each column makes of its fields, see `NumberColumn.read`.

    Args:
        columns: of the same rows.
        texts: the fields of each of them.
    """
    # Of a single row a call a column would cost more than its numbers.
    numbers = _all_plain(columns, texts)
    if numbers is not None:
        return [(column, []) for column in numbers]
    if len(columns) == 1:
        return [columns[0].read_one_by_one(texts[0])]
    return [column.read(fields) for column, fields in zip(columns, texts, strict=True)]


def _all_plain(
    columns: Sequence[NumberColumn], texts: Sequence[list[str]]
) -> NDArray[np.float64] | None:
    """(columns, n); None, and nothing has changed, if not every field is a plain number."""
    plain_texts: list[str] = []
    pointed: list[NumberColumn] = []
    for column, fields in zip(columns, texts, strict=True):
        joined = "\n".join(fields)
        point = "." in joined
        if "_" in joined or (point and column.decimal == ","):
            return None
        if column.decimal == ",":
            plain_texts += joined.replace(",", ".").split("\n")
            continue
        plain_texts += fields
        if point and column.decimal is None:
            pointed.append(column)
    count = sum(map(len, texts))
    try:
        values = np.fromiter(map(float, plain_texts), float, count)
    except ValueError:
        return None
    if len(plain_texts) != count or not np.isfinite(values).all():
        return None
    for column in pointed:
        column.decimal = "."
    return values.reshape(len(columns), count // max(1, len(columns)))
