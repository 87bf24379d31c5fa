"""Visits to the bench, and when somebody is there, in words."""

from datetime import tzinfo

from tui.bench.picture import Visit
from tui.words.plain import sanitise
from tui.words.times import interval, moment


def visit_words(visit: Visit, zone: tzinfo, now: float) -> tuple[str, str, str]:
    """A visit that serves several cells: "one visit", when, and whom it serves."""
    return "one visit", interval(visit.at, visit.until, zone, now), f"serves {served_words(visit)}"


def served_words(visit: Visit, most: int = 12) -> str:
    """The cells that a visit serves, so many of them by name: "C1, C3", "C1 and 5 more"."""
    cells = tuple(dict.fromkeys(sanitise(hand.cell, 12) for hand in visit.hands))
    named = ", ".join(cells[:most])
    return f"{named} and {len(cells) - most} more" if len(cells) > most else named


def attended_words(at: float, zone: tzinfo, now: float) -> str:
    """When somebody is there for what is ready before: "somebody is there from Thu 07:30"."""
    return f"somebody is there from {moment(at, zone, now)}"
