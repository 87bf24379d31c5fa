"""What only some kinds of entries have: named fields beside those that every entry has.

They are kept as one JSON object, so that an older program reads the entries of a newer one: what it
does not know it leaves alone, and the version of the tables stays.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tui.journal.acts import Act
from tui.journal.entries import Entry

_TEXTS = ("phase", "step", "channel", "alarm", "about", "priority", "route")
_NUMBERS = ("until", "reads", "since")
_ENDS = ("cleared", "phase-end")


def details_of(entry: Entry) -> dict[str, Any]:
    """What is to be kept of an entry beside the fields that every entry has."""
    names = (*_TEXTS, *_NUMBERS, "ends")
    found = {name: getattr(entry.act, name) for name in names} | {"refers": entry.refers}
    return {name: value for name, value in found.items() if value is not None}


def with_details(act: Act, client: str | None, kept: Mapping[str, Any]) -> Entry:
    """An entry with what was kept of it; what is not of its kind of value is not known.

    Args:
        act: with the fields that every entry has.
        client: address from which the person was logged in.
        kept: as it was read.
    """
    found: dict[str, Any] = {name: _text(kept.get(name)) for name in _TEXTS}
    found |= {name: _number(kept.get(name)) for name in _NUMBERS}
    ends, refers = kept.get("ends"), kept.get("refers")
    found["ends"] = ends if ends in _ENDS else None
    whole = isinstance(refers, int) and not isinstance(refers, bool)
    return Entry(replace(act, **found), client, refers if whole else None)


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def _number(value: Any) -> float | None:
    fits = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    return value if fits else None
