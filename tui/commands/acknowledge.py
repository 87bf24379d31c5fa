"""`porewatch acknowledge`: a person knows of an alarm."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands import acting
from tui.commands.alarm_acts import Meant, alarm_arguments

if TYPE_CHECKING:
    from tui.bench.alarms.spells import Alarm


@click.command("acknowledge")
@alarm_arguments
@click.option("--text", metavar="TEXT", default="", help="A remark, such as what you will do.")
@acting.act_options
def command(
    *,
    cell: str,
    kind: str,
    about: str | None,
    text: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Say that you know of the alarm KIND in CELL and see to it: nobody is reminded of it any more.
    It stays until it clears, and is raised again if it becomes more urgent.

    CELL is also "bench" for what concerns the bench as a whole. It is no safety device: to
    acknowledge makes nothing safe.

    \b
    porewatch acknowledge C2 saturation-stalled --text "valve was closed"
    """
    from tui.bench.answering import alarm_name, answered  # noqa: PLC0415

    meant = Meant(cell, when, bench)
    alarms = meant.alarms(kind, about, "acknowledge")
    now = acting.clock().now()
    acts = answered(
        alarms, "acknowledge", meant.folder, meant.test, meant.held_at, now, text.strip()
    )
    numbers = acting.enter_all(meant.layout, by, acts)
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    moment = date_and_time(meant.held_at, meant.layout.zone)
    for number, alarm in zip(numbers, alarms, strict=True):
        name = sanitise(alarm_name(alarm.kind, alarm.about))
        click.echo(
            f"entry {number}: {name} of {sanitise(meant.name)} is acknowledged "
            f"at {moment}; {sanitise(_goes_on(alarm))}"
        )


def _goes_on(alarm: "Alarm") -> str:
    if alarm.state == "acknowledged":
        return f"{alarm.acknowledged_by or 'somebody'} had acknowledged it already"
    if alarm.state == "returned":
        return "it has cleared"
    if alarm.state == "out-of-phase":
        return "its phase is over"
    return "it stays until it clears"
