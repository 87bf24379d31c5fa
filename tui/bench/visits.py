"""The windows in which one visit to the bench serves several cells. Numbers in, numbers out."""

from collections.abc import Iterable
from math import inf

from tui.bench.attended import Attended
from tui.bench.picture import Hand, Visit

AHEAD_S = 24 * 3600.0
"""What is due later is not grouped yet, unless people are away for longer. [s]"""
SHORTEST_S = 15 * 60.0
"""What cannot wait, or is late, still takes somebody this long to come to and do. [s]

Common practice, no source.
"""


def visits(asked: Iterable[Hand], now: float, attended: Attended | None) -> tuple[Visit, ...]:
    """As few visits as serve all that is due soon, earliest first.

    The window that ends first must be visited before its end; whatever else can be served at that
    end is served by the same visit. No other choice needs fewer visits.

    Args:
        asked: hands; those without a time, or beyond `horizon`, are in no visit.
        now: the moment; whole minutes count, so that a visit that is due does not move with every
            look. [s]
        attended: when somebody is there; None if always.

    Returns:
        Each visit lies in the window of every hand that it serves.
    """
    now = now // 60.0 * 60.0
    end_of_plan = horizon(now, attended)
    left = []
    for hand in asked:
        served_in = window(hand, now, attended)
        if served_in is not None and served_in[0] <= end_of_plan:
            left.append((*served_in, hand))
    found = []
    while left:
        end = min(last for _, last, _ in left)
        served = [one for one in left if one[0] <= end]
        left = [one for one in left if one[0] > end]
        start = max(first for first, _, _ in served)
        found.append(Visit(start, end, tuple(hand for _, _, hand in served)))
    return tuple(found)


def window(hand: Hand, now: float, attended: Attended | None) -> tuple[float, float] | None:
    """From when until when a hand is well served; None while its time is not known. [s]

    It begins when the hand is ready, or now if that is past, and in any case when somebody is
    there; it ends when the hand can wait no longer, or when they leave.
    """
    ready = hand.at if hand.at is not None else hand.earliest
    if ready is None:
        return None
    first = max(ready, now)
    leave = inf
    if attended is not None:
        first = attended.next(first)
        leave = first + attended.until_end(first)
    last = max(ready if hand.good_until is None else hand.good_until, first + SHORTEST_S)
    return first, min(last, leave)


def horizon(now: float, attended: Attended | None) -> float:
    """Until when visits are planned: a day, or the end of the next attended stretch. [s]"""
    end = now + AHEAD_S
    if attended is None:
        return end
    comes = attended.next(now)
    leave = comes + attended.until_end(comes)
    return max(end, leave) if leave < inf else end


def grouped(
    asked: tuple[Hand, ...], planned: tuple[Visit, ...]
) -> tuple[tuple[Visit | None, tuple[Hand, ...]], ...]:
    """What to list: each visit with all that it serves, then each hand that is in none."""
    served = {hand for visit in planned for hand in visit.hands}
    alone = tuple((None, (hand,)) for hand in asked if hand not in served)
    return (*((visit, visit.hands) for visit in planned), *alone)
