"""`porewatch strength`: the failure envelope of a set of specimens."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tui.commands.arguments import (
    at_option,
    bench_option,
    complete_cells,
    manner_of_output,
    manner_options,
    place_of,
)
from tui.commands.reduce import reduced

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction
    from reduce.shearing.failure import FailureState
    from reduce.strength.specimens import FailedSpecimen

Criterion = Literal["peak_deviator", "peak_ratio", "strain_limit"]

_STATE = {
    "peak_deviator": "peak_deviator",
    "peak_ratio": "peak_ratio",
    "strain_limit": "at_strain_limit",
}
"""Criterion → the state of a reduction that it names."""


@click.command("strength", short_help="The failure envelope of a set of specimens.")
@click.argument("cells", nargs=-1, required=True, metavar="CELL…", shell_complete=complete_cells)
@bench_option
@click.option("--json", "as_json", is_flag=True, help="For programs: porewatch.strength/1, in SI.")
@click.option(
    "--criterion",
    type=click.Choice(sorted(_STATE)),
    default="peak_deviator",
    show_default=True,
    help="What counts as failure.",
)
@click.option("--cohesionless", is_flag=True, help="Lead the envelope through the origin: c′ = 0.")
@at_option
@manner_options
def command(
    *,
    cells: tuple[str, ...],
    bench: Path | None,
    as_json: bool,
    criterion: Criterion,
    cohesionless: bool,
    at: datetime | None,
    units: Literal["SI", "US"] | None,
    plain_signs: bool,
) -> None:
    """c′ and φ′ of the specimens in CELL…, each a cell or an earlier test named CELL/TEST.

    \b
    Exit code:
      0  computed, cautions included
      1  nothing could be computed
    """
    from reduce.errors import ReductionError  # noqa: PLC0415 (numpy)
    from reduce.strength.of_set import strength_of_set  # noqa: PLC0415
    from tui.bench.strength_json import strength_json  # noqa: PLC0415

    system: Literal["SI", "US"] = units or "SI"
    reductions: list[tuple[str, Reduction]] = []
    samples: dict[str, str | None] = {}
    known: dict[object, str] = {}
    for cell in cells:
        layout, place = place_of(cell, bench)
        system = units or layout.bench.units
        test = None if place.settings is None else place.settings.test.id
        same = layout.root.resolve() / place.folder, test
        if same in known:
            if cell != known[same]:
                _note(f"{cell} is {known[same]} once more; it counts once")
            continue
        known[same] = cell
        try:
            reductions.append((cell, reduced(layout, place, at)[1]))
            samples[cell] = None if place.settings is None else place.settings.specimen.set
        except click.UsageError:
            raise
        except click.ClickException as error:  # the others may still give an envelope
            _note(error.format_message())
    specimens, notes = failed_specimens(reductions, criterion)
    for note in notes:
        _note(note)
    try:
        found = strength_of_set(specimens, criterion=criterion, cohesionless=cohesionless)
    except ReductionError as error:
        raise click.ClickException(str(error)) from None
    doubts = (*_of_samples(specimens, samples), *_of_tests(specimens, dict(reductions)))
    found = replace(found, cautions=(*doubts, *found.cautions))
    if as_json:
        click.echo(json.dumps(strength_json(found), allow_nan=False, indent=1))
        return
    from tui.commands.strength_text import print_strength  # noqa: PLC0415 (rich)

    print_strength(found, specimens, manner_of_output(system, plain_signs))


def _note(words: str) -> None:
    """One line on stderr, whatever a name brings along."""
    from tui.words import sanitise  # noqa: PLC0415

    click.echo(f"porewatch: {sanitise(words)}", err=True)


def _of_samples(
    specimens: "list[FailedSpecimen]", samples: dict[str, str | None]
) -> list[tuple[str, str]]:
    """Whether the settings say that these specimens share an envelope."""
    sets = {samples[one.name] for one in specimens}
    if len(sets) < 2:
        return []
    named = ", ".join(f"{one.name} of {samples[one.name] or 'none'}" for one in specimens)
    return [(f"the specimens are of several sets (specimen.set): {named}", "common practice")]


def _of_tests(
    specimens: "list[FailedSpecimen]", reductions: "dict[str, Reduction]"
) -> list[tuple[str, str]]:
    """What each test leaves in doubt, as far as its strength goes: a standard's word, no end, or
    readings that cannot be right."""
    from reduce.reduction.cautions_of_readings import of_readings  # noqa: PLC0415 (numpy)

    doubts: list[tuple[str, str]] = []
    for one in specimens:
        reduction = reductions[one.name]
        misread = set(of_readings(reduction.record, reduction.stages))
        doubts += [
            (f"{one.name}: {caution.what}", caution.clause)
            for caution in reduction.cautions
            if caution.clause.startswith("after")
            or caution.what.startswith("the shear is running")
            or caution in misread
        ]
    return doubts


def _why(told: str | None, criterion: Criterion) -> str:
    """Of all that a shear lacks, why it lacks this."""
    begin = f"no {_STATE[criterion]}: "
    parts = (told or "").split("; ")
    return next((one.removeprefix(begin) for one in parts if one.startswith(begin)), "not reached")


def _lacking(state: "FailureState", kind: str) -> str | None:
    """Why a state of failure tells no strength of this kind of test."""
    minor, q = state.sigma3_effective_kPa, state.deviator_kPa
    if q is not None and q <= 0.0:
        return f"its deviator at failure is {q:.1f} kPa; it must be above 0"
    if kind == "UU":
        return None if state.sigma3_kPa is not None else "cell pressure was not read at failure"
    if minor is None:
        return "pore or cell pressure was not read at failure"
    if minor <= 0.0:
        return f"its σ′3 at failure is {minor:.1f} kPa; it must be above 0"
    return None


def failed_specimens(
    reductions: "list[tuple[str, Reduction]]", criterion: Criterion
) -> "tuple[list[FailedSpecimen], list[str]]":
    """The specimens as they failed, and why some are left out.

    Args:
        reductions: each under the name that the user gave.
        criterion: what counts as failure.
    """
    from reduce.strength.specimens import FailedSpecimen  # noqa: PLC0415 (numpy)

    found: list[FailedSpecimen] = []
    notes: list[str] = []
    for name, reduction in reductions:
        shear, kind = reduction.stages.shear, reduction.record.kind
        state = None if shear is None else getattr(shear, _STATE[criterion])
        if shear is None or state is None:
            why = "it has not been sheared" if shear is None else _why(shear.why, criterion)
            notes.append(f"{name} is left out, it has no {criterion}: {why}")
            continue
        undrained = kind != "CD"
        lacking = _lacking(state, kind)
        if lacking is not None:
            notes.append(f"{name} is left out: {lacking}")
            continue
        known = f"shear.{_STATE[criterion]}"
        # Back pressure is no part of the soil's total stress: it is taken off CU.
        off = shear.pore_pressure_kPa if kind == "CU" else 0.0
        total = undrained and off is not None
        found.append(
            FailedSpecimen(
                name=name,
                kind=kind,
                sigma1_effective_kPa=state.sigma1_effective_kPa if kind != "UU" else None,
                sigma3_effective_kPa=state.sigma3_effective_kPa if kind != "UU" else None,
                sigma1_total_kPa=state.sigma1_kPa - off if total else None,
                sigma3_total_kPa=state.sigma3_kPa - off if total else None,
                u_p_kPa=reduction.uncertainty.get(f"{known}.mean_effective_kPa"),
                u_q_kPa=reduction.uncertainty.get(f"{known}.deviator_kPa"),
            )
        )
    return found, notes
