"""The envelope of each set among the tests that are handed on, as `strength --json` gives it."""

from collections.abc import Mapping, Sequence
from typing import Any

from reduce.strength.specimens import Criterion
from tui.bench.strength_json import strength_json
from tui.papers.sets import by_set, envelope_of
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
    found: dict[str, dict[str, Any]] = {}
    told: list[str] = []
    for name, tests in by_set(subjects).items():
        if len(tests) < FEWEST:
            continue
        words = name or NO_SET
        one = envelope_of(name, tests, criterion, cohesionless=cohesionless)
        told += [f"envelope of {words}: {note}" for note in one.left_out]
        if len(one.specimens) < FEWEST:
            continue
        if one.strength is None:
            told.append(f"no envelope of {words}: {one.why}")
        else:
            found[words] = strength_json(one.strength)
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
