"""What a fault is, and where and when one begins on a bench."""

from collections.abc import Callable
from dataclasses import dataclass

from reduce.rehearsal.disturbances import Disturbance
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import Readings
from tui.rehearsed.setup import CellSetup

Size = dict[str, float]


def step_at(run: TestRun, seconds: float) -> tuple[str, str]:
    """Phase and step of a moment; an act belongs to what it begins."""
    inside = [step for step in run.steps if step.act_s <= seconds] or run.steps[:1]
    return inside[-1].phase, inside[-1].step


@dataclass(frozen=True, slots=True)
class Situation:
    """Where a fault strikes: the cell as it would be without it."""

    setup: CellSetup
    run: TestRun
    onset_s: float
    """Since the test began. [s]"""
    horizon_s: float
    """The last reading that the bench shows. [s]"""

    @property
    def place(self) -> tuple[str, str]:
        """Phase and step in which it begins."""
        return step_at(self.run, self.onset_s)

    def at_onset(self, name: str) -> float:
        """A column of the undisturbed trace at the onset."""
        return self.run.trace.one(name, self.onset_s)


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One kind of fault; what it does is in whichever of the functions are given."""

    name: str
    """The alarm kind that it should raise."""
    what: str
    """What happens, for the truth."""
    where: tuple[str, ...]
    """Steps in which it begins if nobody says when, best first."""
    lead_h: float
    """How long it must last before the bench ends. [h]"""
    size: Callable[[Situation], Size]
    """How large it is, by quantity with its unit."""
    about: str | None = None
    """The channel that it is about."""
    process: Callable[[Situation, Size], Disturbance] | None = None
    """What it does to the cell."""
    prepare: Callable[[Situation, Size, CellSetup], CellSetup] | None = None
    """What was wrong from the beginning with plan, schedule or logger."""
    spoil: Callable[[Situation, Size, Readings], None] | None = None
    """What it does to the readings."""
    gap_left: Callable[[Size], float] | None = None
    """What docking leaves between ram and specimen. [mm]"""
    rate_factor: Callable[[Situation, Size], float] | None = None
    """Speed of the motor over that wanted. [-]"""
    settle_s: Callable[[TestRun], float] = lambda _run: 900.0
    """How long after the step's begin it begins at the earliest; 0: with the step. [s]"""
    extra_s: tuple[float, ...] = ()
    """Readings that the logger takes besides, after the onset. [s]"""
    whole_supply: bool = False
    """Whether it strikes every cell of the supply at one moment."""


ON_THE_DRAINAGE_LINE = (
    "back_pressure", "pore_pressure", "back_volume", "cell_volume", "drainage",
)  # fmt: skip
"""What a UU test has no gauge for."""


def can_strike(kind: FaultKind, setup: CellSetup) -> bool:
    """Whether a test has what a fault is about."""
    return setup.plan.kind != "UU" or kind.about not in ON_THE_DRAINAGE_LINE


@dataclass(frozen=True, slots=True)
class FaultOrder:
    """A fault as it was asked for."""

    kind: FaultKind
    cell: str | None = None
    hours: float | None = None
    """After the begin of the bench. [h]"""


def place_by_step(
    kind: FaultKind,
    setups: list[CellSetup],
    runs: list[TestRun],
    horizons: list[float],
    cell: str | None,
) -> tuple[int, float] | None:
    """Which cell and when, if nobody says when.

    The cell whose last step on the bench suits; else one that went through such a step.

    Args:
        kind: the fault.
        setups: of all cells.
        runs: undisturbed, of all cells.
        horizons: the last moment that the bench shows of each. [s]
        cell: its name, if that was said.

    Returns:
        Index of the cell and onset since its test began [s]; None when no step suits.
    """
    best: tuple[tuple[int, int, int], int, float] | None = None
    for index, (setup, run, horizon) in enumerate(zip(setups, runs, horizons, strict=True)):
        if cell not in (None, setup.plan.cell) or not can_strike(kind, setup):
            continue
        begun = [step for step in run.steps if step.act_s < horizon]
        for back, step in enumerate(reversed(begun)):
            for rank, where in enumerate(kind.where):
                if f"{step.phase}/{step.step}" != where:
                    continue
                near = 0 if back == 0 else 1 if step.phase == begun[-1].phase else 2
                score = (near, rank, index)
                if best is None or score < best[0]:
                    best = score, index, _onset(kind, run, step.act_s, horizon)
    return None if best is None else (best[1], best[2])


def _onset(kind: FaultKind, run: TestRun, act_s: float, horizon_s: float) -> float:
    end = next((step.act_s for step in run.steps if step.act_s > act_s), run.end_s)
    settle = kind.settle_s(run)
    if settle == 0.0:
        return act_s
    latest = min(end, horizon_s) - 3600.0 * kind.lead_h
    return float(round(max(act_s + settle, min(latest, act_s + 4.0 * 3600.0))))
