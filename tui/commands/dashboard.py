"""The dashboard from start to end: whatever ends it, the terminal is left as it was found."""

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from tui.commands.arguments import in_browser

if TYPE_CHECKING:
    from tui.app import PorewatchApp
    from tui.bench.beats import Following
    from tui.bench.picture import Bench
    from tui.screens.last_view import Memory
    from tui.words import Manner

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")  # the last, a closed terminal, is not everywhere


def require_terminal() -> None:
    """See to it that there is a terminal to draw on.

    Raises:
        click.UsageError: input or output goes elsewhere.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()) and not in_browser():
        raise click.UsageError(
            "the dashboard needs a terminal; porewatch status prints one look, --json for programs"
        )


class Watched:
    """A bench that is followed, with who is on duty now."""

    def __init__(self, following: "Following", root: Path) -> None:
        self._following, self._root = following, root
        self.waits = False
        """Whether more has arrived than the last beat took."""

    def beat(self) -> "Bench":
        """The picture of this moment."""
        from tui.bench.clock import WallClock  # noqa: PLC0415 (not for help or wrong usage)
        from tui.guard.duty import duty_problems, read_duty  # noqa: PLC0415

        now = WallClock().now()
        bench = self._following.beat()
        self.waits = self._following.waits
        problems = (*bench.problems, *duty_problems(self._root, now))
        return replace(bench, guard=read_duty(self._root, now), problems=problems)

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this, from another thread, when something has arrived."""
        self._following.call_on_arrival(call)

    def close(self) -> None:
        """Let go of files and threads."""
        self._following.close()


class Leaving:
    """Lets the program end in order when it is told to stop."""

    def __init__(self) -> None:
        self._app: PorewatchApp | None = None

    def show(
        self,
        following: "Following",
        manner: "Manner",
        beat_s: float,
        pace: str = "",
        *,
        root: Path,
        closed: str = "",
        theme: str | None = None,
        memory: "Memory | None" = None,
    ) -> None:
        """Show what is followed until somebody leaves; then let go of it.

        Args:
            following: where pictures come from.
            manner: how things are written.
            beat_s: time between two looks. [s]
            pace: how time runs when it does not follow the clock.
            root: the bench, into whose journal goes what people say.
            closed: why nothing can be said here; "" where it can.
            theme: dark, light or contrast; None as somebody left it.
            memory: of the view with which somebody left; None begins anew.

        Raises:
            click.exceptions.Exit: it ended otherwise than by the key.
            Exception: whatever the screen did not foresee.
        """
        let_go = following.close
        try:
            from tui.commands.reporting_app import ReportingApp  # noqa: PLC0415 (the toolkit)
            from tui.screens.desk import Desk  # noqa: PLC0415

            left = None if memory is None else memory.last.theme
            app = ReportingApp(
                following=Watched(following, root),
                beat_s=beat_s,
                manner=manner,
                pace=pace,
                desk=Desk(root, closed),
                theme=theme or left or "dark",
                memory=memory,
            )
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
