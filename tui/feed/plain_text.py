"""Text from a log, made safe for a screen: nothing in it can steer a terminal."""

import re

from tui.settings.problems import clean

LONGEST = 120
"""Letters of a name or word that are kept."""

_ESCAPE = re.compile(
    r"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)?|[@-Z\\-_])|\x9b[0-?]*[ -/]*[@-~]"
)


def plain(text: str, longest: int = LONGEST) -> str:
    """The text without escapes, controls and direction marks, cut to a bounded length.

    Example:
        >>> plain("Pc\\x1b[31m [kPa]\\x00")
        'Pc [kPa]'
    """
    cleaned = clean(_ESCAPE.sub("", text[: 8 * longest])).strip()
    return cleaned if len(cleaned) <= longest else cleaned[: longest - 1] + "…"


def same_name(text: str) -> str:
    """What two spellings of one column have in common: neither case nor blanks count.

    Example:
        >>> same_name("  Cell  Pressure ")
        'cell pressure'
    """
    return " ".join(text.split()).casefold()
