"""The dashboard from start to end: whatever ends it, the terminal is left as it was found."""

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tui.app import PorewatchApp
    from tui.bench.beats import Following
    from tui.words import Manner

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")  # the last, a closed terminal, is not everywhere


def require_terminal() -> None:
    """See to it that there is a terminal to draw on.

    Raises:
        click.UsageError: input or output goes elsewhere.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise click.UsageError(
            "the dashboard needs a terminal; porewatch status prints one look, --json for programs"
        )


class Leaving:
    """Lets the program end in order when it is told to stop."""

    def __init__(self) -> None:
        self._app: PorewatchApp | None = None

    def show(self, following: "Following", manner: "Manner", beat_s: float, pace: str = "") -> None:
        """Show what is followed until somebody leaves; then let go of it.

        Raises:
            click.exceptions.Exit: it ended otherwise than by the key.
            Exception: whatever the screen did not foresee.
        """
        let_go = following.close
        try:
            from tui.commands.reporting_app import ReportingApp  # noqa: PLC0415 (the toolkit)

            app = ReportingApp(following=following, beat_s=beat_s, manner=manner, pace=pace)
            self._app, let_go = app, app.let_go
            app.run()
        finally:
            self._app = None
            let_go()
        if app.fault is not None:
            raise app.fault
        if app.return_code:
            raise click.exceptions.Exit(app.return_code)

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
