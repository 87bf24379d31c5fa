"""`porewatch guard`: the night watch."""

import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.arguments import bench_argument, bench_folder

if TYPE_CHECKING:
    from tui.guard.announcements import Writer
    from tui.guard.kit import Following
    from tui.guard.night import Night


@click.command("guard")
@bench_argument
@click.option("--once", is_flag=True, help="One look, for cron; does not wait for another guard.")
@click.option("--test-routes", is_flag=True, help="Send a test by every route.")
def command(*, bench: Path | None, once: bool, test_routes: bool) -> None:
    """Keeps watch over BENCH without a screen: what is raised is journalled and told by the routes
    of [alarms] in bench.toml until somebody acknowledges it.

    One guard keeps a bench; another waits, and takes over when it has ended. SIGTERM or Ctrl-C end
    it. It moves no valve and is no safety device: relief valve, guard and a person remain.

    \b
    Exit code of --once, the first that applies, as of status:
      2  an urgent alarm
      3  a cell that could not be told, or no cell at all
      1  a warning, or a folder not adopted
      0  else
    Exit code of --test-routes: 0 all routes worked, 1 one failed or there is none.
    """
    if once and test_routes:
        raise click.UsageError("--once and --test-routes exclude each other")
    root = bench_folder(bench)
    if test_routes:
        raise click.exceptions.Exit(_tested(root))
    if once:
        raise click.exceptions.Exit(_once(root))
    from tui.bench.clock import WallClock  # noqa: PLC0415 (numpy; help needs none of it)
    from tui.bench.following import Following  # noqa: PLC0415

    night = _night(root, lambda: Following.live(root, WallClock()))
    for name in ("SIGTERM", "SIGINT", "SIGHUP"):
        number = getattr(signal, name, None)
        # Whoever began it with nohup wants it to outlive the terminal.
        if number is not None and not (name == "SIGHUP" and _is_ignored(number)):
            signal.signal(number, lambda *_: night.bell.end())
    try:
        night.keep()
    except OSError as error:
        raise click.ClickException(
            f"{error}: nobody could tell who keeps the watch; make one of them writable"
        ) from error


def _is_ignored(number: signal.Signals) -> bool:
    return signal.getsignal(number) is signal.SIG_IGN


def _once(root: Path) -> int:
    from tui.bench.clock import WallClock  # noqa: PLC0415
    from tui.bench.following import Standing  # noqa: PLC0415
    from tui.bench.look import look  # noqa: PLC0415
    from tui.commands.status import exit_code  # noqa: PLC0415
    from tui.guard.night import holder_words  # noqa: PLC0415

    picture = look(root)
    night = _night(root, lambda: Standing(picture))
    try:
        keeping, holder = night.once()
    except OSError as error:
        raise click.ClickException(f"{error}: nothing was journalled or told") from error
    if holder is not None:
        _say(f"{holder_words(holder, WallClock().now())}; nothing was journalled or told from here")
    for line in () if keeping is None else keeping.failing:
        _say(f"not told by {line}")
    return exit_code(picture)


def _tested(root: Path) -> int:
    from tui.bench.clock import WallClock  # noqa: PLC0415
    from tui.guard.trial import try_routes  # noqa: PLC0415
    from tui.journal.tables import JournalError  # noqa: PLC0415
    from tui.settings.places import read_layout  # noqa: PLC0415
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    zone = read_layout(root).zone
    tried = failed = 0
    try:
        for one in try_routes(root, WallClock(), _writer()):
            tried += 1
            failed += one.why is not None
            before = "never before" if one.last_worked is None else "last worked "
            if one.last_worked is not None:
                before += date_and_time(one.last_worked, zone)
            told = "worked" if one.why is None else f"failed: {one.why}"
            click.echo(f"{sanitise(one.route, 60)}: {told} ({before})")
    except JournalError as error:
        raise click.ClickException(str(error)) from error
    if not tried:
        _say("bench.toml has no [[alarms.routes]]: nobody would be told of anything")
    return 1 if failed or not tried else 0


def _writer() -> "Writer":
    from tui.guard.announcements import Writer  # noqa: PLC0415
    from tui.journal.person import person  # noqa: PLC0415

    someone = person(None)
    return Writer(someone.who, someone.host)


def _night(root: Path, open_following: "Callable[[], Following]") -> "Night":
    from tui.bench.clock import WallClock  # noqa: PLC0415
    from tui.guard.night import Night  # noqa: PLC0415

    return Night(root, WallClock(), _writer(), _say, open_following=open_following)


def _say(line: str) -> None:
    """One line on stderr; that nobody reads it any more ends no watch."""
    from tui.words import sanitise  # noqa: PLC0415

    with suppress(OSError, ValueError):
        sys.stderr.write(f"porewatch guard: {sanitise(line)}\n")
        sys.stderr.flush()
