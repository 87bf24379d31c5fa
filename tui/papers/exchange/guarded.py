"""Text from logs, settings and notes that no spreadsheet takes for a formula.

A spreadsheet that opens a table of text runs what begins with `=`, `+`, `-` or `@`. Such a text
gets an apostrophe in front, as people type it there themselves. One that already begins with
apostrophes before such a sign gets one more, so that taking one off always gives the text back.
"""

import re

_SIGNS = r"=+\-@\t\r\n＝＋－＠"
_RUNS = re.compile(f"'*[{_SIGNS}]")
_GUARDED = re.compile(f"'+[{_SIGNS}]")


def guarded(text: str) -> str:
    """The text, with an apostrophe in front if it begins as a formula does.

    Example:
        >>> guarded("=1+1"), guarded("-12 ring"), guarded("BH2"), guarded("'=x")
        ("'=1+1", "'-12 ring", 'BH2', "''=x")
    """
    return f"'{text}" if _RUNS.match(text) else text


def unguarded(text: str) -> str:
    """The text as it was before `guarded`.

    Example:
        >>> unguarded("'=1+1"), unguarded("'quoted'")
        ('=1+1', "'quoted'")
    """
    return text[1:] if _GUARDED.match(text) else text
