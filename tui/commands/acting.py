"""What the commands that write into the journal have in common."""

import getpass
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tui.bench.clock import WallClock
from tui.commands.arguments import bench_option, iso_time, seconds

if TYPE_CHECKING:
    from tui.journal.store import Journal
    from tui.settings.places import Layout, Place

Function = TypeVar("Function", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Person:
    """Who enters something, and from where."""

    who: str
    host: str
    client: str | None
    """Address of the other end of an SSH log-in."""


def act_options(function: Function) -> Function:
    """`--when TIME`, `--by NAME` and `--bench BENCH`."""
    function = bench_option(function)
    function = click.option(
        "--by", metavar="NAME", help="Who says so, on a shared log-in; default: the user."
    )(function)
    return click.option(
        "--when",
        type=iso_time,
        metavar="TIME",
        help="When it holds, such as 2031-02-03T08:10; default: now.",
    )(function)


def person(by: str | None) -> Person:
    """The user, or the name that was given."""
    client = (os.environ.get("SSH_CONNECTION") or os.environ.get("SSH_CLIENT") or "").split()
    try:
        user = getpass.getuser()
    except (KeyError, OSError):  # a container's user may have no name
        user = "unknown"
    return Person((by or "").strip() or user, socket.gethostname(), client[0] if client else None)


def now_on(layout: "Layout") -> float:
    """The present of a bench: the clock's, or the newest row's where the bench is finished."""
    if layout.bench.now == "clock":
        return WallClock().now()
    from tui.bench.look import look  # noqa: PLC0415 (only for a finished bench)

    return look(layout.root, at=None).at


def holding_at(when: datetime | None, layout: "Layout") -> float:
    """When an act holds: as the person says, else the present of the bench."""
    return now_on(layout) if when is None else seconds(when, layout.zone)


def running_test(place: "Place") -> str | None:
    """Id of the test that runs in a cell, if its settings can be read."""
    return place.settings.test.id if place.settings is not None else None


def enter(layout: "Layout", kind: str, by: str | None, **entry: Any) -> int:
    """Append one entry to the bench's journal, and say where it went if that is unusual.

    Raises:
        click.ClickException: nothing took it.
    """
    from tui.journal.store import Journal  # noqa: PLC0415 (sqlite3, only for those who write)
    from tui.journal.tables import JournalError  # noqa: PLC0415

    someone = person(by)
    journal = Journal.open(layout.root)
    try:
        number = journal.add(
            kind,
            entered_at=WallClock().now(),
            who=someone.who,
            host=someone.host,
            client=someone.client,
            **entry,
        )
    except JournalError as error:
        raise click.ClickException(str(error)) from error
    finally:
        journal.close()
    _say_where(journal)
    return number


def _say_where(journal: "Journal") -> None:
    if journal.refused is not None:
        click.echo(
            f"porewatch: the bench cannot be written ({journal.refused}); the entry is in "
            f"{journal.written_to}, where only this user's looks count it",
            err=True,
        )
