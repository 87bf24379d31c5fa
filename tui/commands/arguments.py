"""What several commands take: the bench, a moment, a cell, how to write."""

import os
import shutil
import sys
from collections.abc import Callable
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import click

if TYPE_CHECKING:
    from tui.settings.places import Layout, Place
    from tui.words import Manner

BENCH_VARIABLE = "POREWATCH_BENCH"
_PAGE = 80

Function = TypeVar("Function", bound=Callable[..., Any])
Shape = Literal["cylinder", "parabola", "plane"]
Criterion = Literal["peak_deviator", "peak_ratio", "strain_limit"]
CRITERIA: tuple[Criterion, ...] = ("peak_deviator", "peak_ratio", "strain_limit")


def iso_time(written: str) -> datetime:
    """A moment in ISO 8601, perhaps without an offset: the bench's zone is known only later.

    Raises:
        click.BadParameter: it is none.
    """
    try:
        return datetime.fromisoformat(written.strip())
    except ValueError:
        raise click.BadParameter(
            f"{written!r} is no time; write it as 2031-02-03T08:10, "
            "with an offset (2031-02-03T08:10+01:00) if it is not in the bench's zone"
        ) from None


def _unit_system(written: str) -> Literal["SI", "US"]:
    if written.upper() == "SI":
        return "SI"
    if written.upper() == "US":
        return "US"
    raise click.BadParameter(f"{written!r} is neither SI nor US")


def bench_argument(function: Function) -> Function:
    """`[BENCH]`, where a command is about a whole bench."""
    return click.argument("bench", required=False, type=click.Path(path_type=Path))(function)


def bench_option(function: Function) -> Function:
    """`--bench BENCH`, where a command is about a cell."""
    return click.option(
        "--bench",
        metavar="BENCH",
        type=click.Path(path_type=Path),
        help=f"The bench; default: ${BENCH_VARIABLE}, then the current folder.",
    )(function)


def at_option(function: Function) -> Function:
    """`--at TIME`."""
    return click.option(
        "--at",
        type=iso_time,
        metavar="TIME",
        help="As of that time, such as 2031-02-03T08:10 (in the bench's zone).",
    )(function)


def manner_options(function: Function) -> Function:
    """`--units` and `--ascii`."""
    function = click.option("--ascii", "plain_signs", is_flag=True, help="ASCII signs only.")(
        function
    )
    return click.option(
        "--units",
        type=_unit_system,
        metavar="SI|US",
        help="Show values in these; default: as bench.toml says.",
    )(function)


def theme_option(function: Function) -> Function:
    """`--theme dark|light|contrast`."""
    return click.option(
        "--theme",
        type=click.Choice(("dark", "light", "contrast")),
        help="Colours at the start; default: as left last, else dark. The key t changes them.",
    )(function)


def bench_folder(given: Path | None) -> Path:
    """The folder of the bench: as given, else from the environment, else around here.

    Raises:
        click.UsageError: there is no such folder.
    """
    named = os.environ.get(BENCH_VARIABLE)
    folder = given or (Path(named) if named else None)
    if folder is not None and not folder.is_dir():
        what = "is no folder" if folder.exists() else "does not exist"
        origin = "" if given else f" (from ${BENCH_VARIABLE})"
        raise click.UsageError(f"the bench {str(folder)!r}{origin} {what}")
    if folder is not None and not (folder / "cell.toml").is_file():
        return folder
    from tui.settings.places import find_bench  # noqa: PLC0415 (pydantic, only if needed)

    return find_bench(folder or Path.cwd())


def seconds(when: datetime, zone: tzinfo) -> float:
    """A moment as seconds since the epoch; without an offset it is on the bench's wall clock.

    Raises:
        click.UsageError: it is beyond the calendar.
    """
    try:
        moment = (when if when.tzinfo is not None else when.replace(tzinfo=zone)).timestamp()
        datetime.fromtimestamp(moment, zone)  # near the calendar's ends it cannot be told again
    except (OverflowError, ValueError, OSError):
        raise click.UsageError(f"{when.isoformat()} is too far away to be meant") from None
    return moment


