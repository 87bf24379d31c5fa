"""`porewatch report`: a test or a set as one HTML or PDF file for whoever signs it."""

import shlex
from datetime import datetime
from importlib import import_module
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
    manner_options,
    seconds,
)
from tui.commands.handing_on import subjects_of, write_out

if TYPE_CHECKING:
    from tui.papers.subject import Subject

ENDINGS = (".html", ".htm", ".pdf")


def _file(written: str) -> Path:
    """A file to write, whose ending says what it is to be.

    Raises:
        click.BadParameter: it has another ending, or can be no file.
    """
    path = Path(written)
    if "\0" in written or path.suffix.lower() not in ENDINGS:
        raise click.BadParameter(
            f"{written!r} is neither HTML nor PDF: name a file that ends in .html or .pdf"
        )
    return path


@click.command("report", short_help="A test or a set as one HTML or PDF for whoever signs it.")
@cells_argument
@click.option(
    "--out",
    type=_file,
    required=True,
    metavar="FILE",
    help="The file; HTML or PDF by its ending. One that is there is replaced.",
)
@bench_option
@failure_options("What counts as failure; the others stand beside it.")
@area_option
@at_option
@manner_options
def command(
    *,
    cells: tuple[str, ...],
    out: Path,
    bench: Path | None,
    criterion: Criterion,
    cohesionless: bool,
    area: Shape,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """Write everything that the standard asks to be reported of CELL…, each a cell or an earlier
    test named CELL/TEST, into one file: identification, set-up, saturation, consolidation, shear,
    and the envelope where several of one set (specimen.set) are named.

    The numbers are those of reduce --json. What nobody recorded is left as a line to write on. A
    test that still runs, or that something is wrong with, is reported as far as it goes, with
    what is missing. The report is a draft until tester and checker have signed it.

    \b
      porewatch report C4 --out C4.pdf
      porewatch report C4 C5/T014 C6 --out set.html --units US

    \b
    Exit code:
      0  written, cautions included
      1  nothing at all can be said, or the file cannot be written
    """
    from tui.papers.report.paper import Wish, paper_of  # noqa: PLC0415 (numpy)
    from tui.words import Manner  # noqa: PLC0415

    is_pdf = out.suffix.lower() == ".pdf"
    subjects = _subjects(cells, bench, at, area, is_pdf=is_pdf)
    layout = subjects[0].layout
    wish = Wish(
        criterion=criterion,
        shape=area,
        cohesionless=cohesionless,
        at_s=None if at is None else seconds(at, layout.zone),
        command=_again(cells, out, criterion, cohesionless, area, at, units),
    )
    paper = paper_of(subjects, Manner(units or layout.bench.units, ascii=plain_signs), wish)
    if is_pdf:
        from tui.papers.report.pdf import pdf_of  # noqa: PLC0415 (reportlab, matplotlib)

        content = pdf_of(paper)
    else:
        from tui.papers.report.html import html_of  # noqa: PLC0415 (jinja2, matplotlib)

        content = html_of(paper)
    write_out(out, content)
    click.echo(f"written: {out}", err=True)


def _subjects(
    cells: tuple[str, ...], bench: Path | None, at: datetime | None, area: Shape, *, is_pdf: bool
) -> "list[Subject]":
    """Each test once; what draws them is imported meanwhile.

    Raises:
        click.ClickException: nothing at all can be said of any of them; exit code 1.
    """
    from tui.papers.report.unusable import as_written  # noqa: PLC0415

    draws = "tui.papers.report.pdf" if is_pdf else "tui.papers.report.html"
    found = subjects_of(cells, bench, at, area, lambda: import_module(draws))
    if not any(one.settings is not None or as_written(one) for one in found):
        raise click.ClickException("nothing can be reported: see above")
    return found


def _again(
    cells: tuple[str, ...],
    out: Path,
    criterion: str,
    cohesionless: bool,
    area: str,
    at: datetime | None,
    units: str | None,
) -> str:
    """The words that write this report again, on this bench."""
    words = ["porewatch", "report", *cells, "--out", out.name, "--criterion", criterion]
    words += ["--cohesionless"] if cohesionless else []
    words += ["--area", area]
    words += [] if at is None else ["--at", at.isoformat()]
    words += [] if units is None else ["--units", units]
    return shlex.join(words)
