"""What goes together in one message, and what waits for company. Pure.

For one cell the first urgent thing goes at once, and takes along what waits; what follows within
`COMPANY_S` goes together. Warnings, notes and what is over wait so long for company. More than
`FLOOD` announcements within `FLOOD_S` on one route are a flood (the figure of EEMUA 191 for one
operator, from memory): then one summary tells all of it, at most every `SUMMARY_S`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tui.guard.ledger import Ledger
from tui.guard.when import Notice

COMPANY_S = 30.0
FLOOD = 10
FLOOD_S = 600.0
SUMMARY_S = 30.0


@dataclass(frozen=True, slots=True)
class Bundle:
    """What one message tells."""

    notices: tuple[Notice, ...]
    """The most pressing first."""
    is_summary: bool = False


def next_bundle(
    ledger: Ledger, route: str, notices: Sequence[Notice], at: float, *, waits: bool = True
) -> Bundle | None:
    """What a route should carry now; None if nothing, or if it should wait for company.

    Args:
        ledger: knows what the route has carried.
        route: its name.
        notices: all that is due on it.
        at: the moment. [s]
        waits: False for a look that will not come back.
    """
    if not notices:
        return None
    order = sorted(notices, key=lambda one: (-one.rank, one.due_at, one.key.cell))
    if ledger.sent_since(route, at - FLOOD_S) + len(notices) > FLOOD:
        if waits and 0.0 <= at - ledger.last_of_all(route) < SUMMARY_S:
            return None
        return Bundle(tuple(order), is_summary=len(order) > 1)
    for first in order:
        own = [one for one in order if one.key.cell == first.key.cell]
        calm = not 0.0 <= at - ledger.last_urgent(route, first.key.cell) < COMPANY_S
        waited = at - min(one.due_at for one in own) >= COMPANY_S
        if not waits or waited or (calm and any(one.is_urgent for one in own)):
            return Bundle(tuple(own))
    return None
