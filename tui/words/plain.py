"""How text is written: the manner, text from outside made harmless, ASCII spellings."""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

SAFETY = "Porewatch observes and advises. It moves no valve and is no safety device."
NOTHING = "–"
LOOKING = "Porewatch is looking at the bench"
"""Before the first look."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How things are to be written."""

    units: Literal["SI", "US"] = "SI"
    ascii: bool = False
    """Nothing beyond ASCII leaves this module's functions."""
    colour: bool = True


PLAIN = Manner()


_ESCAPES = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[\]PX^_].*?(?:\x1b\\|\x07|$)|\x1b[@-Z\\-_]|\x9b[0-?]*[ -/]*[@-~]"
)
_PLAIN_SPELLINGS = {
    "–": "-", "—": "-", "−": "-", "…": "...", "·": "-", "′": "'", "×": "x", "→": "->", "←": "<-",
    "≥": ">=", "≤": "<=", "°": "", "³": "3", "²": "2", "√": "root ", "½": "1/2", "±": "+/-",
    "σ": "s", "ε": "e", "φ": "phi", "Δ": "d", "τ": "t", "μ": "u", "µ": "u",
    "γ": "gamma_",
    "₀": "0", "₁": "1", "₂": "2", "₃": "3", "ₐ": "a", "ᵥ": "v", "▸": ">", "●": "*", "○": "o",
    "✕": "X", "△": "!", "◌": ".", "◦": ":", "■": "#", "□": "_", "‖": "=", "▪": "|", "◆": "+",
    "↑": "^", "↓": "v", "▲": "!!", "▫": "-", "‹": "<", "›": ">",
}  # fmt: skip


@lru_cache(maxsize=4096)  # a screen says the same few names and words again and again
def sanitise(text: str, longest: int = 500) -> str:
    """Text from outside without escapes, control or invisible characters, on one line.

    Square brackets stay: they belong to column names. Whoever draws must not read markup.

    Example:
        >>> sanitise("Pc\\x1b[31m [kPa]\\n\\u202eabc")
        'Pc [kPa] abc'
    """
    text = unicodedata.normalize("NFC", _ESCAPES.sub("", text[: 4 * longest]))
    kept = []
    for sign in text:
        kind = unicodedata.category(sign)
        if kind in ("Zs", "Zl", "Zp") or sign in "\t\r\n\v\f":
            kept.append(" ")
        elif kind[0] != "C" and kind not in ("Mn", "Me"):
            kept.append(sign)
    clean = " ".join("".join(kept).split())
    return clean if len(clean) <= longest else clean[: longest - 1] + "…"


def plain(text: str, manner: Manner) -> str:
    """The text itself, or its ASCII spelling if the manner wants that.

    Example:
        >>> plain("σ′ ≥ 20 kPa · 24 °C", Manner(ascii=True))
        "s' >= 20 kPa - 24 C"
    """
    if not manner.ascii or text.isascii():
        return text
    spelt = "".join(_PLAIN_SPELLINGS.get(sign, sign) for sign in text)
    if spelt.isascii():
        return spelt
    bare = "".join(s for s in unicodedata.normalize("NFKD", spelt) if not unicodedata.combining(s))
    return bare.encode("ascii", "replace").decode()
