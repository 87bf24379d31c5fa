"""`porewatch mark`: a person says which phase a cell is in."""

from datetime import datetime
from pathlib import Path

import click

from tui.commands.acting import act_options, enter, holding_at, now_on, running_test
from tui.commands.arguments import cell_argument, iso_time, place_of, seconds
from tui.settings.phase_words import PHASE_STEPS

PHASES = tuple(PHASE_STEPS)

_NOT_IN_UU = ("saturation", "consolidation")
_AHEAD_S = 120.0
"""A mark farther ahead than clocks differ is said to wait. [s]"""


@click.command("mark")
@cell_argument
@click.argument("phase", metavar="PHASE", shell_complete=lambda _c, _p, begun: _offer(begun))
@click.option("--step", metavar="STEP", help="Its step, such as b-check; PHASE/STEP does as well.")
@click.option("--until", type=iso_time, metavar="TIME", help="A planned hold: until then.")
@click.option("--text", default="", help="A remark.")
@act_options
def command(
    *,
    cell: str,
    phase: str,
    step: str | None,
    until: datetime | None,
    text: str,
    when: datetime | None,
    by: str | None,
    bench: Path | None,
) -> None:
    """Say that CELL is in PHASE, now or from --when on. A mark outweighs the log and what the
    readings suggest; what they say instead stays visible.

    \b
    PHASE          its steps
    setup          mount, flush, vented, hold
    saturation     b-check, raise, hold, ramp
    consolidation  build-up, drained
    shear          dock, shear
    ended, interrupted

    Nothing is ever lost: a wrong mark is taken back with "porewatch undo ENTRY".
    """
    name, named_step = phase_and_step(phase, step)
    layout, place = place_of(cell, bench)
    if place.settings is not None and place.settings.test.kind == "UU" and name in _NOT_IN_UU:
        raise click.UsageError(
            f"the test in {place.name} is UU: it has setup, shear and ended, no {name}"
        )
    held_at = holding_at(when, layout)
    ends = None if until is None else seconds(until, layout.zone)
    if ends is not None and ends <= held_at:
        raise click.UsageError("--until is not after the time from which the mark holds")
    number = enter(
        layout,
        "mark",
        by,
        cell=place.folder,
        test=running_test(place),
        held_at=held_at,
        text=text,
        phase=name,
        step=named_step,
        until=ends,
    )
    from tui.words import date_and_time, sanitise  # noqa: PLC0415

    what = f"{name}/{named_step}" if named_step else name
    ahead = when is not None and held_at > now_on(layout) + _AHEAD_S
    waits = " (that is to come: it waits until then)" if ahead else ""
    planned = "" if ends is None else f", planned until {date_and_time(ends, layout.zone)}"
    click.echo(
        f"entry {number}: {sanitise(place.name)} is in {what} "
        f"from {date_and_time(held_at, layout.zone)}{waits}{planned}"
    )


def phase_and_step(phase: str, step: str | None) -> tuple[str, str | None]:
    """A phase and a step of it as they are kept, from `saturation` or `saturation/b-check`.

    Raises:
        click.UsageError: not a phase, or not a step of that phase.
    """
    from tui.commands.main import did_you_mean  # noqa: PLC0415 (main loads this module)

    name, slash, written = phase.strip().casefold().partition("/")
    if slash and step is not None:
        raise click.UsageError(f"{phase!r} brings a step already; leave out --step")
    if name not in PHASES:
        hint = did_you_mean(name, PHASES) or f"; there are {', '.join(PHASES)}"
        raise click.UsageError(f"there is no phase {name!r}{hint}")
    chosen = written if slash else (step.strip().casefold() if step is not None else None)
    if chosen is None:
        return name, None
    steps = PHASE_STEPS[name]
    if chosen not in steps:
        if not steps:
            raise click.UsageError(f"{name} has no steps")
        hint = did_you_mean(chosen, steps) or f"; it has {', '.join(steps)}"
        raise click.UsageError(f"{name} has no step {chosen!r}{hint}")
    return name, chosen


def _offer(begun: str) -> list[str]:
    whole = [f"{name}/{step}" for name, steps in PHASE_STEPS.items() for step in steps]
    found = whole if "/" in begun else list(PHASES)
    return [name for name in found if name.startswith(begun)]
