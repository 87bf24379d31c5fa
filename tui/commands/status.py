"""`porewatch status`: one look, printed."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import (
    at_option,
    bench_argument,
    bench_folder,
    complete_cells,
    manner_of_output,
    manner_options,
    moment_on_bench,
    page_width,
)

if TYPE_CHECKING:
    from tui.bench.picture import Bench, Cell, Worst

WELL, WARNING, URGENT, UNTOLD = 0, 1, 2, 3
"""Exit codes."""


@click.command("status")
@bench_argument
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.status/1, in SI.")
@click.option("--cell", metavar="CELL", shell_complete=complete_cells, help="Only this cell.")
@at_option
@manner_options
def command(
    *,
    bench: Path | None,
    as_json: bool,
    cell: str | None,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """One look at BENCH: what each cell is doing, how old that is, and what comes next.

    \b
    Exit code, the first that applies:
      2  an urgent alarm
      3  a cell that could not be told, or no cell at all
      1  a warning, or a folder not adopted
      0  else
    """
    root = bench_folder(bench)
    from tui.bench.look import look  # noqa: PLC0415 (numpy; help and wrong usage need none of it)

    picture = watched(look(root, at=moment_on_bench(at, root)), root)
    if cell is not None:
        picture = only(picture, cell)
    if as_json:
        from tui.bench.as_json import status_json  # noqa: PLC0415

        click.echo(json.dumps(status_json(picture), allow_nan=False, indent=1))
    else:
        from tui.words.printed import NARROWEST, print_bench  # noqa: PLC0415

        manner = manner_of_output(units or picture.units, plain_signs)
        lines = print_bench(picture, manner, max(page_width(), NARROWEST))
        click.echo("\n".join(lines), color=manner.colour)
    raise click.exceptions.Exit(exit_code(picture))


def watched(bench: "Bench", root: Path) -> "Bench":
    """The picture with who is on duty now, whatever moment it shows."""
    from tui.bench.clock import WallClock  # noqa: PLC0415
    from tui.guard.duty import duty_problems, read_duty  # noqa: PLC0415

    now = WallClock().now()
    troubles = duty_problems(root, now)
    worst: Worst = "warning" if troubles and bench.worst in ("ok", "note") else bench.worst
    problems = (*bench.problems, *troubles)
    return replace(bench, guard=read_duty(root, now), problems=problems, worst=worst)


def only(bench: "Bench", named: str) -> "Bench":
    """The picture with one cell in it; what is wrong with the bench itself stays.

    Raises:
        click.UsageError: no cell has that name or folder.
    """
    folder = named.strip("/")
    cells = tuple(one for one in bench.cells if named == one.cell) or tuple(
        one for one in bench.cells if folder == one.folder
    )
    if len(cells) > 1:
        folders = ", ".join(one.folder for one in cells)
        raise click.UsageError(f"{len(cells)} cells are named {named!r}; name a folder: {folders}")
    if not cells:
        from tui.commands.main import did_you_mean  # noqa: PLC0415

        known = [one.cell for one in bench.cells]
        raise click.UsageError(f"no cell {named!r} on this bench{did_you_mean(named, known)}")
    from tui.words import shared_by  # noqa: PLC0415

    (one,) = cells
    rest = replace(
        bench,
        cells=cells,
        hands=tuple(hand for hand in bench.hands if hand.cell == one.cell),
        visits=tuple(
            replace(visit, hands=own)
            for visit in bench.visits
            if (own := tuple(hand for hand in visit.hands if hand.cell == one.cell))
        ),
        not_adopted=(),
        alarms=shared_by(one, bench.alarms),
    )
    return replace(rest, worst=_worst(rest, one))


def _worst(bench: "Bench", cell: "Cell") -> "Worst":
    """How things stand where one cell is looked at, in the order of the exit codes."""
    standing = {alarm.priority for alarm in (*bench.alarms, *cell.alarms) if alarm.counts}
    severities = _severities(bench)
    if "urgent" in standing:
        return "urgent"
    if not cell.told:
        return "unknown"
    if "warning" in standing or severities - {"note"}:
        return "warning"
    return "note" if standing or severities or cell.blind else "ok"


def exit_code(bench: "Bench") -> int:
    """What the look comes to, as a number for scripts.

    Args:
        bench: with the cells that count.
    """
    if bench.worst == "urgent":
        return URGENT
    if not bench.cells or not all(cell.told for cell in bench.cells):
        return UNTOLD
    if bench.worst == "warning" or bench.not_adopted or _severities(bench) - {"note"}:
        return WARNING
    return WELL


def _severities(bench: "Bench") -> set[str]:
    problems = [*bench.problems, *(problem for cell in bench.cells for problem in cell.problems)]
    return {problem.severity for problem in problems}
