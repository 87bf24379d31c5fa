"""`porewatch watch`: the dashboard."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import (
    at_option,
    bench_argument,
    bench_folder,
    manner_of_output,
    manner_options,
    moment_on_bench,
    theme_option,
)
from tui.commands.dashboard import leaving_in_order, require_terminal

if TYPE_CHECKING:
    from tui.bench.beats import Following as Beaten

_BEAT_S = 1.0
_BEAT_ON_A_SLOW_LINK_S = 5.0


@click.command("watch")
@bench_argument
@click.option(
    "--replay",
    type=click.FloatRange(min=0.0, min_open=True, max=1e6),
    metavar="SPEED",
    help="Run through the logs from their start, SPEED times faster than life.",
)
@click.option(
    "--quiet-link",
    is_flag=True,
    help="For slow lines: looks every 5 s; an alarm may show so much later.",
)
@at_option
@theme_option
@manner_options
def command(
    *,
    bench: Path | None,
    replay: float | None,
    quiet_link: bool,
    at: datetime | None,
    theme: str | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """The dashboard of BENCH: one lane a cell on a common time axis, what needs hands next, and
    the cell in focus. The key ? explains the screen, q leaves it.

    It only reads the loggers' files as they grow. So that a restart goes on where it was, it keeps
    what it understood in .porewatch of the bench; that can be thrown away at any time. Cell,
    plot, time across, order, and the units and colours that you chose by key are as you left them.
    """
    if replay is not None and at is not None:
        raise click.UsageError("--replay and --at exclude each other")
    root = bench_folder(bench)
    moment = moment_on_bench(at, root)

    require_terminal()

    # Imported here: neither is needed for help or wrong usage.
    from tui.screens.last_view import Memory  # noqa: PLC0415
    from tui.settings.units_shown import units_shown  # noqa: PLC0415

    memory = Memory.of_bench(root)
    manner = manner_of_output(units or memory.last.units or units_shown(root), plain_signs)
    beat_s = _BEAT_ON_A_SLOW_LINK_S if quiet_link else _BEAT_S

    def opens() -> "Beaten":
        # Called behind the first frame, which does not wait for what follows files.
        from tui.bench.clock import WallClock  # noqa: PLC0415
        from tui.bench.following import Following  # noqa: PLC0415

        if replay is not None:
            return Following.replay(root, replay)
        if moment is not None:
            return Following.fixed(root, moment)
        return Following.live(root, WallClock())

    pace = closed = ""
    if replay is not None:
        closed = "a replay shows what was: nothing can be said in it"
        pace = f"replay × {replay:g}"
    elif moment is not None:
        closed = "--at shows what was: nothing can be said of it here"
        pace = "as it stood then"
    with leaving_in_order() as leaving:
        leaving.show(
            opens, manner, beat_s, pace, root=root, closed=closed, theme=theme, memory=memory
        )
