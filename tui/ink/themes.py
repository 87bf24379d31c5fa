"""The palettes as the toolkit's themes: its style sheets read the same colours by name."""

from textual.theme import Theme

from tui.ink.palette import PALETTES, THEMES, Palette


def themes() -> list[Theme]:
    """One for each palette, of its name; its colours are $ground, $picked, $field, $ink-…"""
    return [_theme(name, palette) for name, palette in PALETTES.items()]


def theme_after(name: str) -> str:
    """The one that follows when they are gone round.

    Example:
        >>> theme_after("dark"), theme_after("contrast-16")
        ('light', 'dark-16')
    """
    plain, sixteen, _ = name.partition("-16")
    return THEMES[(THEMES.index(plain) + 1) % len(THEMES)] + sixteen


def _theme(name: str, palette: Palette) -> Theme:
    def css(colour: str) -> str:
        return f"ansi_{colour}" if palette.few else colour

    inks = {f"ink-{ink}": css(found.colour) for ink, found in palette.inks.items()}
    ground, text = css(palette.ground), inks["ink-text"]
    return Theme(
        name,
        primary=inks["ink-key"],
        foreground=text,
        background=ground,
        surface=css(palette.picked),
        panel=css(palette.picked),
        dark=palette.dark,
        ansi=palette.few,
        variables=inks
        | {
            "ground": ground,
            "picked": css(palette.picked),
            "field": css(palette.field),
            "ansi-background": ground,
            "ansi-foreground": text,
            "border-blurred": inks["ink-rule"],
            "text": text,
            "text-disabled": inks["ink-dim"],
            "scrollbar": inks["ink-rule"],
            "scrollbar-hover": inks["ink-dim"],
            "scrollbar-active": text,
            "scrollbar-background": css(palette.picked),
            "scrollbar-background-hover": css(palette.picked),
            "scrollbar-background-active": css(palette.picked),
            "scrollbar-corner-color": css(palette.picked),
            "input-cursor-background": inks["ink-strong"],
            "input-cursor-foreground": ground,
            "input-cursor-text-style": "none",
            "input-selection-background": inks["ink-dim"],
            "input-selection-foreground": ground,
        },
    )
