"""The dashboard from start to end: whatever ends it, the terminal is left as it was found."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tui.app import Following, PorewatchApp
    from tui.words import Manner

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")  # the last, a closed terminal, is not everywhere


class Leaving:
    """Lets the program end in order when it is told to stop."""

    def __init__(self) -> None:
        self._app: PorewatchApp | None = None

    def show(self, following: "Following", manner: "Manner", beat_s: float, pace: str = "") -> None:
        """Show what is followed until somebody leaves; then let go of it.

        Raises:
            click.exceptions.Exit: it ended otherwise than by the key.
        """
        from tui.app import PorewatchApp  # noqa: PLC0415 (the toolkit; help needs none of it)

        try:
            self._app = PorewatchApp(following=following, beat_s=beat_s, manner=manner, pace=pace)
            self._app.run()
            code = self._app.return_code
        finally:
            self._app = None
            following.close()
        if code:
            raise click.exceptions.Exit(code)

    def stop(self, number: int, _frame: FrameType | None) -> None:
        """A signal came."""
        if self._app is not None and self._app.is_running:
            # An exception here would tear the screen's loop apart and leave the terminal so.
            self._app.exit(return_code=128 + number)
        else:
            raise SystemExit(128 + number)


@contextmanager
def leaving_in_order() -> Iterator[Leaving]:
    """Within this block being told to stop ends the program as the key does."""
    leaving = Leaving()
    wanted = [getattr(signal, name) for name in _SIGNALS if hasattr(signal, name)]
    before = {number: signal.signal(number, leaving.stop) for number in wanted}
    try:
        yield leaving
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
