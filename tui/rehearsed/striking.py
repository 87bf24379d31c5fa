"""From faults as they were asked for to faults at a cell and a moment."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.technician import ProcessFault, Technician
from tui.rehearsed.fault_kinds import (
    FaultKind,
    FaultOrder,
    Situation,
    Size,
    can_strike,
    place_by_step,
)
from tui.rehearsed.gauges import with_fitting_gauges
from tui.rehearsed.orders import WrongOrderError
from tui.rehearsed.scenario import SUPPLY_SIZE
from tui.rehearsed.setup import CellSetup


@dataclass(frozen=True, slots=True)
class Strike:
    """One fault in one cell."""

    kind: FaultKind
    here: Situation
    size: Size


@dataclass(slots=True)
class Begun:
    """One cell, what happens in it, and when."""

    setup: CellSetup
    run: TestRun
    started: float
    """Epoch. [s]"""
    strikes: list[Strike]


@lru_cache(maxsize=32)
def undisturbed(plan: TestPlan) -> TestRun:
    """What comes of a plan if nothing goes wrong; kept, because faults are placed by it."""
    return Technician(plan).work()


def begin_tests(
    setups: list[CellSetup],
    faults: tuple[FaultOrder, ...],
    first: float,
    length_for: Callable[[float], float],
) -> tuple[list[Begun], float]:
    """Rehearse every cell, find the moments at which tests begin and faults strike.

    Args:
        setups: the cells.
        faults: what is to go wrong.
        first: epoch of the bench's begin. [s]
        length_for: length of the bench that is needed [s] → that it has [s].

    Returns:
        The cells, and the epoch at which the bench ends. [s]

    Raises:
        WrongOrderError: a fault fits no cell, or lies outside of the bench.
    """
    runs = [undisturbed(setup.plan) for setup in setups]
    setups = [
        with_fitting_gauges(setup, run) if setup.gauges_fit else setup
        for setup, run in zip(setups, runs, strict=True)
    ]
    needs = [
        run.end_s if s.aim is None else s.aim(run) for s, run in zip(setups, runs, strict=True)
    ]
    onsets: list[tuple[FaultKind, int, float]] = []
    horizons = list(needs)
    for order in faults:
        _known_cell(order, setups)
        _refuse_undrained(order, setups)
        if order.hours is None and not order.kind.whole_supply:
            placed = place_by_step(order.kind, setups, runs, horizons, order.cell)
            if placed is None:
                raise WrongOrderError(_nowhere(order))
            index, onset = placed
            onsets.append((order.kind, index, onset))
            needs[index] = max(needs[index], onset + 3600.0 * order.kind.lead_h)
    end = first + length_for(max(s.begins_s + need for s, need in zip(setups, needs, strict=True)))
    begins = [
        first + setup.begins_s
        if setup.aim is None
        else max(first, math.floor((end - need) / 60.0) * 60.0)
        for setup, need in zip(setups, needs, strict=True)
    ]
    for order in faults:
        if order.hours is not None or order.kind.whole_supply:
            onsets += _at_moment(order, setups, runs, begins, first, end)
    cells = []
    for index, (setup, run, started) in enumerate(zip(setups, runs, begins, strict=True)):
        own = [(kind, onset) for kind, i, onset in onsets if i == index]
        cells.append(_struck(setup, run, started, end, own))
    return cells, end


def _known_cell(order: FaultOrder, setups: list[CellSetup]) -> None:
    names = [setup.plan.cell for setup in setups]
    if order.cell is not None and order.cell not in names:
        raise WrongOrderError(
            f"--fault {order.kind.name}:{order.cell}: the bench has no such cell; "
            f"it has {names[0]} to {names[-1]}"
        )


def _refuse_undrained(order: FaultOrder, setups: list[CellSetup]) -> None:
    named = [s for s in setups if order.cell in (None, s.plan.cell)]
    if not any(can_strike(order.kind, setup) for setup in named):
        raise WrongOrderError(
            f"--fault {order.kind.name}: it is about {order.kind.about}, which no UU test reads"
        )


def _nowhere(order: FaultOrder) -> str:
    what = order.cell or "no cell of this bench"
    verb = "does not come" if order.cell else "comes"
    return (
        f"--fault {order.kind.name}: {what} {verb} to {' or '.join(order.kind.where)}; "
        "name another cell, or a moment with @HOURS"
    )


def _at_moment(
    order: FaultOrder,
    setups: list[CellSetup],
    runs: list[TestRun],
    begins: list[float],
    first: float,
    end: float,
) -> list[tuple[FaultKind, int, float]]:
    kind = order.kind
    moment = end - 3600.0 * kind.lead_h if order.hours is None else first + 3600.0 * order.hours
    inside = [
        index
        for index, (run, started) in enumerate(zip(runs, begins, strict=True))
        if started < moment < min(end, started + run.end_s)
    ]
    named = [i for i in inside if order.cell in (None, setups[i].plan.cell)]
    if not named:
        raise WrongOrderError(
            f"--fault {kind.name}: no reading of {order.cell or 'any cell'} is taken "
            f"{(moment - first) / 3600.0:g} h after the bench's start; the bench lasts "
            f"{(end - first) / 3600.0:g} h"
        )

    def rank(index: int) -> int:
        begun = [s for s in runs[index].steps if s.act_s < moment - begins[index]]
        step = f"{begun[-1].phase}/{begun[-1].step}"
        return kind.where.index(step) if step in kind.where else len(kind.where)

    chosen = min(named, key=lambda index: (rank(index), index))
    supply = chosen // SUPPLY_SIZE
    struck = [i for i in inside if i // SUPPLY_SIZE == supply] if kind.whole_supply else [chosen]
    return [(kind, index, float(round(moment - begins[index]))) for index in struck]


def _struck(
    setup: CellSetup,
    run: TestRun,
    started: float,
    end: float,
    own: list[tuple[FaultKind, float]],
) -> Begun:
    if not own:
        return Begun(setup, run, started, [])
    strikes: list[Strike] = []
    processes: list[tuple[float, ProcessFault]] = []
    gap_mm, rate_factor, changed = 0.0, 1.0, setup
    for kind, onset in own:
        here = Situation(setup, run, onset, min(end - started, run.end_s))
        size = kind.size(here)
        strikes.append(Strike(kind, here, size))
        if kind.process is not None:
            processes.append((onset, kind.process(here, size)))
        if kind.prepare is not None:
            changed = kind.prepare(here, size, changed)
        if kind.gap_left is not None:
            gap_mm = kind.gap_left(size)
        if kind.rate_factor is not None:
            rate_factor = kind.rate_factor(here, size)
    if processes or changed.plan != setup.plan or gap_mm or rate_factor != 1.0:
        run = Technician(
            changed.plan, tuple(processes), gap_left_mm=gap_mm, rate_factor=rate_factor
        ).work()
    return Begun(changed, run, started, strikes)
