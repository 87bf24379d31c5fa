"""`porewatch strength`: the failure envelope of a set of specimens."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import (
    Criterion,
    Shape,
    area_option,
    at_option,
    bench_option,
    cells_argument,
    failure_options,
    manner_of_output,
    manner_options,
    place_of,
)
from tui.commands.reduce import reduced

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction


@click.command("strength", short_help="The failure envelope of a set of specimens.")
@cells_argument
@bench_option
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.strength/1, in SI.")
@failure_options("What counts as failure.")
@area_option
@at_option
@manner_options
def command(
    *,
    cells: tuple[str, ...],
    bench: Path | None,
    as_json: bool,
    criterion: Criterion,
    cohesionless: bool,
    area: Shape,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """c′ and φ′ of the specimens in CELL…, each a cell or an earlier test named CELL/TEST.

    \b
    Exit code:
      0  computed, cautions included
      1  nothing could be computed
    """
    from reduce.errors import ReductionError  # noqa: PLC0415 (numpy)
    from reduce.strength.of_set import strength_of_set  # noqa: PLC0415
    from tui.bench.failed_specimens import doubts_about_set, failed_specimens  # noqa: PLC0415
    from tui.bench.strength_json import strength_json  # noqa: PLC0415

    system: Literal["SI", "US"] = units or "SI"
    reductions: list[tuple[str, Reduction]] = []
    samples: dict[str, str | None] = {}
    known: dict[object, str] = {}
    for cell in cells:
        layout, place = place_of(cell, bench)
        system = units or layout.bench.units
        test = None if place.settings is None else place.settings.test.id
        same = layout.root.resolve() / place.folder, test
        if same in known:
            if cell != known[same]:
                _note(f"{cell} is {known[same]} once more; it counts once")
            continue
        known[same] = cell
        try:
            reductions.append((cell, reduced(layout, place, at, area)[1]))
            samples[cell] = None if place.settings is None else place.settings.specimen.set
        except click.UsageError:
            raise
        except click.ClickException as error:  # the others may still give an envelope
            _note(error.format_message())
    specimens, notes = failed_specimens(reductions, criterion)
    for note in notes:
        _note(note)
    try:
        found = strength_of_set(specimens, criterion=criterion, cohesionless=cohesionless)
    except ReductionError as error:
        raise click.ClickException(str(error)) from None
    doubts = doubts_about_set(specimens, samples, dict(reductions))
    found = replace(found, cautions=(*doubts, *found.cautions))
    if as_json:
        click.echo(json.dumps(strength_json(found), allow_nan=False, indent=1))
        return
    from tui.commands.strength_text import print_strength  # noqa: PLC0415 (rich)

    print_strength(found, specimens, manner_of_output(system, plain_signs))


def _note(words: str) -> None:
    """One line on stderr, whatever a name brings along."""
    from tui.words import sanitise  # noqa: PLC0415

    click.echo(f"porewatch: {sanitise(words)}", err=True)
