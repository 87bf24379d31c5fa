"""`porewatch adopt`: looks at the logs of an unknown logger and proposes their `cell.toml`."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.arguments import manner_of_output, page_width

if TYPE_CHECKING:
    from datetime import tzinfo

    from tui.feed.adopting.proposals import Adoption

NOT_WRITTEN = 1
"""Exit code when nothing was written."""


@click.command("adopt")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Write without asking, if nothing is in doubt.")
@click.option("--ascii", "plain_signs", is_flag=True, help="ASCII signs only.")
def command(*, folder: Path, yes: bool, plain_signs: bool) -> None:
    """Look at the logs in FOLDER, propose a cell.toml with reasons and doubts, and write it when
    you agree.

    The logs are only read. An existing cell.toml is never overwritten. What is in doubt is
    written as a comment that waits for you.

    \b
    Exit code:
      0  cell.toml was written
      1  it was not: no consent, a doubt under --yes, no logs, or one is there
    """
    _must_be_free(folder)
    adoption = _proposed(folder)
    from tui.commands.adopt_text import preview  # noqa: PLC0415 (--help needs none)

    manner = manner_of_output("SI", plain_signs)
    click.echo("\n".join(preview(adoption, manner, page_width())))
    if yes and adoption.doubts:
        keys = ", ".join(dict.fromkeys(doubt.key for doubt in adoption.doubts))
        raise click.ClickException(
            f"nothing was written: with --yes nothing may be in doubt, and {keys} "
            f"{'is' if ',' not in keys else 'are'}; run it on a terminal without --yes"
        )
    if not yes and not _agreed(adoption):
        raise click.exceptions.Exit(NOT_WRITTEN)
    _write(folder, adoption)
    click.echo(_next(folder, adoption))


def _must_be_free(folder: Path) -> None:
    if not folder.is_dir():
        what = "is no folder" if folder.exists() else "does not exist"
        raise click.UsageError(f"{str(folder)!r} {what}")
    if (folder / "cell.toml").exists() or (folder / "cell.toml").is_symlink():
        raise click.ClickException(
            f"{folder / 'cell.toml'} exists already and stays as it is; porewatch check says what "
            "is wrong with it"
        )
    if (folder / "bench.toml").exists() or any(folder.glob("*/cell.toml")):
        raise click.ClickException(
            f"{folder} is a bench: adopt the folder of one cell in it, with that logger's files"
        )


def _proposed(folder: Path) -> "Adoption":
    from tui.feed.adopting.adoption import propose_adoption  # noqa: PLC0415 (numpy)
    from tui.feed.adopting.proposals import NothingToAdoptError  # noqa: PLC0415

    zone, cells = _around(folder)
    try:
        return propose_adoption(folder, zone, cells)
    except NothingToAdoptError as error:
        raise click.ClickException(f"{folder} cannot be adopted: {error}") from error


def _around(folder: Path) -> "tuple[tzinfo, tuple[str, ...]]":
    """The zone and the cells of the bench that the folder lies in."""
    from tui.settings.places import find_bench, read_layout  # noqa: PLC0415 (pydantic)
    from tui.settings.zones import machine_zone  # noqa: PLC0415

    bench = find_bench(folder)
    if bench == folder:  # no bench is around it
        return machine_zone(), ()
    layout = read_layout(bench)
    return layout.zone, tuple(place.name for place in layout.places)


def _agreed(adoption: "Adoption") -> bool:
    """Whether the person at the terminal wants it; False where there is none."""
    if sys.stdin is None or not sys.stdin.isatty() or not sys.stdout.isatty():
        click.echo(
            "porewatch: nothing was written: there is no terminal to ask on; --yes writes "
            "if nothing is in doubt",
            err=True,
        )
        return False
    question = "Write this cell.toml?"
    if adoption.doubts:
        question = "Write it, with what is in doubt as comments?"
    if click.confirm(question, default=False):
        return True
    click.echo("nothing was written")
    return False


def _write(folder: Path, adoption: "Adoption") -> None:
    from tui.feed.adopting.cell_text import cell_text  # noqa: PLC0415
    from tui.settings.safe_write import create  # noqa: PLC0415

    path = folder / "cell.toml"
    try:
        create(path, cell_text(adoption).encode("utf-8"))
    except FileExistsError:
        raise click.ClickException(
            f"{path} was made by somebody else in this moment and stays as it is"
        ) from None
    except OSError as error:
        raise click.ClickException(
            f"{path} cannot be written: {error.strerror or type(error).__name__}"
        ) from error


def _next(folder: Path, adoption: "Adoption") -> str:
    from tui.words import sanitise  # noqa: PLC0415

    path = sanitise(str(folder / "cell.toml"))
    first = "settle what is marked doubtful, then " if adoption.doubts else ""
    return (
        f"{path} is written. Next: {first}fill in [cell], [test] and [specimen] in it when a test "
        "starts, and run porewatch check."
    )
