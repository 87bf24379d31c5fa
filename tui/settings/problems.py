"""A thing that is wrong, where, and what to do about it."""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]


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
