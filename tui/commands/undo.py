"""`porewatch undo`: an entry that takes another one back."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.acting import act_options, enter
from tui.commands.arguments import bench_folder, seconds

if TYPE_CHECKING:
    from tui.journal.acts import Act
    from tui.settings.places import Layout

_NOUNS = {
    "acknowledge": "an acknowledgement",
    "shelve": "a shelf",
    "accept": "an acceptance",
    "close": "the end of a test",
    "undo": "an undo",
}


@click.command("undo")
@click.argument("number", metavar="ENTRY", type=click.IntRange(min=1))
@act_options
def command(*, number: int, when: datetime | None, by: str | None, bench: Path | None) -> None:
    """Take ENTRY of the journal back ("porewatch journal" shows the numbers).

    Nothing is deleted: the undo is an entry too, and can be undone. What the watch itself wrote
    stays. It holds from the time at which ENTRY held, as if that had never been said; --when lets
    it hold from later. A test that was closed goes on: its tables come back from tests/.
    """
    from tui.journal.acts import WATCH_KINDS  # noqa: PLC0415
    from tui.journal.store import Journal  # noqa: PLC0415
    from tui.settings.places import read_layout  # noqa: PLC0415

    layout = read_layout(bench_folder(bench))
    journal = Journal.open(layout.root)
    entries = {entry.number: entry for entry in journal.entries()}
    problems = journal.problems
    journal.close()
    if number not in entries:
        if problems:
            raise click.ClickException(f"{problems[0].what}; {problems[0].remedy}")
        known = f"it has {min(entries)} to {max(entries)}" if entries else "it is empty"
        raise click.UsageError(f"the journal has no entry {number}; {known}")
    found = entries[number]
    if found.undone_by is not None:
        raise click.UsageError(f"entry {number} was taken back already, by entry {found.undone_by}")
    if found.act.kind in WATCH_KINDS:
        raise click.UsageError(
            f"entry {number} ({found.act.kind}) is what the watch saw, a fact that stays: only "
            "what people did can be taken back"
        )
    if found.refers in entries and entries[found.refers].act.kind == "close":
        raise click.UsageError(
            f"entry {number} let a test go on: say porewatch close to end it again"
        )
    if found.act.kind == "close":
        _resume(layout, found.act)
    undo = enter(
        layout,
        "undo",
        by,
        cell=found.act.cell,
        test=found.act.test,
        held_at=found.act.held_at if when is None else seconds(when, layout.zone),
        refers=number,
    )
    from tui.words import sanitise  # noqa: PLC0415

    about = f" about {sanitise(found.act.cell)}" if found.act.cell else ""
    click.echo(f"entry {undo}: took back entry {number}, {_named(found.act.kind)}{about}")


def _resume(layout: "Layout", close: "Act") -> None:
    from tui.settings.ending import CannotEndError, resume_test  # noqa: PLC0415

    place = next((one for one in layout.places if one.folder == close.cell), None)
    if place is None:
        raise click.ClickException(f"{close.cell} is not on the bench any more")
    try:
        resume_test(place, str(close.test))
    except CannotEndError as error:
        raise click.ClickException(str(error)) from error


def _named(kind: str) -> str:
    from tui.words import sanitise  # noqa: PLC0415

    return _NOUNS.get(kind, f"a {sanitise(kind)}")
