"""`porewatch check`: what is wrong with a bench, where, and what to do; every row not used."""

import json
from datetime import datetime
from pathlib import Path

import click

from tui.bench.clock import WallClock
from tui.commands.arguments import (
    at_option,
    bench_argument,
    bench_folder,
    manner_of_output,
    moment_on_bench,
    page_width,
)

FINE, TO_MEND = 0, 1
"""Exit codes."""


@click.command("check")
@bench_argument
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.check/1.")
@at_option
@click.option("--ascii", "plain_signs", is_flag=True, help="ASCII signs only.")
def command(*, bench: Path | None, as_json: bool, at: datetime | None, plain_signs: bool) -> None:
    """Look for what is wrong with BENCH: settings, the plan of each test against itself, logs,
    clocks, disk and routes; and list every row of a log that is not used. With --at only the
    readings are as of that time: settings, disk and routes are as now.

    \b
    Exit code:
      0  nothing to mend (notes do not count)
      1  an error or a warning
    """
    from tui.commands.findings import examine, findings_json  # noqa: PLC0415 (--help needs none)

    root = bench_folder(bench)
    findings = examine(root, WallClock().now(), moment_on_bench(at, root))
    if as_json:
        click.echo(json.dumps(findings_json(findings), allow_nan=False, indent=1))
    else:
        from tui.commands.findings_text import findings_text  # noqa: PLC0415

        manner = manner_of_output("SI", plain_signs)
        lines = findings_text(findings, manner, page_width())
        click.echo("\n".join(lines), color=manner.colour)
    raise click.exceptions.Exit(TO_MEND if findings.to_mend else FINE)
