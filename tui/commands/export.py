"""`porewatch export`: results for other people's programs, as AGS4, a workbook or a table."""

import re
from collections.abc import Sequence
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
)
from tui.commands.handing_on import may_write, say, subjects_of, write_out

if TYPE_CHECKING:
    from tui.papers.exchange.ags4_file import Attached
    from tui.papers.exchange.envelopes import Envelopes
    from tui.papers.subject import Subject

To = Literal["ags4", "xlsx", "csv"]

ENDINGS: dict[To, str] = {"ags4": ".ags", "xlsx": ".xlsx", "csv": ".csv"}
"""What a file of each form usually ends in."""
BESIDE = "FILE"
"""The folder beside an AGS4 file in which readers look for what it names (rule 20)."""


def _file(written: str) -> Path:
    """A file to write.

    Raises:
        click.BadParameter: it can be none.
    """
    if not written.strip() or "\0" in written:
        raise click.BadParameter(f"{written!r} is no name of a file")
    return Path(written)


@click.command("export", short_help="Results for other programs: AGS4, a workbook, a table.")
@cells_argument
@click.option(
    "--to",
    "to",
    type=click.Choice(tuple(ENDINGS), case_sensitive=False),
    required=True,
    help="The form; see above.",
)
@click.option(
    "--out",
    type=_file,
    required=True,
    metavar="FILE",
    help="The file. One that is there is replaced.",
)
@click.option(
    "--readings",
    is_flag=True,
    help="With ags4: lay the readings of each test beside FILE, in the folder FILE/, and name "
    "them in it.",
)
@bench_option
@failure_options("What counts as failure in AGS4 and in the envelope.")
@area_option
@at_option
@click.option(
    "--units",
    type=click.Choice(("SI", "US"), case_sensitive=False),
    default="SI",
    show_default=True,
    help="Units of a workbook; ags4 and csv keep to their own.",
)
def command(
    *,
    cells: tuple[str, ...],
    to: To,
    out: Path,
    readings: bool,
    bench: Path | None,
    criterion: Criterion,
    cohesionless: bool,
    area: Shape,
    at: datetime | None,
    units: Literal["SI", "US"],
) -> None:
    """Write the results of CELL…, each a cell or an earlier test named CELL/TEST, into one file.
    The numbers are those of reduce --json; of several tests of one set
    (specimen.set) their envelope is added.

    \b
    ags4  edition 4.1.1, for databases of ground investigations: TREG, TRET, ESCG
          and ESCT of CU and CD, TRIG and TRIT of UU, with LOCA and SAMP above.
    xlsx  a workbook: a sheet a phase with charts, every reading, cautions, journal.
    csv   one long table: cell, test, quantity, unit, value, standard uncertainty.
          The readings row by row are written by reduce --out.

    What is not known is left empty. AGS4 tells tests apart by what [identity] in cell.toml
    states; what it lacks is named, and written as NOT STATED where a name must stand:

    \b
    project, project_id, location, client, contractor, engineer, recipient, issue
    laboratory, accreditation, operator, checker, status, remarks, deviation
    hole, easting, northing, ground_level        (lengths as "5.20 m")
    sample, sample_id, type, top, base, description, condition
    depth, specimen_base, preparation, failure_mode

    Text never becomes a formula: in ags4 and csv one that begins with = + - @ or a tab, or with
    apostrophes before them, has one more apostrophe in front, which a reader takes off again;
    control characters are dropped. AGS4 is ASCII: σ′ is written sigma', é is e.

    \b
      porewatch export C4 --to ags4 --out C4.ags --readings
      porewatch export C4 C5/T014 C6 --to xlsx --out set.xlsx

    \b
    Exit code:
      0  written; what could not be reduced is named and left out
      1  nothing could be reduced, or the file cannot be written
    """
    if readings and to != "ags4":
        raise click.UsageError("--readings goes with --to ags4: a workbook has them anyway, and "
                               "reduce --out writes them as a table")  # fmt: skip
    other = next((form for form, ending in ENDINGS.items() if out.suffix.lower() == ending), to)
    if other != to:
        raise click.UsageError(f"{str(out)!r} ends as {other} does, and --to says {to}")
    may_write(out)
    told = [one for one in subjects_of(cells, bench, at, area) if one.found is not None]
    if not told:
        raise click.ClickException("nothing can be exported: see above")
    from tui.papers.exchange.envelopes import envelopes_of  # noqa: PLC0415 (numpy)

    envelopes, notes = envelopes_of(told, criterion, cohesionless=cohesionless)
    for note in notes:
        say(note)
    if to == "ags4":
        _ags4(told, out, criterion, envelopes, readings)
    elif to == "xlsx":
        from tui.papers.exchange.workbook import workbook  # noqa: PLC0415 (xlsxwriter)
        from tui.words import Manner  # noqa: PLC0415

        write_out(out, workbook(told, criterion, envelopes, Manner(units), _now(told)))
    else:
        from tui.papers.exchange.csv_table import csv_table  # noqa: PLC0415

        write_out(out, csv_table(told, envelopes))
    say(f"written: {out}")


def _now(subjects: "Sequence[Subject]") -> datetime:
    """The present moment on the bench's clock."""
    from tui.bench.clock import WallClock  # noqa: PLC0415

    return datetime.fromtimestamp(WallClock().now(), subjects[0].layout.zone)


def _ags4(
    subjects: "Sequence[Subject]",
    out: Path,
    criterion: Criterion,
    envelopes: "Envelopes",
    readings: bool,
) -> None:
    """Write the file, and what it names beside it, before it."""
    from tui.papers.exchange.ags4_file import SeveralProjectsError, ags4_file  # noqa: PLC0415

    now = _now(subjects)
    beside = _attachments(subjects, now) if readings else {}
    try:
        file = ags4_file(subjects, criterion, envelopes, now, _program(), beside)
    except SeveralProjectsError as error:
        raise click.UsageError(str(error)) from None
    for one in subjects:
        if one.name in beside:
            _lay_beside(one, beside[one.name], out)
    write_out(out, file.content)
    for note in file.notes:
        say(note)


def _program() -> str:
    """What wrote the file."""
    from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415

    try:
        return f"porewatch {version('porewatch')}"
    except PackageNotFoundError:  # run from a checkout that was not installed
        return "porewatch"


def _attachments(subjects: "Sequence[Subject]", now: datetime) -> "dict[str, Attached]":
    """Where the readings of each test lie, in names that any file system takes."""
    from tui.papers.exchange.ags4_file import Attached  # noqa: PLC0415
    from tui.papers.exchange.ags4_identity import test_name  # noqa: PLC0415

    found: dict[str, Attached] = {}
    taken: set[str] = set()
    for one in subjects:
        plain = re.sub(r"[^A-Za-z0-9]+", "-", test_name(one)).strip("-") or "test"
        name, count = plain, 1
        while name.casefold() in taken:
            count += 1
            name = f"{plain}-{count}"
        taken.add(name.casefold())
        found[one.name] = Attached(name, f"{name}-readings.csv", now)
    return found


def _lay_beside(subject: "Subject", file: "Attached", out: Path) -> None:
    """Write the readings of one test where the file says they are."""
    from tui.commands.reduced_files import readings_csv  # noqa: PLC0415 (pandas)

    assert subject.found is not None
    text = readings_csv(subject.found, subject.layout.zone)
    write_out(out.parent / BESIDE / file.file_set / file.name, text.encode())
