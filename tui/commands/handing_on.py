"""What commands that hand tests on have in common: which tests, and a file that is whole or not."""

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.arguments import Shape, place_of, seconds

if TYPE_CHECKING:
    from tui.papers.subject import Subject


def say(words: str) -> None:
    """One line on stderr, whatever a name brings along."""
    from tui.words import sanitise  # noqa: PLC0415

    print(f"porewatch: {sanitise(words, 2000)}", file=sys.stderr)  # noqa: T201


def subjects_of(
    cells: tuple[str, ...],
    bench: Path | None,
    at: datetime | None,
    area: Shape,
    meanwhile: Callable[[], object] = lambda: None,
) -> "list[Subject]":
    """Each test once, also one of which nothing could be reduced; problems go to stderr.

    Args:
        cells: as the user called them.
        bench: as the user called it.
        at: rows whose own time is later are ignored.
        area: how the specimens bulge.
        meanwhile: may be done in this process while others reduce the tests.
    """
    from tui.papers.side_by_side import each  # noqa: PLC0415
    from tui.papers.subject import Asked, subject_of  # noqa: PLC0415 (numpy)
    from tui.words import problem_words  # noqa: PLC0415

    asked: list[Asked] = []
    known: set[tuple[Path, str | None]] = set()
    for cell in cells:
        layout, place = place_of(cell, bench)
        test = None if place.settings is None else place.settings.test.id
        same = layout.root.resolve() / place.folder, test
        if same in known:
            continue
        known.add(same)
        moment = None if at is None else seconds(at, layout.zone)
        asked.append(Asked(cell, layout, place, moment, area))
    found = each(subject_of, asked, meanwhile)
    for subject in found:
        for problem in () if subject.test is None else subject.test.problems:
            say(problem_words(problem))
        if subject.why is not None:
            say(subject.why)
    return found


def may_write(out: Path) -> None:
    """Whether a file may be written there.

    Raises:
        click.UsageError: it is a folder, or lies in a cell's folder, where a logger writes.
        click.ClickException: that cannot be told.
    """
    try:
        true = out.resolve()  # a link into a cell's folder leads there as well
        if any((around / "cell.toml").is_file() for around in true.parents):
            raise click.UsageError(
                f"{str(out)!r} lies in the folder of a cell, where its logger writes: name another"
            )
        if true.is_dir():
            raise click.UsageError(f"{str(out)!r} is a folder: name a file in it")
    except (OSError, RuntimeError) as error:  # a loop of links is a RuntimeError
        raise _cannot_write(out, error) from None


def write_out(out: Path, content: bytes) -> None:
    """Write a file whole or not at all, in the place of what was there.

    Raises:
        click.UsageError: see `may_write`.
        click.ClickException: it cannot be written.
    """
    from tui.settings.safe_write import put  # noqa: PLC0415

    may_write(out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        put(out, content)
    except (OSError, RuntimeError) as error:
        raise _cannot_write(out, error) from None


def _cannot_write(out: Path, error: OSError | RuntimeError) -> click.ClickException:
    why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return click.ClickException(f"cannot write {str(out)!r}: {why}")
