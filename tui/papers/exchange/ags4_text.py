"""The AGS4 format: groups of rows to the bytes of a file. It knows nothing of soil.

Lines end with CR LF, every field stands in quotes, quotes within are doubled, all is ASCII (rules
1 to 6). Numbers are written as the type of their heading says (rule 8); nothing known is an empty
field (rule 12).
"""

import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from anyascii import anyascii

from tui.papers.exchange.ags4_dictionary import GROUPS, Heading
from tui.papers.exchange.guarded import guarded
from tui.words import sanitise


class Sign(str):
    """One of the format's own signs: written as it stands."""

    __slots__ = ()


Value = str | float | date | None
Row = Mapping[str, Value]

DELIMITER, CONCATENATOR = Sign("|"), Sign("+")
"""Of record links and of codes (rule 11); no text of ours may hold the one, no code the other."""
LONGEST = 4000
"""Of a text. [characters]"""

_SPELLINGS = str.maketrans(
    {"′": "'", "″": "''", "√": "root ", "·": "-", "×": "x", "−": "-", "±": "+/-", DELIMITER: "/"}
)
_LONE_GREEK = re.compile(r"(?<![\u0370-\u03ff])[\u0391-\u03c9](?![\u0370-\u03ff])(?=(\w?))")


def ascii_text(text: str) -> str:
    """Text in ASCII that can still be read: signs of the trade in words, letters as they sound.

    Example:
        >>> ascii_text("σ′3 ≥ 20 kPa, φ′ = 31°, Δu"), ascii_text("Skarnsø\\n“Нева”")
        ("sigma'3 >= 20 kPa, phi' = 31deg, delta u", 'Skarnso "Neva"')
    """
    clean = sanitise(text, LONGEST).translate(_SPELLINGS)
    return " ".join(anyascii(_LONE_GREEK.sub(_greek, clean)).translate(_SPELLINGS).split())


def _greek(found: re.Match[str]) -> str:
    """A letter that stands alone is a symbol: its name says what it is."""
    name = unicodedata.name(found[0], "").split(" WITH ")[0].split()[-1:]
    word = "".join(name).lower()
    return f"{word} " if found[1].isalpha() else word


def written_value(value: Value, kind: str) -> str:
    """One field without its quotes.

    Args:
        value: a number goes as the type says; a text never runs as a formula.
        kind: the type of the heading: 2DP, 2SF, X, …

    Example:
        >>> written_value(0.0996, "2SF"), written_value(1234.0, "2SF"), written_value(-0.2, "0DP")
        ('0.10', '1200', '0')
        >>> written_value(None, "1DP"), written_value("=A1", "X")
        ('', "'=A1")
    """
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%dT%H:%M}"
    if isinstance(value, date):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, Sign):
        return value
    if isinstance(value, str):
        return guarded(ascii_text(value))
    if not math.isfinite(value):
        return ""
    if kind.endswith("DP"):
        return _no_minus_zero(f"{value:.{int(kind[:-2])}f}")
    if kind.endswith("SF"):
        return _significant(value, int(kind[:-2]))
    return f"{value:.4g}"


def _significant(value: float, digits: int) -> str:
    rounded = float(f"{value:.{digits - 1}e}")
    if rounded == 0.0:
        return "0"
    return f"{rounded:.{max(digits - 1 - math.floor(math.log10(abs(rounded))), 0)}f}"


def _no_minus_zero(text: str) -> str:
    return text.lstrip("-") if float(text) == 0.0 else text


def ags4_bytes(rows_of: Mapping[str, Sequence[Row]]) -> bytes:
    """A whole file.

    Args:
        rows_of: by group, in any order; a group without rows is left out. A heading that a row
            does not name is empty.

    Raises:
        KeyError: a row names a heading that its group has not.
    """
    blocks = [_block(name, GROUPS[name], rows_of[name]) for name in GROUPS if rows_of.get(name)]
    return "\r\n".join(blocks).encode("ascii")


def _block(name: str, headings: Sequence[Heading], rows: Sequence[Row]) -> str:
    known = {heading.name for heading in headings}
    for row in rows:
        if unknown := row.keys() - known:
            raise KeyError(f"{name} has no {', '.join(sorted(unknown))}")
    lines = [
        ("GROUP", name),
        ("HEADING", *(heading.name for heading in headings)),
        ("UNIT", *(heading.unit for heading in headings)),
        ("TYPE", *(heading.type for heading in headings)),
    ]
    lines += [
        ("DATA", *(written_value(row.get(heading.name), heading.type) for heading in headings))
        for row in rows
    ]
    return "".join(f"{','.join(map(_quoted, line))}\r\n" for line in lines)


def _quoted(field: str) -> str:
    return '"' + field.replace('"', '""') + '"'
