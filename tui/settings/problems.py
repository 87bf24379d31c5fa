"""A thing that is wrong, where, and what to do about it."""

import unicodedata
from dataclasses import dataclass
from datetime import date, time
from typing import Any, Literal

Severity = Literal["error", "warning", "note"]

_UNSHOWN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


@dataclass(frozen=True, slots=True)
class Problem:
    """One complaint of the settings, the feed or the picture; shown, counted, never fatal."""

    severity: Severity
    """An error hides what it is about; a warning may mislead; a note is for the record."""
    what: str
    """What is wrong, with the value found."""
    remedy: str
    """What to do about it."""
    file: str | None = None
    """Where: path relative to the bench."""
    line: int | None = None
    """Where: line of that file, from 1."""
    key: str | None = None
    """Where: dotted key of a settings file, or the column of a log."""


class SettingsError(ValueError):
    """A settings file that cannot be used; carries *all* its problems, not the first."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(problem.what for problem in problems))
        self.problems = problems


def clean(text: str) -> str:
    """Text from a file or a folder name without anything that could steer a terminal.

    Example:
        >>> clean("BH4\\x1b[31m-U12")
        'BH4[31m-U12'
    """
    return "".join(
        " " if letter.isspace() else letter
        for letter in text
        if letter in "\t\r\n" or unicodedata.category(letter) not in _UNSHOWN
    )


def has_hidden_letters(text: str) -> bool:
    """Whether a text holds letters that do not show: controls, escapes, direction marks."""
    return any(unicodedata.category(letter) in _UNSHOWN for letter in text)


def shown(value: Any, longest: int = 60) -> str:
    """A value the way a settings file writes it, clean and cut to a readable length."""
    match value:
        case bool():
            text = "true" if value else "false"
        case str():
            text = f'"{clean(value)}"'
        case dict():
            inner = ", ".join(f"{clean(str(k))} = {shown(v, longest)}" for k, v in value.items())
            text = f"{{ {inner} }}"
        case list() | tuple():
            text = f"[{', '.join(shown(item, longest) for item in value)}]"
        case date() | time():
            text = value.isoformat()
        case _:
            text = clean(str(value))
    return text if len(text) <= longest else text[: longest - 1] + "…"
