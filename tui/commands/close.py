"""`porewatch close`: the test of a cell is over; its tables go to `tests/`, the hardware stays."""

from datetime import datetime
from pathlib import Path

import click

from tui.commands.acting import act_options, enter, now_on
from tui.commands.arguments import cell_argument, place_of, seconds


@click.command("close")
@cell_argument
@click.option("--text", metavar="TEXT", default="", help="A remark for the journal.")
@act_options
def command(
    *,
    cell: str,
    text: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """End the running test of CELL: its tables move to tests/ID.toml, [cell] and [log] stay.

    Where cell.toml has no `ended`, it gets --when, else the time of the newest row. No log is
    touched, and an existing tests/ID.toml is never overwritten. No valve is moved: let the
    pressures down by the laboratory's own procedure.
    """
    from tui.settings.ending import CannotEndError, end_test  # noqa: PLC0415 (pydantic)

    layout, place = place_of(cell, bench)

    def newest_or_now(started: float | None) -> float:
        from tui.commands.cell_logs import read_logs  # noqa: PLC0415 (numpy)

        newest = read_logs(place, layout).newest
        usable = newest is not None and (started is None or newest > started)
        return newest if usable and newest is not None else now_on(layout)

    said = None if when is None else seconds(when, layout.zone)
    try:
        ended = end_test(place, layout.zone, said, newest_or_now)
    except CannotEndError as error:
        raise click.ClickException(str(error)) from error
    number = enter(
        layout, "close", by,
        cell=place.folder, test=ended.test_id, held_at=ended.at, text=text.strip(),
    )  # fmt: skip
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    click.echo(
        f"entry {number}: test {sanitise(ended.test_id)} of {sanitise(place.name)} ended "
        f"{date_and_time(ended.at, layout.zone)}; its tables are in "
        f"{sanitise(place.folder)}/tests/{sanitise(ended.test_id)}.toml"
    )
