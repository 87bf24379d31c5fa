"""How far the soil of a test is as it was in the ground."""

from tui.papers.subject import Subject
from tui.words import sanitise

_CONDITIONS = ("undisturbed", "remoulded", "reconstituted")
"""A type of sample that is its condition as well."""


def condition_of(subject: Subject) -> str | None:
    """As stated, else the type of sample where that says it; None where nothing does."""
    identity = {} if subject.settings is None else subject.settings.identity
    stated, kind = (
        sanitise(str(one), 4000) if isinstance(one := identity.get(key), str | int | float) else ""
        for key in ("condition", "type")
    )
    return stated or (kind if kind.casefold() in _CONDITIONS else None)
