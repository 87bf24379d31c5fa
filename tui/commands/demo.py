"""`porewatch demo`: a bench of invented cells that grows many times faster than life."""

import re
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import manner_of_output, manner_options, theme_option
from tui.commands.dashboard import leaving_in_order, require_terminal

if TYPE_CHECKING:
    from tui.bench.clock import Clock
    from tui.rehearsed.growing import Growth

SAMPLES = Path(__file__).resolve().parents[2] / "sample_logs"
"""Beside the packages in a checkout; an installed program has none."""

_BEAT_S = 0.5
_PAUSE_S = 0.2
"""Between two looks of the loggers at the fast clock. [s]"""

_HEAD_START = 0.15
"""How much of the time between the last cell's first row and the end is there at the start."""


@click.command("demo")
@click.option(
    "--speed",
    type=click.FloatRange(min=0.0, min_open=True, max=1e5),
    default=60.0,
    show_default=True,
    metavar="N",
    help="How many times faster than life.",
)
@theme_option
@manner_options
def command(
    *, speed: float, theme: str | None, units: Literal["SI", "US"] | None, plain_signs: bool
) -> None:
    """Six invented cells under the dashboard, their logs growing while you look.

    The bench lies in a temporary folder that goes when you leave (key q). Soils, readings and
    names are made up; the program that watches them is the real one, on real files.
    """
    require_terminal()
    manner = manner_of_output(units or "SI", plain_signs)

    from tui.bench.clock import FastClock  # noqa: PLC0415 (numpy; help needs none of it)
    from tui.bench.following import Following  # noqa: PLC0415
    from tui.rehearsed.growing import Growth  # noqa: PLC0415

    with (
        leaving_in_order() as leaving,
        tempfile.TemporaryDirectory(prefix="porewatch-demo-") as folder,
    ):
        source = finished_bench(Path(folder) / "finished")
        growth = Growth(source, Path(folder) / "bench")
        go_by_the_clock(growth.target)
        start = begin_of_show(source, growth)
        growth.advance_to(start)
        clock = FastClock(start, speed, stop_at=growth.last_time)
        with growing(growth, clock):
            leaving.show(
                lambda: Following.live(growth.target, clock),
                manner,
                _BEAT_S,
                pace=f"demo × {speed:g}",
                root=growth.target,
                theme=theme,
            )


def finished_bench(folder: Path) -> Path:
    """The bench of the samples; where the checkout is not at hand, the same from the model.

    Args:
        folder: where to make it if it has to be made.
    """
    if (SAMPLES / "bench.toml").is_file():
        return SAMPLES
    from tui.rehearsed.bench_folder import write_bench  # noqa: PLC0415 (the soil models)
    from tui.rehearsed.compose import Order, compose  # noqa: PLC0415

    write_bench(compose(Order()), folder, None)
    return folder


def go_by_the_clock(bench: Path) -> None:
    """The samples are a finished bench; one that grows goes by its clock."""
    path = bench / "bench.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"(?m)^now\s*=.*$", 'now = "clock"', text), encoding="utf-8")


def begin_of_show(source: Path, growth: "Growth") -> float:
    """A moment at which every cell has some history already. [s since the epoch]"""
    from tui.bench.look import look  # noqa: PLC0415

    begins = [cell.spans[0].start for cell in look(source).cells if cell.spans]
    latest = max(begins, default=growth.first_time)
    return latest + _HEAD_START * (growth.last_time - latest)


@contextmanager
def growing(growth: "Growth", clock: "Clock") -> Iterator[threading.Thread]:
    """Loggers at work: rows are appended as the clock passes them, until the block is left."""
    left = threading.Event()

    def write() -> None:
        while not left.wait(_PAUSE_S) and growth.next_time() is not None:
            growth.advance_to(clock.now())

    loggers = threading.Thread(target=write, name="demo loggers", daemon=True)
    loggers.start()
    try:
        yield loggers
    finally:
        left.set()
        loggers.join()
