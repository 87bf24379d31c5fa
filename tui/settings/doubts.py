"""One thing that a plan says against itself."""

from dataclasses import dataclass

from tui.settings.problems import Severity
from tui.settings.toml_lines import KeyPath


@dataclass(frozen=True, slots=True)
class Doubt:
    """A finding about the plan of a test, before it has its line."""

    severity: Severity
    path: KeyPath
    what: str
    """With the numbers and, where a standard has a say, "after" it: the laboratory's own copy
    decides."""
    remedy: str
