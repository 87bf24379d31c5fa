"""How the specimen answers while it consolidates and while it is sheared."""

import math
from dataclasses import dataclass

import numpy as np

from reduce.rehearsal.compression import Compression
from reduce.rehearsal.curve import ShearCurve
from reduce.rehearsal.dissipation import Dissipation
from reduce.rehearsal.rig import Rig


@dataclass(frozen=True, slots=True)
class BeforeShear:
    """The specimen that is sheared."""

    height_mm: float
    area_mm2: float
    volume_ml: float
    lost_ml: float
    """Volume lost since it was set up."""
    pore_kPa: float
    """Mean over the specimen."""
    first_rate_per_s: float
    """How fast it drains at first where it may. [1/s]"""


class _Disturbed:
    """What pressures away from their set value and leaks do besides: elastic, with one time."""

    def __init__(self, rig: Rig, drain_s: float) -> None:
        self._rig = rig
        self._drain_s = drain_s
        self._cell_kPa = rig.upset.cell_kPa
        self.pore_kPa = 0.0
        """Above what the undisturbed course gives."""
        self.lost_ml = 0.0
        """Volume lost beyond the undisturbed course."""
        self.passed_ml = 0.0
        """Water that leaked through the membrane and went out of the drainage."""

    def step(self, seconds: float) -> None:
        rig = self._rig
        moved, self._cell_kPa = rig.upset.cell_kPa - self._cell_kPa, rig.upset.cell_kPa
        self.pore_kPa += rig.pores.b_value * moved
        leak_ml = rig.upset.membrane_leak_ml_h * seconds / 3600.0
        skeleton = rig.pores.volume_ml * rig.pores.skeleton_per_kPa
        if rig.flows:
            goal = rig.upset.back_kPa
            self.pore_kPa += (goal - self.pore_kPa) * seconds / (seconds + self._drain_s)
            self.passed_ml += leak_ml
        else:
            self.pore_kPa += leak_ml / skeleton
        self.lost_ml = skeleton * (self._cell_kPa - self.pore_kPa)


class Draining:
    """Drained consolidation: the finite-volume solution, secondary compression, disturbances."""

    def __init__(self, rig: Rig, dissipation: Dissipation, compression: Compression) -> None:
        self._rig, self._dissipation = rig, dissipation
        self._first_kPa = rig.pores.pore_kPa - rig.back_kPa
        self._primary_ml = compression.primary_ml
        self._back_ml, self._shrunk_ml = rig.back_ml, rig.shrunk_ml
        self._extra = _Disturbed(rig, 1.0 / dissipation.first_rate_per_s)
        self._clock_s = 0.0
        self._line_ml = 0.0
        self.lost_ml = 0.0
        """Volume lost so far by primary and secondary compression."""
        self.pore_kPa = rig.pores.pore_kPa
        """Mean over the specimen."""

    def base_left(self) -> float:
        """Share of the first excess pressure that is left at the base. [-]"""
        if self._dissipation.base_is_drained:
            return float(1.0 - self._dissipation.degree(np.array([self._clock_s]))[0])
        return float(self._dissipation.base(np.array([self._clock_s]))[0])

    def __call__(self, seconds: float) -> None:
        rig = self._rig
        if rig.flows:
            self._clock_s += seconds / rig.upset.clogging
        now = np.array([self._clock_s])
        degree = float(self._dissipation.degree(now)[0])
        creep = rig.plan.soil.secondary * rig.plan.volume_ml
        creep *= float(self._dissipation.creep_cycles(now)[0])
        self.lost_ml = self._primary_ml * degree + creep
        self._extra.step(seconds)
        self._line_ml += rig.upset.line_leak_ml_h * seconds / 3600.0
        back = rig.back_set_kPa
        self.pore_kPa = back + self._first_kPa * (1.0 - degree) + self._extra.pore_kPa
        rig.shrunk_ml = self._shrunk_ml + self.lost_ml + self._extra.lost_ml
        rig.back_ml = (
            self._back_ml
            - self.lost_ml
            - self._extra.lost_ml
            - self._extra.passed_ml
            + self._line_ml
        )
        if self._dissipation.base_is_drained and rig.flows:
            rig.follow_base(rig.back_kPa, seconds, 6.0)
        else:
            left = float(self._dissipation.base(now)[0])
            if self._dissipation.base_is_drained:
                left = 1.0 - degree
            rig.follow_base(back + self._first_kPa * left + self._extra.pore_kPa, seconds, 6.0)

    def finish(self) -> None:
        """Fix the dimensions that shear starts from: what the technician works out now."""
        plan = self._rig.plan
        strain = self.lost_ml / plan.volume_ml
        self.volume_ml = plan.volume_ml - self.lost_ml
        self.height_mm = plan.height_mm * (1.0 - strain / 3.0)
        self.area_mm2 = self.volume_ml * 1000.0 / self.height_mm

    def before_shear(self) -> BeforeShear:
        """The specimen as it stands now, with the dimensions that were fixed."""
        return BeforeShear(
            self.height_mm,
            self.area_mm2,
            self.volume_ml,
            self.lost_ml,
            self.pore_kPa,
            self._dissipation.first_rate_per_s,
        )

    volume_ml: float
    height_mm: float
    area_mm2: float


