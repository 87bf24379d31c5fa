"""A sign of life to something outside that notices when it stays away.

It beats only after every cell that is set up was evaluated in this very picture, at most every
`every`. A fault of ours in a cell, broken settings, logs that cannot be read, a folder that is
gone: of such a cell no alarm can come, so the heart stops, and whoever listens outside learns of it
even if every route is dead. A cell in which no test runs has nothing to evaluate and stops nothing.

The address is that of a page to GET, or `file:/path` of a file to touch.
"""

from collections.abc import Callable
from pathlib import Path
from urllib.parse import unquote

from tui.guard.errands import Errands
from tui.guard.post import secret
from tui.guard.routes.addresses import web_address
from tui.guard.routes.failures import AddressError
from tui.guard.troubles import Trouble
from tui.settings.alarm_tables import Heartbeat


class Heart:
    """Beats in a thread of its own."""

    def __init__(self, settings: Heartbeat, wake: Callable[[], object]) -> None:
        self.settings = settings
        self._errands: Errands[float] = Errands("heartbeat", wake)
        self._beat_at: float | None = None

    @property
    def is_out(self) -> bool:
        """Whether a beat is on its way."""
        return self._errands.is_out

    def beat(self, tick: float) -> None:
        """Beat if it is time; the picture has all cells. Never waits."""
        due = self._beat_at is None or tick - self._beat_at >= self.settings.every_s
        if due and self._errands.is_free(tick):
            self._errands.go(tick, lambda _: give_sign(secret(self.settings.url)), tick)

    def look(self, tick: float) -> None:
        """Learn how the last beat went."""
        for began in self._errands.back(tick):
            self._beat_at = max(began, self._beat_at or began)

    def trouble(self) -> Trouble | None:
        """What is wrong with it, once that is worth telling."""
        if not self._errands.is_told:
            return None
        why = self._errands.why
        return Trouble("heartbeat", f"the heartbeat is not taken: {why}; it goes on", "warning")


def give_sign(address: str) -> None:
    """GET the page, or touch the file.

    Raises:
        Exception: it was not taken; `failures.reason` says why.
    """
    if address.startswith("file:"):
        path = Path(unquote(address.removeprefix("file:").removeprefix("//")))
        if not path.is_absolute():
            raise AddressError("the file of the heartbeat needs its whole path: file:/path")
        path.touch()
        return
    if not address.startswith(("http://", "https://")):
        raise AddressError("the heartbeat's address is neither http(s)://… nor file:/path")
    from tui.guard.routes.web import asked  # noqa: PLC0415 (only where it is used)

    url, login = web_address(address)
    asked(url, None, {}, login)
