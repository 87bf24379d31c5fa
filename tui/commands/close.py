"""`porewatch close`: the test of a cell is over; its tables go to `tests/`, the hardware stays."""

import codecs
import tomllib
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.acting import act_options, enter, now_on
from tui.commands.arguments import cell_argument, place_of, seconds

if TYPE_CHECKING:
    from tui.settings.closing import Parted
    from tui.settings.document import Document
    from tui.settings.places import Layout, Place


@click.command("close")
@cell_argument
@click.option("--text", metavar="TEXT", default="", help="A remark for the journal.")
@act_options
def command(
    *,
    cell: str,
    text: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """End the running test of CELL: its tables move to tests/ID.toml, [cell] and [log] stay.

    Where cell.toml has no `ended`, it gets --when, else the time of the newest row. No log is
    touched, and an existing tests/ID.toml is never overwritten. No valve is moved: let the
    pressures down by the laboratory's own procedure.
    """
    layout, place = place_of(cell, bench)
    test_id = _running_id(place)
    ended, ended_s = _end(layout, place, when)
    path = place.path / "cell.toml"
    before, document = _read(place, path)
    parted = _parted(document, place.name, test_id, ended)
    as_in_file = _Encoded(before)
    _write(place, test_id, parted, before, as_in_file)
    number = enter(
        layout, "close", by, cell=place.folder, test=test_id, held_at=ended_s, text=text.strip()
    )
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    click.echo(
        f"entry {number}: test {sanitise(test_id)} of {sanitise(place.name)} ended "
        f"{date_and_time(ended_s, layout.zone)}; its tables are in "
        f"{sanitise(place.folder)}/tests/{sanitise(test_id)}.toml"
    )


def _running_id(place: "Place") -> str:
    if place.idle:
        raise click.ClickException(f"no test runs in {place.name}: its cell.toml describes none")
    if place.settings is None:
        raise click.ClickException(
            f"{place.folder}/cell.toml cannot be used: mend what porewatch check lists, then close"
        )
    test = place.settings.test
    if not test.id:
        raise click.ClickException(
            f'{place.folder}/cell.toml names no test: add id = "…" to [test], then close'
        )
    return test.id


def _end(layout: "Layout", place: "Place", when: datetime | None) -> tuple[str | None, float]:
    """The text to be written as `ended`, or None if it stands there, and the moment itself."""
    from tui.settings.zones import moment_s  # noqa: PLC0415

    test = place.settings.test if place.settings is not None else None
    if test is not None and test.ended is not None:
        if when is not None:
            raise click.ClickException(
                f"{place.folder}/cell.toml says when {test.id} ended: leave --when out"
            )
        return None, moment_s(test.ended, layout.zone)
    started = moment_s(test.started, layout.zone) if test and test.started else None
    if when is not None:
        ended = seconds(when, layout.zone)
    else:
        from tui.commands.cell_logs import read_logs  # noqa: PLC0415 (numpy)

        newest = read_logs(place, layout).newest
        usable = newest is not None and (started is None or newest > started)
        ended = newest if usable and newest is not None else now_on(layout)
    if started is not None and ended <= started:
        raise click.ClickException(
            f"the test would end before it started ({place.folder}/cell.toml, test.started)"
        )
    moment = datetime.fromtimestamp(ended, layout.zone)
    return moment.isoformat(timespec="auto" if moment.microsecond else "seconds"), ended


def _read(place: "Place", path: Path) -> tuple[bytes, "Document"]:
    from tui.settings.document import decode, parse_document, read_bytes  # noqa: PLC0415
    from tui.settings.problems import SettingsError  # noqa: PLC0415

    shown_as = f"{place.folder}/cell.toml"
    try:
        content = read_bytes(path, shown_as)
        return content, parse_document(*decode(content), shown_as=shown_as)
    except SettingsError as error:
        raise click.ClickException(str(error)) from error


def _parted(document: "Document", cell: str, test_id: str, ended: str | None) -> "Parted":
    from tui.settings.closing import CannotCloseError, part  # noqa: PLC0415

    try:
        return part(document, cell, test_id, ended)
    except CannotCloseError as error:
        raise click.ClickException(f"{document.file}: {error}") from error


class _Encoded:
    """Text as bytes with the ends of lines and the mark that the file had; always UTF-8."""

    def __init__(self, before: bytes) -> None:
        self._windows = b"\r\n" in before
        self._marked = before.startswith(codecs.BOM_UTF8)

    def __call__(self, text: str) -> bytes:
        ends = text.replace("\n", "\r\n") if self._windows else text
        return (codecs.BOM_UTF8 if self._marked else b"") + ends.encode("utf-8")


def _write(
    place: "Place", test_id: str, parted: "Parted", before: bytes, encoded: _Encoded
) -> None:
    from tui.settings.safe_write import create, replace  # noqa: PLC0415

    earlier = place.path / "tests" / f"{test_id}.toml"
    made = False
    try:
        try:
            create(earlier, encoded(parted.moved))
            made = True
        except FileExistsError:
            if not _half_done(earlier, parted.moved):
                raise click.ClickException(
                    f"{place.folder}/tests/{test_id}.toml exists already and is not overwritten: "
                    "give this test another id, or move that file away"
                ) from None
        if not replace(place.path / "cell.toml", before, encoded(parted.kept)):
            if made:
                earlier.unlink()
            raise click.ClickException(
                f"{place.folder}/cell.toml changed in this moment; nothing was closed, try again"
            )
    except OSError as error:
        if made:
            earlier.unlink(missing_ok=True)
        raise click.ClickException(
            f"{place.folder} cannot be written: {error.strerror or type(error).__name__}; "
            "nothing was closed"
        ) from error


def _half_done(earlier: Path, moved: str) -> bool:
    """Whether an earlier close of this very test stopped between its two files."""
    try:
        there, wanted = tomllib.loads(earlier.read_text("utf-8-sig")), tomllib.loads(moved)
    except (OSError, ValueError):
        return False
    for tables in (there, wanted):
        if isinstance(tables.get("test"), dict):
            tables["test"].pop("ended", None)
    return there == wanted
