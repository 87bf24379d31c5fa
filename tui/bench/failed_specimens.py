"""The specimens of a set as they failed, why some are left out, and what each leaves in doubt."""

from collections.abc import Mapping, Sequence

from reduce.reduction.caution import COMMON_PRACTICE
from reduce.reduction.cautions_of_readings import of_readings
from reduce.reduction.whole import Reduction
from reduce.shearing.failure import FailureState
from reduce.strength.specimens import Criterion, FailedSpecimen

STATE_OF: dict[str, str] = {
    "peak_deviator": "peak_deviator",
    "peak_ratio": "peak_ratio",
    "strain_limit": "at_strain_limit",
}
"""Criterion → the state of a reduction that it names."""

Doubt = tuple[str, str]
"""What, and the clause or "common practice"."""


def failed_specimens(
    reductions: Sequence[tuple[str, Reduction]], criterion: Criterion
) -> tuple[list[FailedSpecimen], list[str]]:
    """The specimens as they failed, and why some are left out.

    Args:
        reductions: each under the name that the user gave.
        criterion: what counts as failure.
    """
    found: list[FailedSpecimen] = []
    notes: list[str] = []
    for name, reduction in reductions:
        shear, kind = reduction.stages.shear, reduction.record.kind
        state = None if shear is None else getattr(shear, STATE_OF[criterion])
        if shear is None or state is None:
            why = "it has not been sheared" if shear is None else _why(shear.why, criterion)
            notes.append(f"{name} is left out, it has no {criterion}: {why}")
            continue
        undrained = kind != "CD"
        lacking = _lacking(state, kind)
        if lacking is not None:
            notes.append(f"{name} is left out: {lacking}")
            continue
        known = f"shear.{STATE_OF[criterion]}"
        # Back pressure is no part of the soil's total stress: it is taken off CU.
        off = shear.pore_pressure_kPa if kind == "CU" else 0.0
        total = undrained and off is not None
        found.append(
            FailedSpecimen(
                name=name,
                kind=kind,
                sigma1_effective_kPa=state.sigma1_effective_kPa if kind != "UU" else None,
                sigma3_effective_kPa=state.sigma3_effective_kPa if kind != "UU" else None,
                sigma1_total_kPa=_less(state.sigma1_kPa, off) if total else None,
                sigma3_total_kPa=_less(state.sigma3_kPa, off) if total else None,
                u_p_kPa=reduction.uncertainty.get(f"{known}.mean_effective_kPa"),
                u_q_kPa=reduction.uncertainty.get(f"{known}.deviator_kPa"),
            )
        )
    return found, notes


def doubts_about_set(
    specimens: Sequence[FailedSpecimen],
    samples: Mapping[str, str | None],
    reductions: Mapping[str, Reduction],
) -> tuple[Doubt, ...]:
    """What the settings and the tests themselves leave in doubt about a common envelope.

    Args:
        specimens: as `failed_specimens` gives them.
        samples: by name, the set that the settings say a specimen belongs to.
        reductions: by name.
    """
    return (*_of_samples(specimens, samples), *_of_tests(specimens, reductions))


def _of_samples(
    specimens: Sequence[FailedSpecimen], samples: Mapping[str, str | None]
) -> list[Doubt]:
    """Whether the settings say that these specimens share an envelope."""
    sets = {samples[one.name] for one in specimens}
    if len(sets) < 2:
        return []
    named = ", ".join(f"{one.name} of {samples[one.name] or 'none'}" for one in specimens)
    return [(f"the specimens are of several sets (specimen.set): {named}", COMMON_PRACTICE)]


def _of_tests(
    specimens: Sequence[FailedSpecimen], reductions: Mapping[str, Reduction]
) -> list[Doubt]:
    """What each test leaves in doubt, as far as its strength goes: a standard's word, no end, or
    readings that cannot be right."""
    doubts: list[Doubt] = []
    for one in specimens:
        reduction = reductions[one.name]
        misread = set(of_readings(reduction.record, reduction.stages))
        doubts += [
            (f"{one.name}: {caution.what}", caution.clause)
            for caution in reduction.cautions
            if caution.departs
            or caution.what.startswith("the shear is running")
            or caution in misread
        ]
    return doubts


def _why(told: str | None, criterion: Criterion) -> str:
    """Of all that a shear lacks, why it lacks this."""
    begin = f"no {STATE_OF[criterion]}: "
    parts = (told or "").split("; ")
    return next((one.removeprefix(begin) for one in parts if one.startswith(begin)), "not reached")


def _less(stress: float | None, off: float | None) -> float | None:
    return None if stress is None or off is None else stress - off


def _lacking(state: FailureState, kind: str) -> str | None:
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
