"""`porewatch rebase`: a person says that a channel changed and nothing else did."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.acting import act_options, enter, holding_at, running_test
from tui.commands.arguments import cell_argument, iso_time, place_of, seconds
from tui.settings.channel_names import NUMERIC_CHANNELS

if TYPE_CHECKING:
    from tui.settings.places import Place


@click.command("rebase")
@cell_argument
@click.argument(
    "channel",
    shell_complete=lambda _c, _p, begun: [one for one in NUMERIC_CHANNELS if one.startswith(begun)],
)
@click.option(
    "--from",
    "since",
    type=iso_time,
    metavar="TIME",
    help="The last reading before is the newest up to then; default: now.",
)
@click.option(
    "--to",
    "until",
    type=iso_time,
    metavar="TIME",
    help="The first reading from then on counts again; default: as --from.",
)
@click.option(
    "--reads",
    metavar="VALUE",
    help='What the channel should read then, such as "0 kPa"; default: what it read before.',
)
@click.option("--text", default="", help="A remark, such as what was done to the gauge.")
@act_options
def command(
    *,
    cell: str,
    channel: str,
    since: datetime | None,
    until: datetime | None,
    reads: str | None,
    text: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Say that CHANNEL of CELL changed between two moments because its gauge was refilled,
    exchanged or set to zero: the change is no flow, no travel, no load.

    The channel goes on from the last reading before; readings in between are not used. What
    really flowed meanwhile is not known and not counted.

    \b
    porewatch rebase C1 back_volume --from 2031-02-03T10:00 --to 2031-02-03T10:12
    porewatch rebase C1 axial_load --from 2031-02-03T10:00 --reads "0 N"
    """
    if since is not None and when is not None:
        raise click.UsageError("--from says when it holds; leave out --when")
    layout, place = place_of(cell, bench)
    name = _channel_of(place, channel)
    value = None if reads is None else _value(reads, name)
    begins = holding_at(since or when, layout)
    ends = begins if until is None else seconds(until, layout.zone)
    if ends < begins:
        raise click.UsageError("--to is before the time from which the change is not counted")
    number = enter(
        layout,
        "rebase",
        by,
        cell=place.folder,
        test=running_test(place),
        held_at=begins,
        text=text,
        until=ends,
        channel=name,
        reads=value,
    )
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    first = date_and_time(begins, layout.zone)
    span = f"at {first}" if ends == begins else f"{first} to {date_and_time(ends, layout.zone)}"
    goes_on = "it goes on from the reading before" if value is None else f"it then reads {reads}"
    click.echo(
        f"entry {number}: the change of {name} of {sanitise(place.name)} ({span}) is not counted; "
        f"{sanitise(goes_on)}"
    )


def _channel_of(place: "Place", named: str) -> str:
    from tui.commands.main import did_you_mean  # noqa: PLC0415 (main loads this module)

    name = named.strip().casefold().replace("-", "_")
    own = () if place.settings is None else tuple(place.settings.log.channels)
    known = tuple(one for one in NUMERIC_CHANNELS if one in own or not own)
    if name in known:
        return name
    hint = did_you_mean(name, known) or f"; there are {', '.join(known)}"
    raise click.UsageError(f"{place.name} has no channel {named!r} of numbers{hint}")


def _value(written: str, channel: str) -> float:
    from tui.settings.quantities import RefusedError, read_quantity  # noqa: PLC0415

    try:
        return read_quantity(written, NUMERIC_CHANNELS[channel])
    except RefusedError as error:
        raise click.UsageError(f"--reads {error}") from error
