"""The tests that are handed on by the sets of their specimens, and the envelope of each."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from reduce.errors import ReductionError
from reduce.reduction.caution import COMMON_PRACTICE
from reduce.reduction.whole import Reduction
from reduce.strength.of_set import SetStrength, strength_of_set
from reduce.strength.specimens import Criterion, FailedSpecimen
from tui.bench.failed_specimens import doubts_about_set, failed_specimens
from tui.papers.subject import Subject

UNNAMED = (
    "no set is named in the settings (specimen.set): that these specimens share an envelope rests "
    "on their being handed on together",
    COMMON_PRACTICE,
)


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """What the specimens of one set give together."""

    set_name: str | None
    """As `specimen.set` says; None: of tests that name none."""
    reductions: Mapping[str, Reduction]
    """Of the tests that could be reduced, by the names that the user gave."""
    specimens: tuple[FailedSpecimen, ...]
    left_out: tuple[str, ...]
    """Tests that tell no strength, each with why."""
    strength: SetStrength | None
    """With all that is in doubt about it."""
    why: str | None
    """Why there is no strength."""


def by_set(subjects: Iterable[Subject]) -> dict[str | None, list[Subject]]:
    """The tests of each set, in the order in which they were named."""
    found: dict[str | None, list[Subject]] = {}
    for subject in subjects:
        settings = subject.settings
        name = None if settings is None else settings.specimen.set
        found.setdefault(name or None, []).append(subject)
    return found


def envelope_of(
    name: str | None, members: Iterable[Subject], criterion: Criterion, *, cohesionless: bool
) -> Envelope:
    """The envelope of one set, or why there is none.

    Args:
        name: of the set; None: the tests name none.
        members: its tests.
        criterion: what counts as failure.
        cohesionless: whether it leads through the origin.
    """
    tests = list(members)
    reductions = {one.name: one.found for one in tests if one.found is not None}
    specimens, notes = failed_specimens(tuple(reductions.items()), criterion)
    notes += [
        f"{one.name} is left out: {one.why or 'nothing could be reduced'}"
        for one in tests
        if one.found is None
    ]
    strength, why = None, None
    try:
        fitted = strength_of_set(specimens, criterion=criterion, cohesionless=cohesionless)
    except ReductionError as error:
        why = str(error)
    else:
        doubts = doubts_about_set(specimens, {one.name: name for one in tests}, reductions)
        unnamed = (UNNAMED,) if name is None else ()
        strength = replace(fitted, cautions=(*unnamed, *doubts, *fitted.cautions))
    return Envelope(name, reductions, tuple(specimens), tuple(notes), strength, why)
