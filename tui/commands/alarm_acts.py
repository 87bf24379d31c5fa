"""What the commands that answer an alarm have in common: whom they mean, what is raised there."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tui.commands import acting
from tui.commands.arguments import bench_folder, complete_cells, place_of, seconds

if TYPE_CHECKING:
    from tui.bench.alarms.spells import Alarm
    from tui.bench.answering import Answer
    from tui.bench.picture import Bench
    from tui.settings.places import Layout

Function = TypeVar("Function", bound=Callable[..., Any])

WHOLE_BENCH = "bench"
"""Stands for a cell where the bench as a whole is meant, unless a cell has that name."""

_AHEAD_S = 120.0
"""So much may clocks differ. [s]"""


class Meant:
    """A cell, or the bench as a whole, and how it stands when an answer holds."""

    def __init__(self, cell: str, when: datetime | None, bench: Path | None) -> None:
        """Look at the bench.

        Raises:
            click.UsageError: there is no such cell, or the moment is to come.
            click.ClickException: it is an earlier test.
        """
        self.layout, self.folder, self.test, name = _whom(cell, bench)
        self.bench, self.held_at = _stood(self.layout, when)
        running = next((one for one in self.bench.cells if one.folder == self.folder), None)
        if running is not None and running.test_id != self.test:
            raise click.ClickException(f"{name} is an earlier test: its alarms are over")
        self.name = name
        """As people call it."""

    def alarms(self, kind: str, about: str | None, answer: "Answer") -> "tuple[Alarm, ...]":
        """Those that are meant.

        Raises:
            click.UsageError: there is no such kind.
            click.ClickException: it is not raised.
        """
        from tui.bench.answering import CannotAnswerError, to_be_answered  # noqa: PLC0415
        from tui.commands.main import did_you_mean  # noqa: PLC0415 (main loads this module)
        from tui.settings.alarm_tables import ALARM_KINDS  # noqa: PLC0415

        if kind not in ALARM_KINDS:
            hint = did_you_mean(kind, ALARM_KINDS) or "; porewatch status names what is raised"
            raise click.UsageError(f"there is no kind of alarm {kind!r}{hint}")
        try:
            return to_be_answered(self.bench, self.folder, kind, about, answer)
        except CannotAnswerError as error:
            raise click.ClickException(str(error)) from error


def alarm_arguments(function: Function) -> Function:
    """`CELL KIND [--about CHANNEL]`."""
    function = click.option(
        "--about", metavar="CHANNEL", help="Only the one about this; default: all of this kind."
    )(function)
    function = click.argument(
        "kind", shell_complete=lambda _c, _p, begun: [k for k in _kinds() if k.startswith(begun)]
    )(function)
    return click.argument("cell", shell_complete=complete_cells)(function)


def _kinds() -> tuple[str, ...]:
    from tui.settings.alarm_tables import ALARM_KINDS  # noqa: PLC0415

    return ALARM_KINDS


def _whom(cell: str, bench: Path | None) -> "tuple[Layout, str, str | None, str]":
    from tui.settings.places import read_layout  # noqa: PLC0415

    if cell.strip() == WHOLE_BENCH:
        layout = read_layout(bench_folder(bench))
        if not any(WHOLE_BENCH in (place.name, place.folder) for place in layout.places):
            return layout, "", None, "the bench"
    layout, place = place_of(cell, bench)
    return layout, place.folder, acting.running_test(place), place.name


def _stood(layout: "Layout", when: datetime | None) -> "tuple[Bench, float]":
    from tui.bench.look import look  # noqa: PLC0415 (numpy, only for those who answer)

    if when is None:
        bench = look(layout.root, clock=acting.clock())
        return bench, bench.at
    held_at = seconds(when, layout.zone)
    if held_at > acting.now_on(layout) + _AHEAD_S:
        raise click.UsageError("--when is to come: what will be raised then is not known yet")
    return look(layout.root, at=held_at), held_at
