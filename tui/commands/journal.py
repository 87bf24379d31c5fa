"""`porewatch journal`: what was done, when it holds, and who said so."""

import json
import sys
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.arguments import (
    at_option,
    bench_argument,
    bench_folder,
    manner_of_output,
    seconds,
)

if TYPE_CHECKING:
    from tui.journal.entries import Entry
    from tui.settings.places import Layout


@click.command("journal")
@bench_argument
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.journal/1.")
@click.option("--kpi", is_flag=True, help="The measures of the alarms instead.")
@at_option
@click.option("--ascii", "plain_signs", is_flag=True, help="ASCII signs only.")
def command(
    *, bench: Path | None, as_json: bool, kpi: bool, at: datetime | None, plain_signs: bool
) -> None:
    """What people did at BENCH: marks, rebases, notes, what they answered to alarms and what they
    took back; and what the night watch raised, cleared and told whom. Entries stand in the order
    of the time at which they hold; the number in front is what "porewatch undo" wants.
    """
    from tui.journal.store import Journal  # noqa: PLC0415
    from tui.settings.places import read_layout  # noqa: PLC0415

    layout = read_layout(bench_folder(bench))
    until = None if at is None else seconds(at, layout.zone)
    journal = Journal.open(layout.root)
    entries = journal.entries(until)
    problems = journal.problems
    journal.close()
    names = {place.folder: place.name for place in layout.places}
    if kpi:
        _measures(entries, layout, until, as_json=as_json, plain_signs=plain_signs)
        _warn(problems)
    elif as_json:
        from tui.bench.as_json import problem_json  # noqa: PLC0415

        found = {
            "schema": "porewatch.journal/1",
            "entries": [entry_json(entry, names, layout.zone) for entry in entries],
            "problems": [problem_json(problem) for problem in problems],
        }
        click.echo(json.dumps(found, allow_nan=False, indent=1))
    else:
        from tui.words.entries import entry_lines  # noqa: PLC0415

        manner = manner_of_output("SI", plain_signs)
        lines = [
            line for entry in entries for line in entry_lines(entry, names, layout.zone, manner)
        ]
        click.echo("\n".join(lines) if lines else "nothing was entered yet")
        _warn(problems)
    if problems:
        raise click.exceptions.Exit(1)


def _measures(
    entries: "tuple[Entry, ...]",
    layout: "Layout",
    until: float | None,
    *,
    as_json: bool,
    plain_signs: bool,
) -> None:
    from tui.commands.acting import now_on  # noqa: PLC0415
    from tui.commands.journal_kpi import kpi_json, kpi_lines  # noqa: PLC0415
    from tui.journal.measures import measure  # noqa: PLC0415
    from tui.words import plain  # noqa: PLC0415

    now = now_on(layout) if until is None else until
    found = measure(entries, layout.zone, now)
    if as_json:
        click.echo(json.dumps(kpi_json(found, layout.zone), allow_nan=False, indent=1))
        return
    manner = manner_of_output("SI", plain_signs)
    click.echo("\n".join(plain(line, manner) for line in kpi_lines(found, layout.zone)))


def _warn(problems: Any) -> None:
    from tui.words import problem_words  # noqa: PLC0415

    for problem in problems:
        print(f"porewatch: {problem_words(problem)}", file=sys.stderr)  # noqa: T201


def entry_json(entry: "Entry", names: dict[str, str], zone: tzinfo) -> dict[str, Any]:
    """One entry; every key is there."""
    from tui.bench.as_json import time_text  # noqa: PLC0415

    act = entry.act
    return {
        "entry": act.entry,
        "kind": act.kind,
        "cell": names.get(act.cell, act.cell),
        "folder": act.cell,
        "test": act.test,
        "held_at": time_text(act.held_at, zone),
        "entered_at": time_text(act.entered_at, zone),
        "who": act.who,
        "host": act.host,
        "client": entry.client,
        "text": act.text,
        "phase": act.phase,
        "step": act.step,
        "until": time_text(act.until, zone),
        "channel": act.channel,
        "reads": act.reads,
        "alarm": act.alarm,
        "about": act.about,
        "ends": act.ends,
        "priority": act.priority,
        "since": time_text(act.since, zone),
        "route": act.route,
        "refers": entry.refers,
        "undone_by": entry.undone_by,
    }
