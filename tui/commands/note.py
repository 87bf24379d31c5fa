"""`porewatch note`: a remark about a cell."""

from datetime import datetime
from pathlib import Path

import click

from tui.commands.acting import act_options, enter, holding_at, running_test
from tui.commands.arguments import cell_argument, place_of


@click.command("note")
@cell_argument
@click.argument("text", nargs=-1, required=True)
@act_options
def command(
    *,
    cell: str,
    text: tuple[str, ...],
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Write TEXT about CELL into the journal: what no logger can know.

    \b
    porewatch note C2 "membrane looks creased near the top cap"
    """
    words = " ".join(text).strip()
    if not words:
        raise click.UsageError("the note has no text")
    layout, place = place_of(cell, bench)
    held_at = holding_at(when, layout)
    number = enter(
        layout,
        "note",
        by,
        cell=place.folder,
        test=running_test(place),
        held_at=held_at,
        text=words,
    )
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    click.echo(
        f"entry {number}: noted about {sanitise(place.name)} "
        f"at {date_and_time(held_at, layout.zone)}"
    )
