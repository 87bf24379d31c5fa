"""A route at work: takes one message at a time, and what was taken becomes "notified"."""

import os
from collections.abc import Callable
from dataclasses import dataclass

from tui.guard.company import Bundle
from tui.guard.errands import Errands
from tui.guard.letters import Letter
from tui.guard.routes import AddressError, way_of
from tui.guard.troubles import Trouble
from tui.settings.alarm_tables import Route
from tui.words.plain import sanitise


@dataclass(frozen=True, slots=True)
class Mailing:
    """A letter on its way, and what it tells."""

    letter: Letter
    bundle: Bundle | None
    """None for a trial."""
    at: float
    """When it was written. [s]"""


class Post:
    """One route."""

    def __init__(self, route: Route, wake: Callable[[], object]) -> None:
        self.route = route
        self._errands: Errands[Mailing] = Errands(f"route {route.name}", wake)

    @property
    def is_out(self) -> bool:
        """Whether a message is on its way."""
        return self._errands.is_out

    @property
    def why(self) -> str | None:
        """Why the last message was not taken; None if it was."""
        return self._errands.why

    def is_free(self, tick: float) -> bool:
        """Whether it can take a message now."""
        return self._errands.is_free(tick)

    def send(self, mailing: Mailing, tick: float) -> None:
        """Begin to send; the thread that calls never waits."""

        def work(one: Mailing) -> None:
            way_of(secret(self.route.to)).send(one.letter, one.at)

        self._errands.go(mailing, work, tick)

    def taken(self, tick: float) -> list[Mailing]:
        """What was taken since the last call."""
        return self._errands.back(tick)

    def trouble(self) -> Trouble | None:
        """What is wrong with it, once that is worth telling."""
        if not self._errands.is_told:
            return None
        name = sanitise(self.route.name, 60)
        text = f"the route {name} fails: {self._errands.why}; it is tried again and again"
        return Trouble(f"route {self.route.name}", text)

    def check(self) -> None:
        """Look whether its address is one at all, without sending.

        Raises:
            AddressError: it is none.
        """
        way_of(secret(self.route.to))


def secret(named: str) -> str:
    """What stands in the variable that `env:NAME` names.

    Raises:
        AddressError: it is not set.
    """
    name = named.removeprefix("env:")
    value = os.environ.get(name, "").strip()
    if not value:
        raise AddressError(
            f"the variable {name} is not set for the account that runs porewatch guard"
        )
    return value
