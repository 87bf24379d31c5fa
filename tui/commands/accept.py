"""`porewatch accept`: an engineer takes a B below its target."""

from datetime import datetime
from pathlib import Path

import click

from tui.commands import acting
from tui.commands.alarm_acts import Meant
from tui.commands.arguments import cell_argument

_WHAT = ("saturation",)


@click.command("accept")
@cell_argument
@click.argument("what", metavar="saturation", shell_complete=lambda _c, _p, begun: _offer(begun))
@click.option("--why", metavar="TEXT", required=True, help="The reason; it goes into the report.")
@acting.act_options
def command(
    *,
    cell: str,
    what: str,
    why: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Take the B of CELL as it is though it is below its target: an engineer's decision, which goes
    into the report with its reason. For a cell in saturation, or in consolidation just after it.

    \b
    porewatch accept C2 saturation --why "stiff clay, B unchanged over three steps"
    """
    from tui.bench.answering import CannotAnswerError, may_be_taken  # noqa: PLC0415
    from tui.commands.main import did_you_mean  # noqa: PLC0415 (main loads this module)

    if what not in _WHAT:
        hint = did_you_mean(what, _WHAT) or "; saturation alone is accepted"
        raise click.UsageError(f"{what!r} cannot be accepted{hint}")
    reason = why.strip()
    if not reason:
        raise click.UsageError("--why gives no reason")
    meant = Meant(cell, when, bench)
    place = next((one for one in meant.layout.places if one.folder == meant.folder), None)
    found = next((one for one in meant.bench.cells if one.folder == meant.folder), None)
    if place is None or found is None or place.settings is None:
        raise click.ClickException(
            f"no test runs in {meant.name} that could be told; porewatch check says why"
        )
    try:
        taken = may_be_taken(found, place.settings.plan.b_target)
    except CannotAnswerError as error:
        raise click.ClickException(str(error)) from error
    number = acting.enter(
        meant.layout,
        "accept",
        by,
        cell=meant.folder,
        test=meant.test,
        held_at=meant.held_at,
        text=reason,
        phase="saturation",
    )
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    below = f"below its target of {taken.target:g}"
    though = below if taken.target > taken.B else "though its check did not settle"
    click.echo(
        f"entry {number}: B = {taken.B:.3f} of {sanitise(meant.name)} is taken {though}, from "
        f"{date_and_time(meant.held_at, meant.layout.zone)}; this goes into the report with its "
        "reason"
    )


def _offer(begun: str) -> list[str]:
    return [one for one in _WHAT if one.startswith(begun)]
