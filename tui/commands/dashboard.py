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
    """A bench that is followed, with who is on duty now. It is opened by the first look."""

    def __init__(self, opens: "Callable[[], Following]", root: Path) -> None:
        """Nothing is opened, and nothing imported for it, before the first look.

        Args:
            opens: gives where pictures come from. When it fails that look has failed: the screen
                says so, and the next look tries again.
            root: the bench, whose watch it tells.
        """
        self._opens, self._root = opens, root
        self._following: Following | None = None
        self._call: Callable[[], object] | None = None

    @property
    def waits(self) -> bool:
        """Whether more has arrived than the last beat took."""
        return self._following is not None and self._following.waits

    def beat(self) -> "Bench":
        """The picture of this moment."""
        from tui.bench.clock import WallClock  # noqa: PLC0415 (not for help or wrong usage)
        from tui.guard.duty import duty_problems, read_duty  # noqa: PLC0415

        if self._following is None:
            self._following = self._opens()
            if self._call is not None:
                self._following.call_on_arrival(self._call)
        now = WallClock().now()
        bench = self._following.beat()
        problems = (*bench.problems, *duty_problems(self._root, now))
        return replace(bench, guard=read_duty(self._root, now), problems=problems)

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this, from another thread, when something has arrived."""
        self._call = call
        if self._following is not None:
            self._following.call_on_arrival(call)

    def close(self) -> None:
        """Let go of files and threads."""
        if self._following is not None:
            self._following.close()


class Leaving:
    """Lets the program end in order when it is told to stop."""

    def __init__(self) -> None:
        self._app: PorewatchApp | None = None

    def show(
        self,
        opens: "Callable[[], Following]",
        manner: "Manner",
        beat_s: float,
        pace: str = "",
        *,
        root: Path,
        closed: str = "",
        theme: str | None = None,
        memory: "Memory | None" = None,
    ) -> None:
        """Follow a bench and show it until somebody leaves; then let go of it.

        Args:
            opens: gives where pictures come from; called for the first look.
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
        from tui.commands.reporting_app import ReportingApp  # noqa: PLC0415 (the toolkit)

        left = None if memory is None else memory.last.theme
        app = ReportingApp(
            root,
            closed,
            following=Watched(opens, root),
            beat_s=beat_s,
            manner=manner,
            pace=pace,
            theme=theme or left or "dark",
            memory=memory,
        )
        self._app = app
        try:
            app.run()
        finally:
            self._app = None
            app.let_go()
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
