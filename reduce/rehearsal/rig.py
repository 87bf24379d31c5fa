"""A triaxial cell at work: regulators, a valve, a ram, the specimen's answer, and a trace of it.

The rig knows no plan: the technician (technician.py) turns its knobs and lets time pass. What
happens is traced without noise at uneven times, close together where things move; readings are
taken from the trace afterwards.
"""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.pores import Pores
from reduce.rehearsal.upset import Upset

Column = NDArray[np.float64]

SHORTEST_S = 0.5
LONGEST_S = 90.0
_GROWTH = 0.04


class Moment(NamedTuple):
    """One point of the trace."""

    seconds: float
    """Since the test began."""
    cell_kPa: float
    back_kPa: float
    pore_kPa: float
    """At the base."""
    back_ml: float
    """Water that went into the specimen through the valve, as the gauge feels it."""
    cell_ml: float
    """Water that went into the cell."""
    travel_mm: float
    """Of the ram, since the test began."""
    load_N: float
    """On the specimen, as a load cell inside the cell feels it."""
    strain: float
    """Axial strain of shear; below 0 before the ram touches. [-]"""
    valve_open: float
    """1 open, 0 closed, as the handle stands. [-]"""


@dataclass(slots=True)
class Rig:
    """The state of one cell; `turn` changes what is set, `run` lets time pass."""

    plan: TestPlan
    pores: Pores
    faults: tuple[tuple[float, Callable[[Upset, float, "Rig"], None]], ...] = ()
    """Onset [s] and what it does to the upset, given the seconds since."""
    t: float = 0.0
    cell_set_kPa: float = 0.0
    back_set_kPa: float = 0.0
    cell_goal_kPa: float = 0.0
    back_goal_kPa: float = 0.0
    ramp_kPa_s: float = 2.5
    valve_open: bool = False
    base_kPa: float = 0.0
    back_ml: float = 0.0
    leaked_ml: float = 0.0
    """Out of cell and membrane, replaced by the cell's supply."""
    shrunk_ml: float = 0.0
    """Volume that the specimen has lost."""
    travel_mm: float = 0.0
    speed_mm_s: float = 0.0
    strain: float = 0.0
    load_N: float = 0.0
    conductance_ml_kPa_s: float = 0.0
    phase: str = "setup"
    step: str = "mount"
    upset: Upset = field(default_factory=Upset)
    respond: Callable[[float], None] | None = None
    """How the specimen answers a step; None: as pores that saturate."""
    trace: list[Moment] = field(default_factory=list)
    _turned_at: float = 0.0

    @property
    def cell_kPa(self) -> float:
        return max(self.cell_set_kPa + self.upset.cell_kPa, 0.0)

    @property
    def back_kPa(self) -> float:
        return max(self.back_set_kPa + self.upset.back_kPa, 0.0)

    @property
    def flows(self) -> bool:
        """Whether water really passes the valve."""
        passes = self.valve_open if self.upset.valve is None else self.upset.valve
        return passes and not self.upset.blocked

    def turn(
        self,
        cell: float | None = None,
        back: float | None = None,
        valve: bool | None = None,
        speed_mm_s: float | None = None,
    ) -> None:
        """Set something; what was true until now is kept in the trace."""
        if not self.trace or self.trace[-1].seconds < self.t:
            self._record()
        if cell is not None:
            self.cell_goal_kPa = cell
        if back is not None:
            self.back_goal_kPa = back
        if valve is not None:
            self.valve_open = valve
        if speed_mm_s is not None:
            self.speed_mm_s = speed_mm_s
        self._turned_at = self.t

    def run(
        self,
        seconds: float,
        until: Callable[[], bool] | None = None,
        longest_s: float = LONGEST_S,
    ) -> None:
        """Let time pass.

        Args:
            seconds: at most so long. [s]
            until: asked after every step; True ends the run at the next full second.
            longest_s: no step longer than this. [s]
        """
        end = self.t + seconds
        while self.t < end - 1e-9:
            pace = max(SHORTEST_S, min(longest_s, _GROWTH * (self.t - self._turned_at)))
            ahead = end
            for onset, _ in self.faults:
                if self.t < onset - 1e-9:
                    ahead = min(ahead, onset)
                elif onset <= self.t < onset + 1200.0:
                    pace = min(pace, max(SHORTEST_S, _GROWTH * (self.t - onset)))
            self.advance(min(pace, ahead - self.t))
            if until is not None and until():
                whole = -(-self.t // 1.0)
                if whole > self.t + 1e-9:
                    self.advance(min(whole, end) - self.t)
                return

    def advance(self, seconds: float) -> None:
        """One step: knobs, faults, the specimen, the trace."""
        carried_kPa = self.cell_kPa - self.pores.pore_kPa
        self.t += seconds
        if abs(self.t - round(self.t)) < 1e-6:
            self.t = float(round(self.t))
        self.upset = Upset()
        for onset, act in self.faults:
            if self.t > onset:
                act(self.upset, self.t - onset, self)
        self.cell_set_kPa = _toward(
            self.cell_set_kPa, self.cell_goal_kPa, self.ramp_kPa_s * seconds
        )
        self.back_set_kPa = _toward(
            self.back_set_kPa, self.back_goal_kPa, self.ramp_kPa_s * seconds
        )
        self.travel_mm += self.speed_mm_s * self.upset.ram * seconds
        upset = self.upset
        self.leaked_ml += (upset.membrane_leak_ml_h + upset.cell_leak_ml_h) * seconds / 3600.0
        self.back_ml += upset.line_leak_ml_h * seconds / 3600.0
        base = self.base_kPa
        if self.respond is not None:
            self.respond(seconds)
        else:
            self._saturate(seconds, carried_kPa)
        if upset.burst_s is not None:
            self.base_kPa = base
            self.follow_base(self.cell_kPa, seconds, 8.0)
            self.load_N *= max(0.03, 1.0 - upset.burst_s / 60.0)
        self._record()

    def follow_base(self, pore_kPa: float, seconds: float, lag_s: float | None = None) -> None:
        """Let the pressure at the base go after that of the pores."""
        lag = self.plan.soil.settling_s if lag_s is None else lag_s
        self.base_kPa += (pore_kPa - self.base_kPa) * seconds / (seconds + lag)

    def _saturate(self, seconds: float, carried_kPa: float) -> None:
        leak_ml = self.upset.membrane_leak_ml_h * seconds / 3600.0
        inflow = self.pores.step(
            seconds,
            self.cell_kPa,
            self.back_kPa,
            self.conductance_ml_kPa_s if self.flows else 0.0,
            leak_ml,
        )
        more_kPa = self.cell_kPa - self.pores.pore_kPa - carried_kPa
        self.shrunk_ml += self.pores.volume_ml * self.pores.skeleton_per_kPa * more_kPa
        self.back_ml += inflow
        self.follow_base(self.pores.pore_kPa, seconds)

    def _record(self) -> None:
        plan = self.plan
        piston_ml = 3.141592653589793 / 4.0 * plan.piston_mm**2 * self.travel_mm / 1000.0
        cell_ml = (
            plan.expansion_ml_kPa * self.cell_kPa + self.shrunk_ml - piston_ml + self.leaked_ml
        )
        self.trace.append(
            Moment(
                self.t,
                self.cell_kPa,
                self.back_kPa,
                self.base_kPa,
                self.back_ml,
                cell_ml,
                self.travel_mm,
                self.load_N,
                self.strain,
                1.0 if self.valve_open else 0.0,
            )
        )


def _toward(value: float, goal: float, most: float) -> float:
    return min(value + most, goal) if goal > value else max(value - most, goal)


class Trace:
    """A finished trace, by column; read at any time in between."""

    def __init__(self, moments: list[Moment]) -> None:
        self._table = np.array(moments)
        self.seconds: Column = self._table[:, 0]
        self._starts = self.seconds.tolist()

    def at(self, name: str, seconds: Column) -> Column:
        """A column of `Moment` at the given times, linear between its points. (n,)"""
        column = self._table[:, Moment._fields.index(name)]
        return np.asarray(np.interp(seconds, self.seconds, column))

    def one(self, name: str, seconds: float) -> float:
        """The same at one time."""
        return float(self.at(name, np.array([seconds]))[0])

    def valve(self, seconds: Column) -> list[bool]:
        """How the valve's handle stood just before the given times. (n,)"""
        column = self._table[:, Moment._fields.index("valve_open")]
        return [bool(column[min(bisect_left(self._starts, s), len(column) - 1)]) for s in seconds]
