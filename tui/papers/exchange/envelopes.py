"""The envelope of each set among the tests that are handed on."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from reduce.errors import ReductionError
from reduce.reduction.caution import COMMON_PRACTICE
from reduce.strength.of_set import strength_of_set
from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import doubts_about_set, failed_specimens
from tui.bench.strength_json import strength_json
from tui.papers.subject import Subject

FEWEST = 2
"""Specimens that make an envelope."""
NO_SET = "no set named"
"""What tests that name no set are taken for together."""

Envelopes = Mapping[str, Mapping[str, Any]]
"""`strength --json` by the set's name."""


def envelopes_of(
    subjects: Sequence[Subject], criterion: Criterion, *, cohesionless: bool
) -> tuple[dict[str, dict[str, Any]], list[str]]:
    """What the tests of each set (specimen.set) give together, and why one gives nothing.

    Args:
        subjects: tests that were reduced.
        criterion: what counts as failure.
        cohesionless: whether envelopes lead through the origin.
    """
    members: dict[str, list[Subject]] = defaultdict(list)
    for one in subjects:
        members[(one.settings and one.settings.specimen.set) or NO_SET].append(one)
    found: dict[str, dict[str, Any]] = {}
    told: list[str] = []
    for name, tests in members.items():
        if len(tests) < FEWEST:
            continue
        reductions = [(one.name, one.found) for one in tests if one.found is not None]
        specimens, notes = failed_specimens(reductions, criterion)
        told += [f"envelope of {name}: {note}" for note in notes]
        if len(specimens) < FEWEST:
            continue
        try:
            strength = strength_of_set(specimens, criterion=criterion, cohesionless=cohesionless)
        except ReductionError as error:
            told.append(f"no envelope of {name}: {error}")
            continue
        doubts = doubts_about_set(specimens, {one.name: name for one in tests}, dict(reductions))
        if name == NO_SET:
            unnamed = "the tests name no set (specimen.set): that they share an envelope rests on"
            doubts = ((f"{unnamed} their being handed on together", COMMON_PRACTICE), *doubts)
        found[name] = strength_json(replace(strength, cautions=(*doubts, *strength.cautions)))
    return found, told


def envelope_with(test: str, envelopes: Envelopes) -> Mapping[str, Any] | None:
    """The envelope that a test is one of.

    Args:
        test: the name of its subject.
        envelopes: of all sets.
    """
    for found in envelopes.values():
        if any(one["cell"] == test for one in found["specimens"]):
            return found
    return None