def moment_on_bench(when: datetime | None, root: Path) -> float | None:
    """Like `seconds`, reading the bench's zone only when it is needed."""
    if when is None:
        return None
    if when.tzinfo is not None:
        return seconds(when, when.tzinfo)
    from tui.settings.places import read_layout  # noqa: PLC0415 (pydantic, only if needed)

    return seconds(when, read_layout(root).zone)


def in_browser() -> bool:
    """Whether `browse` shows what this process draws: its terminal is a page."""
    return os.environ.get("TEXTUAL_DRIVER", "").endswith(":WebDriver")


def page_width() -> int:
    """How wide a printed page is: the terminal, else what $COLUMNS says, else 80. [columns]"""
    if sys.stdout.isatty() or os.environ.get("COLUMNS"):
        return shutil.get_terminal_size((_PAGE, 24)).columns
    return _PAGE


def manner_of_output(units: Literal["SI", "US"], plain_signs: bool) -> "Manner":
    """How to write to standard output: colours for a terminal, ASCII where no more can be shown."""
    from tui.words import Manner  # noqa: PLC0415

    encoding = (sys.stdout.encoding or "ascii").lower().replace("-", "").replace("_", "")
    shown = in_browser() or (
        sys.stdout.isatty() and os.environ.get("TERM") not in ("dumb", "unknown")
    )
    return Manner(
        units=units,
        ascii=plain_signs or not encoding.startswith(("utf8", "utf16", "cp65001")),
        colour=shown and not os.environ.get("NO_COLOR"),
    )


def complete_cells(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Names of the bench's cells for the Tab key; silent whatever goes wrong."""
    try:
        from tui.settings.places import read_layout  # noqa: PLC0415

        root = bench_folder(ctx.params.get("bench"))
        names = [place.name for place in read_layout(root).places]
    except Exception:  # noqa: BLE001 (a shell that completes shows no errors)
        return []
    return [name for name in names if name.startswith(incomplete)]


def cell_argument(function: Function) -> Function:
    """`CELL`."""
    return click.argument("cell", shell_complete=complete_cells)(function)


def cells_argument(function: Function) -> Function:
    """`CELL…`."""
    return click.argument(
        "cells", nargs=-1, required=True, metavar="CELL…", shell_complete=complete_cells
    )(function)


def area_option(function: Function) -> Function:
    """`--area cylinder|parabola`."""
    return click.option(
        "--area",
        type=click.Choice(["cylinder", "parabola"]),
        default="cylinder",
        show_default=True,
        help="How the specimen bulges: decides the corrected area.",
    )(function)


def failure_options(of_criterion: str) -> Callable[[Function], Function]:
    """`--criterion` and `--cohesionless`.

    Args:
        of_criterion: what the help says of the first.
    """

    def with_both(function: Function) -> Function:
        function = click.option(
            "--cohesionless", is_flag=True, help="Lead the envelope through the origin: c′ = 0."
        )(function)
        return click.option(
            "--criterion",
            type=click.Choice(CRITERIA),
            default="peak_deviator",
            show_default=True,
            help=of_criterion,
        )(function)

    return with_both


def place_of(cell: str, bench: Path | None) -> "tuple[Layout, Place]":
    """The cell that a person means by its name, its folder on the bench, or a path to its folder.

    Raises:
        click.UsageError: there is none; the message lists those that there are.
    """
    from tui.settings.places import (  # noqa: PLC0415
        UnknownCellError,
        find_bench,
        find_place,
        read_layout,
    )
    from tui.settings.problems import SettingsError  # noqa: PLC0415

    # A path to a cell's folder says itself which bench is meant, unless that was said.
    own = None if bench or os.environ.get(BENCH_VARIABLE) else _cell_folder(cell)
    layout = read_layout(bench_folder(bench) if own is None else find_bench(own))
    try:
        return layout, find_place(layout, cell)
    except UnknownCellError as error:
        raise click.UsageError(str(error)) from error
    except SettingsError as error:
        raise click.ClickException(str(error)) from error


def _cell_folder(named: str) -> Path | None:
    for folder in (Path(named), Path(named).parent):
        try:
            if folder.name and (folder / "cell.toml").is_file():
                return folder
        except (OSError, ValueError):
            continue
    return None
