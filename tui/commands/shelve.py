"""`porewatch shelve`: an alarm is silenced for a while, with a reason."""

from datetime import datetime
from pathlib import Path

import click

from tui.commands import acting
from tui.commands.alarm_acts import Meant, alarm_arguments

_ENDS = {"cleared": "it clears", "phase-end": "the phase ends"}


@click.command("shelve")
@alarm_arguments
@click.option("--for", "duration", metavar="TIME", help='For how long, such as "2 h".')
@click.option(
    "--until",
    "ends",
    type=click.Choice(list(_ENDS)),
    help="Until it clears, or until the present phase ends.",
)
@click.option("--why", metavar="TEXT", required=True, help="The reason, for everybody to read.")
@acting.act_options
def command(
    *,
    cell: str,
    kind: str,
    about: str | None,
    duration: str | None,
    ends: str | None,
    why: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Silence the alarm KIND in CELL for a while; what still is so afterwards is raised again.

    Every shelf ends after 12 h at the latest; over-pressure, effective-stress-low and leaks after
    30 min. CELL is also "bench" for what concerns the bench as a whole. A shelf makes nothing
    safe: what the cell's maker and the laboratory's rules ask for stays to be done.

    \b
    porewatch shelve C1 pressure-drift --for "2 h" --why "regulator is exchanged"
    porewatch shelve C1 log-silent --until cleared --why "logger restarts"
    """
    from tui.bench.answering import TooLongError, alarm_name, answered, shelf_end  # noqa: PLC0415

    reason = why.strip()
    if not reason:
        raise click.UsageError("--why gives no reason")
    if (duration is None) == (ends is None):
        raise click.UsageError(
            'say either --for, such as --for "2 h", or --until cleared|phase-end'
        )
    for_s = None if duration is None else _seconds(duration)
    try:
        shelf_end(kind, 0.0, for_s)  # a limit is named also where nothing is raised
    except TooLongError as error:
        raise click.UsageError(str(error)) from error
    meant = Meant(cell, when, bench)
    alarms = meant.alarms(kind, about, "shelve")
    acts = answered(
        alarms,
        "shelve",
        meant.folder,
        meant.test,
        meant.held_at,
        acting.clock().now(),
        reason,
        for_s=for_s,
        ends="cleared" if ends == "cleared" else "phase-end" if ends else None,
    )
    numbers = acting.enter_all(meant.layout, by, acts)
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    for number, act, alarm in zip(numbers, acts, alarms, strict=True):
        latest = date_and_time(act.until or act.held_at, meant.layout.zone)
        until = latest if ends is None else f"{_ENDS[ends]}, at the latest {latest}"
        name = sanitise(alarm_name(alarm.kind, alarm.about))
        click.echo(
            f"entry {number}: {name} of {sanitise(meant.name)} is shelved until {until}; "
            "what still is so then is raised again"
        )


def _seconds(written: str) -> float:
    from tui.settings.quantities import RefusedError, read_quantity  # noqa: PLC0415

    try:
        found = read_quantity(written, "s")
    except RefusedError as error:
        raise click.UsageError(f"--for {error}") from error
    if not found > 0:
        raise click.UsageError(f'--for is {written!r}: write how long, such as "2 h"')
    return found
