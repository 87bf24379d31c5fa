"""Colours by meaning. Every ink reads at 4.5:1 or better on every ground it may stand on."""

from functools import lru_cache
from typing import NamedTuple

from rich.style import Style

GROUND = "#0d1719"
"""Behind everything."""
PICKED_GROUND = "#1b3336"
"""Behind the head of the lane in focus and behind titles."""


class Ink(NamedTuple):
    """A colour with the weight that still tells it apart when there is no colour."""

    colour: str
    bold: bool = False
    reverse: bool = False


INKS: dict[str, Ink] = {
    "text": Ink("#dce6e2"),
    "strong": Ink("#f3f8f5", bold=True),
    "dim": Ink("#97aeaa"),
    "rule": Ink("#82a09b"),
    "title": Ink("#cfe3dc", bold=True),
    "key": Ink("#ffe3a3", bold=True),
    "now": Ink("#ffe3a3", bold=True),
    "good": Ink("#8fdc9a"),
    "plain": Ink("#cfe3dc"),
    "faint": Ink("#97aeaa"),
    "warn": Ink("#f6cc62", bold=True),
    "bad": Ink("#ff958c", bold=True),
    "alarm": Ink("#ff958c", bold=True, reverse=True),
    "alert": Ink("#f6cc62", bold=True, reverse=True),
    "setup": Ink("#b6c6c1"),
    "saturation": Ink("#7cc8ff"),
    "consolidation": Ink("#63dcb8"),
    "shear": Ink("#f5ab66"),
    "ended": Ink("#97aeaa"),
    "interrupted": Ink("#f6cc62"),
    "target": Ink("#b7a6cf"),
    "band": Ink("#dcc0ff"),
    "fit": Ink("#f0a8d0"),
    "construction": Ink("#b7a6cf"),
}


@lru_cache(maxsize=128)
def style(ink: str) -> Style:
    """The style of an ink; "ink@picked" stands on the ground of what is picked."""
    name, _, place = ink.partition("@")
    found = INKS.get(name, INKS["text"])
    return Style(
        color=found.colour,
        bgcolor=PICKED_GROUND if place == "picked" else GROUND,
        bold=found.bold or None,
        reverse=found.reverse or None,
    )


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb".

    Source:
        W3C, Web Content Accessibility Guidelines 2.1, "relative luminance".
    """
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 … 21.

    Source:
        W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio".
    """
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
