"""Colours by meaning, a column for each theme. Every ink reads on every ground of its theme."""

from functools import lru_cache
from typing import NamedTuple

from rich.style import Style


class Ink(NamedTuple):
    """A colour with the weight that still tells it apart when there is no colour."""

    colour: str
    bold: bool = False
    reverse: bool = False


class Palette(NamedTuple):
    """The colours of a theme: "#rrggbb", or names of the sixteen that the terminal itself mixes."""

    dark: bool
    few: bool
    """Whether the colours are names."""
    ground: str
    """Behind everything."""
    picked: str
    """Behind the head of the lane in focus, titles and what lies over the bench."""
    field: str
    """Behind a line that is being written."""
    inks: dict[str, Ink]


THEMES = ("dark", "light", "contrast")
"""In the order in which the key goes round; "-16" is their form for terminals of 16 colours."""

# Grounds but the first are nearly grey: terminals of 256 colours have no dark colour that is near.
_GROUNDS = {
    "dark": ("#0d1719", "#252e30", "#2c383b"),
    "light": ("#f6f8f4", "#e3ebe6", "#d6e1db"),
    "contrast": ("#000000", "#1d2527", "#283134"),
    "dark-16": ("black", "black", "black"),
    "light-16": ("bright_white", "bright_white", "bright_white"),
    "contrast-16": ("black", "black", "black"),
}

# Of the sixteen only those are named that read on their ground wherever a terminal mixes them: of
# the dark ones black, red, blue and magenta on white, of the bright ones all but blue on black.
_INKS = {
    #                 dark       light      contrast   dark-16           light-16
    "text":          ("#dce6e2", "#1d2b2a", "#ffffff", "white",          "black"),
    "strong":        ("#f3f8f5", "#0b1514", "#ffffff", "bright_white",   "black"),
    "dim":           ("#97aeaa", "#465a56", "#d3e2dd", "white",          "black"),
    "rule":          ("#93aaa6", "#50655f", "#bcd0ca", "white",          "black"),
    "title":         ("#cfe3dc", "#16332d", "#ffffff", "bright_white",   "black"),
    "key":           ("#ffe3a3", "#6e4300", "#ffe14d", "bright_yellow",  "blue"),
    "now":           ("#ffe3a3", "#6e4300", "#ffe14d", "bright_yellow",  "blue"),
    "good":          ("#8fdc9a", "#125a26", "#6dff86", "bright_green",   "blue"),
    "plain":         ("#cfe3dc", "#16332d", "#ffffff", "white",          "black"),
    "faint":         ("#97aeaa", "#465a56", "#d3e2dd", "white",          "black"),
    "warn":          ("#f6cc62", "#6e4700", "#ffd83d", "bright_yellow",  "magenta"),
    "bad":           ("#ff958c", "#a51d16", "#ffada6", "bright_red",     "red"),
    "alarm":         ("#ff958c", "#a51d16", "#ffada6", "bright_red",     "red"),
    "alert":         ("#f6cc62", "#6e4700", "#ffd83d", "bright_yellow",  "magenta"),
    "setup":         ("#b6c6c1", "#44554f", "#dbe8e3", "white",          "black"),
    "saturation":    ("#7cc8ff", "#0b4f86", "#8fd6ff", "bright_cyan",    "blue"),
    "consolidation": ("#63dcb8", "#075c46", "#5ff2cb", "bright_green",   "magenta"),
    "shear":         ("#f5ab66", "#8a2f00", "#ffbb78", "bright_yellow",  "red"),
    "ended":         ("#97aeaa", "#465a56", "#d3e2dd", "white",          "black"),
    "interrupted":   ("#f6cc62", "#6e4700", "#ffd83d", "bright_yellow",  "magenta"),
    "target":        ("#b7a6cf", "#5b2d86", "#d9c8f5", "bright_magenta", "magenta"),
    "band":          ("#dcc0ff", "#7519a0", "#e2c9ff", "bright_magenta", "magenta"),
    "fit":           ("#f0a8d0", "#8a2064", "#ffb9e2", "bright_magenta", "magenta"),
    "construction":  ("#b7a6cf", "#5b2d86", "#d9c8f5", "white",          "black"),
}  # fmt: skip
_BOLD = {"strong", "title", "key", "now", "warn", "bad", "alarm", "alert"}
_REVERSE = {"alarm", "alert"}


def _palette(name: str) -> Palette:
    plain, _, few = name.partition("-")
    dark, white = plain != "light", "bright_white" if plain == "contrast" else "white"
    column = THEMES.index(plain) if not few else 3 if dark else 4
    # a terminal of few colours may write bold as bright: black on white would turn grey
    heavy = _BOLD if dark or not few else set()
    inks = {
        ink: Ink(white if row[column] == "white" else row[column], ink in heavy, ink in _REVERSE)
        for ink, row in _INKS.items()
    }
    return Palette(dark, bool(few), *_GROUNDS[name], inks)


PALETTES = {name: _palette(name) for name in _GROUNDS}


@lru_cache(maxsize=512)
def style(ink: str, theme: str = "dark") -> Style:
    """The style of an ink; "ink@picked" stands on the ground of what is picked."""
    palette = PALETTES[theme]
    name, _, place = ink.partition("@")
    found = palette.inks.get(name, palette.inks["text"])
    return Style(
        color=found.colour,
        bgcolor=palette.picked if place == "picked" else palette.ground,
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
