"""`porewatch reduce`: one test to the numbers that its standard asks for."""

import json
import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import (
    Shape,
    area_option,
    at_option,
    bench_option,
    cell_argument,
    manner_of_output,
    manner_options,
    place_of,
    seconds,
)

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction
    from tui.bench.one_test import OneTest
    from tui.settings.places import Layout, Place


def _folder(written: str) -> Path:
    """A folder to write into; whether it can be made shows when it is.

    Raises:
        click.BadParameter: it can be none.
    """
    if not written.strip() or "\0" in written or os.path.isfile(written):  # noqa: PTH113 (a name too long is no error there)
        raise click.BadParameter(f"{written!r} is no folder; name one, it is made if need be")
    return Path(written)


@click.command("reduce", short_help="One test to the numbers that its standard asks for.")
@cell_argument
@bench_option
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.reduction/1, in SI.")
@click.option(
    "--out",
    type=_folder,
    metavar="DIR",
    help="Write readings.csv (row by row) and results.json into this folder as well.",
)
@area_option
@at_option
@manner_options
def command(
    *,
    cell: str,
    bench: Path | None,
    as_json: bool,
    out: Path | None,
    area: Shape,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """Reduce the running test of CELL, or an earlier one named as CELL/TEST.

    \b
    Exit code:
      0  reduced, cautions included
      1  nothing could be computed
    """
    layout, place = place_of(cell, bench)
    test, found = reduced(layout, place, at, area)
    from tui.bench.reduction_json import reduction_json  # noqa: PLC0415 (numpy)

    results = reduction_json(found, layout.zone)
    if out is not None:
        from tui.commands.reduced_files import write_files  # noqa: PLC0415 (pandas)

        write_files(out, found, results, layout.zone)
    if as_json:
        click.echo(json.dumps(results, allow_nan=False, indent=1))
        return
    from tui.commands.reduced_text import print_reduction  # noqa: PLC0415 (rich)

    manner = manner_of_output(units or layout.bench.units, plain_signs)
    print_reduction(test, found, layout.zone, manner)


def reduced(
    layout: "Layout", place: "Place", at: datetime | None, area: Shape = "cylinder"
) -> "tuple[OneTest, Reduction]":
    """Read and reduce a test; problems of its settings and logs go to stderr.

    Raises:
        click.ClickException: nothing could be computed; exit code 1.
    """
    from reduce.errors import ReductionError  # noqa: PLC0415 (numpy)
    from reduce.reduction.whole import reduce_test  # noqa: PLC0415
    from tui.bench.one_test import read_test  # noqa: PLC0415
    from tui.words import problem_words  # noqa: PLC0415

    try:
        test = read_test(layout, place, None if at is None else seconds(at, layout.zone))
        found = reduce_test(test.record, area)
    except (ReductionError, LookupError) as error:
        raise click.ClickException(str(error)) from None
    for problem in test.problems:
        print(f"porewatch: {problem_words(problem)}", file=sys.stderr)  # noqa: T201
    return test, found
