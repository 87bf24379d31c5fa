"""`porewatch handover`: what one shift hands to the next."""

import json
from dataclasses import replace
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from tui.commands.arguments import (
    at_option,
    bench_argument,
    bench_folder,
    manner_of_output,
    manner_options,
    moment_on_bench,
    page_width,
)
from tui.commands.status import watched

if TYPE_CHECKING:
    from tui.bench.alarms.spells import Spell
    from tui.bench.handover import Handover

FILE_COLUMNS = 80
"""Width of a page that goes into a file. [columns]"""


@click.command("handover")
@bench_argument
@click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="For programs: porewatch.handover/1, in SI; into FILE as well, but not into .html.",
)
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Write it there: text, or a page for the shift mail if FILE ends in .html.",
)
@click.option(
    "--since",
    metavar="TIME",
    type=click.DateTime(["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S%z"]),
    help="Tell what was from then on; default: the last 12 h.",
)
@at_option
@manner_options
def command(
    *,
    bench: Path | None,
    as_json: bool,
    out: Path | None,
    since: datetime | None,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """The shift brief of BENCH: who must be there when, what each cell does and did before, what
    comes next, open alarms with what to do, and what people noted.
    """
    as_page = out is not None and out.suffix.lower() in (".html", ".htm")
    if as_json and as_page:
        raise click.UsageError(
            "--json writes no page: name a FILE that ends in .json, or leave it out"
        )
    root = bench_folder(bench)
    from tui.bench.handover import SHIFT_S, handed_over  # noqa: PLC0415
    from tui.bench.look import look  # noqa: PLC0415
    from tui.journal.store import Journal  # noqa: PLC0415

    picture = watched(look(root, at=moment_on_bench(at, root)), root)
    begins = moment_on_bench(since, root)
    if begins is not None and begins >= picture.at:
        raise click.UsageError("--since has to lie before the moment that is shown")
    journal = Journal.open(root)
    entries, troubles = journal.entries(picture.at), journal.problems
    journal.close()
    problems = tuple(dict.fromkeys((*picture.problems, *troubles)))
    picture = replace(picture, problems=problems)
    handed = handed_over(picture, entries, picture.at - SHIFT_S if begins is None else begins)
    manner = manner_of_output(units or picture.units, plain_signs)
    if out is not None:
        manner = replace(manner, ascii=plain_signs, colour=False)
    if as_json:
        text = json.dumps(handover_json(handed), allow_nan=False, indent=1)
    elif as_page:
        from tui.papers.handover_page import handover_page  # noqa: PLC0415 (the template's engine)

        text = handover_page(handed, manner)
    else:
        from tui.words.handover import handover_lines  # noqa: PLC0415
        from tui.words.printed import NARROWEST  # noqa: PLC0415

        width = FILE_COLUMNS if out is not None else max(page_width(), NARROWEST)
        text = "\n".join(handover_lines(handed, manner, width))
    if out is None:
        click.echo(text, color=manner.colour)
        return
    try:
        out.write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        raise click.ClickException(
            f"cannot write {str(out)!r}: {error.strerror}; name a file in a folder that can be "
            "written"
        ) from None
    click.echo(f"written: {out}", err=True)


def handover_json(handed: "Handover") -> dict[str, Any]:
    """The picture as `status --json` gives it, with `since`, and in each cell what was before."""
    from tui.bench.as_json import status_json, time_text  # noqa: PLC0415
    from tui.commands.journal import entry_json  # noqa: PLC0415

    bench, zone = handed.bench, handed.bench.zone
    names = {cell.folder: cell.cell for cell in bench.cells}
    found = status_json(bench)
    for cell in found["cells"]:
        before = handed.before[cell["folder"]]
        cell["before"] = [
            {
                "phase": span.name,
                "step": span.step,
                "since": time_text(span.start, zone),
                "until": time_text(span.end, zone),
                "source": span.source,
            }
            for span in before.spans
        ]
        cell["entries"] = [entry_json(one, names, zone) for one in before.entries]
        cell["over"] = [_spell_json(one, zone) for one in before.over]
        cell["missed"] = [_spell_json(one, zone) for one in before.missed]
        cell["rows_unused_since"] = before.unused
    return {
        **found,
        "schema": "porewatch.handover/1",
        "since": time_text(handed.since, zone),
        "entries": [entry_json(one, names, zone) for one in handed.before[""].entries],
        "over": [_spell_json(one, zone) for one in handed.before[""].over],
    }


def _spell_json(spell: "Spell", zone: tzinfo) -> dict[str, Any]:
    from tui.bench.as_json import time_text  # noqa: PLC0415

    return {
        "kind": spell.kind,
        "about": spell.about,
        "priority": spell.priority,
        "since": time_text(spell.since, zone),
        "raised_at": time_text(spell.raised_at, zone),
        "cleared_at": time_text(spell.cleared_at, zone),
        "message": spell.message,
    }
