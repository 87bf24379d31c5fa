"""How much room each part of the screen gets, from its size and the number of cells."""

from dataclasses import dataclass

_LANES = {"wide": (6, 5, 4, 3, 2), "medium": (5, 4, 3, 2), "narrow": (4, 3, 2), "tiny": (2,)}
"""Lines that a lane may have, most first."""

MOST_PLOT = 30
"""Lines of a plot from which on what is known gets the rest."""
LEAST_PLOT = 5
"""Lines of a plot below which there is none."""
LEAST_FACTS = 3
"""Lines that what is known keeps beneath a plot."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Heights of the parts of the screen."""

    form: str
    """wide, medium, narrow or tiny."""
    lane_rows: int
    wall: int
    below: int
    """Lines for the cell in focus and the hands."""
    columns: int
    """Side by side below the wall: 3 plot, numbers, hands · 2 plot, both stacked · 1 hands."""


def form_of(width: int, height: int) -> str:
    """Which of the four layouts."""
    if width >= 120:
        return "wide"
    if width >= 80:
        return "medium"
    return "narrow" if width >= 50 and height >= 16 else "tiny"


def arrange(width: int, height: int, cells: int, complaint: bool) -> Arrangement:
    """Share the lines out: lanes as tall as all of them fit, the rest to the cell in focus."""
    form = form_of(width, height)
    free = max(1, height - 4 - (1 if complaint else 0))  # masthead, axis, standing, keys
    if cells == 0:
        return Arrangement(form, 2, free + 1, 0, 0)  # no axis
    least = {"wide": 12 if height >= 36 else 9, "medium": 8, "narrow": 3, "tiny": 0}[form]
    least = min(least, max(0, free - 4))
    room = free - least
    choices = _LANES[form]
    rows = next((r for r in choices if r * cells <= room), 0)
    if rows == 0:
        rows = choices[-1] if choices[-1] * cells <= 2 * room or form in ("narrow", "tiny") else 1
    wall = min(rows * cells, room)
    below = free - wall
    if form == "tiny":
        wall, below = free, 0
    columns = 3 if width >= 150 else 2
    if form == "narrow":
        columns = 2 if below >= 14 else 1
    return Arrangement(form, rows, wall, below, columns if below >= 2 else 0)


@dataclass(frozen=True, slots=True)
class Focused:
    """How a cell and what is known of it share the screen."""

    form: str
    masthead: bool
    """Whether there is room for it."""
    plot_rows: int
    """Lines of the plot; where there is no room for one, 0."""
    beside: bool
    """Whether what is known stands beside the plot instead of beneath it."""
    facts_columns: int
    """Of what is known beside the plot; 0: as wide as the screen."""


def focused(width: int, height: int, *, complaint: bool) -> Focused:
    """Side by side where the screen is wide, else three fifths to the plot."""
    form = form_of(width, height)
    masthead = form != "tiny"
    free = height - 2 - masthead - complaint  # standing, keys
    if form == "wide":
        rows = free if free >= LEAST_PLOT else 0
        return Focused(form, masthead, rows, beside=True, facts_columns=max(50, width * 2 // 5))
    least = LEAST_PLOT if free >= LEAST_PLOT + LEAST_FACTS else 0
    rows = min(max(least, free * 3 // 5), MOST_PLOT) if least else 0
    return Focused(form, masthead, rows, beside=False, facts_columns=0)
