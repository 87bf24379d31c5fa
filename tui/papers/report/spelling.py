"""A paper in the signs that its reader's manner allows."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from tui.words import Manner, plain

Thing = TypeVar("Thing")

NAMES = ("key", "about", "style")
"""Fields that programs read."""


def spelt(thing: Thing, manner: Manner) -> Thing:
    """The same with every word in it written so; unchanged unless the manner wants ASCII.

    Example:
        >>> spelt(("σ′3", 1.0), Manner(ascii=True))
        ("s'3", 1.0)
    """
    return _spelt(thing, manner) if manner.ascii else thing


def _spelt(thing: Any, manner: Manner) -> Any:
    if isinstance(thing, str):
        return plain(thing, manner)
    if isinstance(thing, tuple):
        return tuple(_spelt(one, manner) for one in thing)
    if is_dataclass(thing) and not isinstance(thing, type):
        words = {
            field.name: _spelt(getattr(thing, field.name), manner)
            for field in fields(thing)
            if field.name not in NAMES
        }
        return replace(thing, **words)
    return thing
