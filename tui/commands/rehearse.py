"""`porewatch rehearse`: a bench of simulated cells, with the truth about them beside it."""

import tempfile
import time
from datetime import datetime
from pathlib import Path
from typing import IO, Any, get_args
from zoneinfo import ZoneInfo

import click

from reduce.rehearsal.soils import SOILS
from tui.bench.clock import FastClock, WallClock
from tui.rehearsed.bench_folder import NotOursError, check_target, truth_folder, write_bench
from tui.rehearsed.compose import DEFAULT_START, ZONE, Composed, Order, compose
from tui.rehearsed.faults import read_fault
from tui.rehearsed.growing import Growth
from tui.rehearsed.orders import WrongOrderError, read_every, read_noise, read_start
from tui.rehearsed.sets import Kind

USAGE_ERROR = 64

USUAL_SOIL = "soft-clay"


class WrongUsage(click.UsageError):
    """One clear line, exit 64."""

    exit_code = USAGE_ERROR

    def show(self, file: IO[Any] | None = None) -> None:
        click.echo(f"rehearse: {self.format_message()}", file=file, err=file is None)


@click.command(
    "rehearse",
    short_help="Write a bench of simulated cells, with the truth about them beside it.",
)
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    metavar="BENCH",
    help="Folder of the bench; new, empty, or one that rehearse wrote.",
)
@click.option(
    "--cells",
    type=click.IntRange(1, 500),
    default=6,
    show_default=True,
    metavar="N",
    help="How many cells; beyond six the scenario repeats with other samples.",
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=0,
    show_default=True,
    metavar="S",
    help="Another seed, another bench; the same arguments, the same bytes.",
)
@click.option(
    "--soil",
    type=click.Choice(sorted(SOILS)),
    help="One soil in every cell, from set-up to the end, in sets of three specimens of one "
    "sample at 100, 200 and 400 kPa: sets of CU and of CD in turns.",
)
@click.option(
    "--kind",
    type=click.Choice(get_args(Kind)),
    help=f"The kind of every test; the soil is {USUAL_SOIL} if none is named. UU: sheared "
    "undrained under these cell pressures, total stresses alone.",
)
@click.option(
    "--noise",
    type=click.FloatRange(0),
    default=1.0,
    show_default=True,
    metavar="FACTOR",
    help="Noise, zero errors and drift with temperature over the usual. 0: perfect sensors, "
    "with digits enough in logs and settings that rounding does not matter.",
)
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar="KIND[:CELL[@HOURS]]",
    help="Something goes wrong: an alarm kind, in that cell, so many hours after the bench's "
    "start. May be given several times.",
)
@click.option(
    "--start",
    metavar="TIME",
    default=f"{DEFAULT_START:%Y-%m-%dT%H:%M}",
    show_default=True,
    help="When the bench begins, in its own zone; `now` with --live 1 follows the clock.",
)
@click.option(
    "--days",
    type=click.FloatRange(0, 3650, min_open=True),
    metavar="D",
    help="How long it lasts; as long as the tests need by default.",
)
@click.option(
    "--rows",
    type=click.Choice(["scheduled", "steady"]),
    default="scheduled",
    show_default=True,
    help="Rows at the slots of the schedules, or at a fixed pace.",
)
@click.option(
    "--every", default="10 s", show_default=True, metavar='"10 s"', help="The pace of steady rows."
)
@click.option(
    "--truth",
    metavar="FOLDER|none",
    help="Where the truth goes; by default beside the bench, BENCH.truth.",
)
@click.option(
    "--live",
    type=click.FloatRange(0, min_open=True),
    metavar="SPEED",
    help="Let the logs grow now, SPEED times as fast as life, until interrupted; "
    "their stamps are those of the rehearsal.",
)
def command(
    *,
    out: Path,
    cells: int,
    seed: int,
    soil: str | None,
    kind: Kind | None,
    noise: float,
    faults: tuple[str, ...],
    start: str,
    days: float | None,
    rows: str,
    every: str,
    truth: str | None,
    live: float | None,
) -> None:
    """Write a bench of simulated cells, with the truth about them beside it.

    Without --soil and --kind it is the bench of an invented ferry quay: six cells, each in
    another phase. Everything about it is made up.
    """
    try:
        check_target(out)
        present = start == "now"
        order = Order(
            cells=cells,
            seed=seed,
            soil=soil or (USUAL_SOIL if kind else None),
            kind=kind,
            noise=read_noise(noise),
            start=_now() if present else read_start(start),
            days=days,
            rows=rows,
            every_s=read_every(every),
            now="clock" if present and live == 1.0 else "last row",
            faults=tuple(read_fault(text) for text in faults),
        )
        composed = compose(order)
        beside = None if truth == "none" else Path(truth) if truth else truth_folder(out)
        write_bench(composed, out, beside, logs=live is None)
        if live is not None:
            _grow(composed, out, live, order.first if present else None)
    except (WrongOrderError, NotOursError) as error:
        raise WrongUsage(str(error)) from None
    except OSError as error:
        raise click.ClickException(
            f"cannot write {error.filename or out}: {error.strerror or error}"
        ) from None
    click.echo(f"{out}: {cells} cells, {composed.rows} rows", err=True)


def _now() -> datetime:
    return datetime.fromtimestamp(WallClock().now(), ZoneInfo(ZONE)).replace(
        tzinfo=None, second=0, microsecond=0
    )


def _grow(composed: Composed, out: Path, speed: float, origin: float | None) -> None:
    """Append rows as they fall due, until all are written or somebody interrupts."""
    with tempfile.TemporaryDirectory(prefix="porewatch-") as folder:
        finished = Path(folder) / "bench"
        write_bench(composed, finished, None)
        growth = Growth(finished, out)
    # Without a tie to the clock the empty hours before the first test are left out.
    clock = FastClock(growth.first_time if origin is None else origin, speed)
    click.echo(f"{out} grows at {speed:g} × life; interrupt to stop", err=True)
    try:
        while growth.next_time() is not None:
            growth.advance_to(clock.now())
            time.sleep(0.2)
    except KeyboardInterrupt:
        click.echo("stopped", err=True)