class Shearing:
    """Docking and shear: the soil model's curve behind a membrane and side drains."""

    def __init__(self, rig: Rig, before: BeforeShear, curve: ShearCurve) -> None:
        self._rig, self._before = rig, before
        self._strain, self._deviator, self._excess, self._volume = curve.columns()
        self._start_pore_kPa, self._cell_kPa = before.pore_kPa, rig.cell_set_kPa
        self._back_ml, self._shrunk_ml = rig.back_ml, rig.shrunk_ml
        self._extra = _Disturbed(rig, 1.0 / before.first_rate_per_s)
        self._lag_s = max(rig.plan.soil.settling_s, 0.0)
        self._opened_ml = 0.0
        self._line_ml = 0.0
        self.zero_mm = 0.0
        """Travel of the ram at which it touches."""
        self._relaxed = 1.0

    def __call__(self, seconds: float) -> None:
        rig, plan, before = self._rig, self._rig.plan, self._before
        strain = (rig.travel_mm - self.zero_mm) / before.height_mm
        rig.strain = strain
        at = max(strain, 0.0)
        deviator = float(np.interp(at, self._strain, self._deviator))
        excess = float(np.interp(at, self._strain, self._excess))
        volume = float(np.interp(at, self._strain, self._volume))
        self._relax(seconds, at)
        self._extra.step(seconds)
        self._line_ml += rig.upset.line_leak_ml_h * seconds / 3600.0
        skeleton = rig.pores.volume_ml * rig.pores.skeleton_per_kPa
        if rig.flows and plan.kind == "CU":
            # An open valve lets the excess go as water instead of keeping it as pressure.
            left = excess - self._opened_ml / skeleton
            self._opened_ml += (
                left
                * skeleton
                * seconds
                * before.first_rate_per_s
                / (1.0 + seconds * before.first_rate_per_s)
            )
        pore = self._start_pore_kPa + excess - self._opened_ml / skeleton + self._extra.pore_kPa
        lost = volume * before.volume_ml + self._opened_ml + self._extra.lost_ml
        rig.shrunk_ml = self._shrunk_ml + lost
        if rig.flows or rig.valve_open:
            rig.back_ml = self._back_ml - lost - self._extra.passed_ml + self._line_ml
        rig.follow_base(
            rig.back_kPa if rig.flows and plan.kind == "CD" else self._let_go(pore),
            seconds,
            min(self._lag_s, 60.0),
        )
        if rig.cell_set_kPa < self._cell_kPa:
            # Water above cell pressure lifts the membrane off the base and gets away.
            rig.base_kPa = min(rig.base_kPa, rig.cell_kPa)
        area = before.area_mm2 * (1.0 - volume) / (1.0 - at)
        stress = deviator * self._relaxed + resistance_kPa(rig, before, at)[2]
        rig.load_N = stress * area / 1000.0 if strain > 0.0 else 0.0

    def _let_go(self, pore_kPa: float) -> float:
        """Closed pores follow cell pressure by B as it is let go, down to the air's pressure."""
        rig = self._rig
        fallen_kPa = rig.pores.b_value * (self._cell_kPa - rig.cell_set_kPa)
        return max(pore_kPa - fallen_kPa, min(pore_kPa, 0.0)) if fallen_kPa > 0.0 else pore_kPa

    def _relax(self, seconds: float, strain: float) -> None:
        """A ram that stands loses load to creep; one that runs has its load at once."""
        moving = self._rig.speed_mm_s * self._rig.upset.ram > 0.0
        goal, lag = (1.0, 60.0) if moving or strain <= 0.0 else (0.9, 900.0)
        self._relaxed += (goal - self._relaxed) * seconds / (seconds + lag)


def resistance_kPa(rig: Rig, before: BeforeShear, strain: float) -> tuple[float, float, float]:
    """What membrane and side drains carry at an axial strain: each and their sum. [kPa]

    Membrane 4 E t ε1 / D; drains K P / A from 2 % strain on, in proportion below.

    Source:
        ASTM D4767, from memory; D and A are those after consolidation.
    """
    plan = rig.plan
    diameter = math.sqrt(4.0 * before.area_mm2 / math.pi)
    membrane = 4.0 * plan.membrane_kPa * plan.membrane_mm * plan.membranes * strain / diameter
    full = 0.19 * plan.drain_perimeter_mm / before.area_mm2 * 1000.0
    drains = full * min(strain / 0.02, 1.0)
    return membrane, drains, membrane + drains
