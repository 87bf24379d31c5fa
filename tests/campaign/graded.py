"""Forecasts graded: how far off, and how often the interval held the truth."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from drawn import draw
from replayed import Replay, projected, replayed, stretches

PARTS = (0.3, 0.5, 0.7)
SHORTEST_S = 900.0
"""A phase that is over sooner asks nobody to come back."""


@dataclass(frozen=True)
class Grade:
    """One forecast of one phase against what came."""

    seed: int
    phase: str
    part: float
    told: bool
    held: bool = False
    """Whether the interval held the truth."""
    error: float = float("nan")
    """Of the even bet, signed, over the time that was left. [-]"""
    early: bool = False
    """Whether the truth came before the interval."""
    width: float = float("nan")
    """Of the interval, over the time that was left. [-]"""
    note: str = ""


def grades(replay: Replay) -> Iterator[Grade]:
    """Every phase of a test at every part of it."""
    asked = sorted(
        (
            (stretch.at(part), stretch, part)
            for stretch in stretches(replay)
            if stretch.event - stretch.begins >= SHORTEST_S
            for part in PARTS
        ),
        key=lambda one: one[0],
    )
    for (moment, stretch, part), cell in zip(
        asked, replay.looks([one[0] for one in asked]), strict=True
    ):
        seed, found = replay.case.seed, projected(cell, stretch.phase)
        if found is None or found.at is None or found.earliest is None or found.latest is None:
            why = f"taken for {cell.phase and cell.phase.name}" if found is None else found.basis
            yield Grade(seed, stretch.graded_as or stretch.phase, part, False, note=why)
            continue
        left = stretch.event - moment
        yield Grade(
            seed,
            stretch.graded_as or stretch.phase,
            part,
            True,
            found.earliest <= stretch.event <= found.latest,
            (found.at - stretch.event) / left,
            stretch.event < found.earliest,
            (found.latest - found.earliest) / left,
            found.basis,
        )


def grades_of(seeds: Iterable[int], *, unseen: bool = False) -> list[Grade]:
    """Many tests."""
    return [one for seed in seeds for one in grades(replayed(draw(seed, unseen=unseen)))]


@dataclass(frozen=True)
class Summary:
    """What many forecasts of one phase at one part came to."""

    phase: str
    part: float
    number: int
    told: int
    held: float
    """Share of intervals that held the truth. [-]"""
    error: float
    """Median of the absolute errors, over the time left. [-]"""
    early: float
    """Share of truths before the interval. [-]"""
    width: float
    """Median. [-]"""

    def __str__(self) -> str:
        return (
            f"{self.phase:<26} {self.part:4.0%}  {self.told:4d} of {self.number:4d} told   "
            f"held {self.held:5.1%} (before {self.early:5.1%})   median error {self.error:6.1%}   "
            f"width {self.width:5.2f}"
        )


def summaries(found: list[Grade]) -> list[Summary]:
    """A line for each phase and part."""
    lines = []
    for phase in ("saturation", "consolidation", "consolidation by the clock", "shear"):
        for part in PARTS:
            mine = [one for one in found if one.phase == phase and one.part == part]
            told = [one for one in mine if one.told]
            if told:
                lines.append(
                    Summary(
                        phase,
                        part,
                        len(mine),
                        len(told),
                        float(np.mean([one.held for one in told])),
                        float(np.median([abs(one.error) for one in told])),
                        float(np.mean([one.early for one in told])),
                        float(np.median([one.width for one in told])),
                    )
                )
    return lines
