"""What the commands that write into the journal have in common."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tui.bench.clock import Clock, WallClock
from tui.commands.arguments import bench_option, iso_time, seconds

if TYPE_CHECKING:
    from tui.journal.acts import Act
    from tui.settings.places import Layout, Place

Function = TypeVar("Function", bound=Callable[..., Any])


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


def clock() -> Clock:
    """What tells the moment at which something is entered."""
    return WallClock()


def now_on(layout: "Layout") -> float:
    """The present of a bench: the clock's, or the newest row's where the bench is finished."""
    if layout.bench.now == "clock":
        return clock().now()
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

    Args:
        entry: fields of the `Act`, and `refers` of an undo.

    Raises:
        click.ClickException: nothing took it.
    """
    from tui.journal.acts import Act  # noqa: PLC0415

    refers = entry.pop("refers", None)
    unsaid: dict[str, Any] = {"entry": 0, "who": "", "host": "", "entered_at": clock().now()}
    (number,) = enter_all(layout, by, [Act(kind=kind, **(unsaid | entry))], refers)
    return number


def enter_all(
    layout: "Layout", by: str | None, acts: "Sequence[Act]", refers: int | None = None
) -> tuple[int, ...]:
    """Append what a person did, all or none, and say where it went if that is unusual.

    Raises:
        click.ClickException: nothing took it.
    """
    from tui.journal import person as people  # noqa: PLC0415 (sqlite3, only for those who write)
    from tui.journal.tables import JournalError  # noqa: PLC0415

    someone = people.person(by)
    try:
        entered = people.enter_all(
            layout.root, [replace(someone.says(act), refers=refers) for act in acts]
        )
    except JournalError as error:
        raise click.ClickException(str(error)) from error
    if entered.elsewhere is not None:
        click.echo(f"porewatch: {entered.elsewhere}", err=True)
    return entered.numbers
