"""Specimens that do not keep to the formulas that forecasts rest on.

A forecast must not be graded by its own formula. So cv changes with the degree of consolidation,
stones resist, secondary compression follows other laws, gas dissolves at two rates, the skeleton
stiffens, lines give way. All are plausible, none is measured: common practice, no source.
"""

import math
from dataclasses import dataclass, field
from random import Random

import numpy as np

from reduce.rehearsal.dissipation import Column, Dissipation, DrainageName
from reduce.rehearsal.disturbances import Disturbance
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.pores import Pores
from reduce.rehearsal.rig import Rig
from reduce.rehearsal.technician import Technician
from reduce.rehearsal.upset import Upset


@dataclass(frozen=True)
class Physics:
    """How a specimen and its cell depart from theory."""

    cv_change: float = 0.0
    """cv at the end of consolidation over that at its begin, less 1. [-]"""
    resistance: float = 0.0
    """Of stones and filter paper, as soil of this part of the drainage path. [-]"""
    creep: str = "with stress"
    """Law of secondary compression: "with stress", "after primary", "from the start"."""
    quick_share: float = 0.0
    """Share of gas that dissolves twenty times faster. [-]"""
    stiffening: float = 0.0
    """How much the skeleton stiffens from one back pressure step to the next. [-]"""
    line_kPa: float = 0.0
    """Pressure from which soft lines no longer give way; 0: they always do."""


class OtherDissipation(Dissipation):
    """Consolidation whose clock runs by how far it has come."""

    def __init__(
        self, height_mm: float, diameter_mm: float, drainage: DrainageName, cv: float, ways: Physics
    ) -> None:
        super().__init__(height_mm, diameter_mm, drainage, cv, ways.resistance)
        self._ways = ways
        path = np.concatenate([[0.0], np.geomspace(1e-6, 60.0, 900) / self.first_rate_per_s])
        pace = 1.0 + ways.cv_change * super().degree(path)
        steps = np.diff(path) / (0.5 * (pace[1:] + pace[:-1]))
        self._theory, self._real = path, np.concatenate([[0.0], np.cumsum(steps)])
        # The specimen keeps to no theory: its t100 is that of the theory which has its t50.
        theory = Dissipation(height_mm, diameter_mm, drainage, cv)
        self.t100_s = theory.t100_s * self.time_of(0.5) / theory.time_of(0.5)

    def _warped(self, seconds: Column) -> Column:
        return np.asarray(np.interp(np.asarray(seconds, dtype=float), self._real, self._theory))

    def degree(self, seconds: Column) -> Column:
        return super().degree(self._warped(seconds))

    def base(self, seconds: Column) -> Column:
        return super().base(self._warped(seconds))

    def creep_cycles(self, seconds: Column) -> Column:
        seconds = np.asarray(seconds, dtype=float)
        if self._ways.creep == "after primary":
            return np.asarray(np.maximum(np.log10(np.maximum(seconds, 1e-9) / self.t100_s), 0.0))
        if self._ways.creep == "from the start":
            return np.asarray(np.log10(1.0 + seconds / (0.05 * self.t100_s)))
        return super().creep_cycles(seconds)


class OtherPores(Pores):
    """Pores whose gas dissolves at two rates, in a skeleton that stiffens, with lines that set."""

    __slots__ = ("_quick", "_slow_s", "_soft_ml_kPa", "_ways", "_worked_kPa")

    def __init__(self, plan: TestPlan, ways: Physics) -> None:
        soil = plan.soil
        super().__init__(
            plan.volume_ml, soil.porosity, soil.saturation, soil.skeleton_per_kPa,
            soil.dissolving_h * 3600.0, plan.line_ml_kPa,
        )  # fmt: skip
        self._ways, self._slow_s, self._worked_kPa = ways, self.dissolving_s, 0.0
        self._soft_ml_kPa = plan.line_ml_kPa
        self._quick = ways.quick_share * self.free_ml

    def _dissolve(self, seconds: float) -> None:
        before = self.free_ml
        self.dissolving_s = self._slow_s / (20.0 if self._quick > 0.0 else 1.0)
        super()._dissolve(seconds)
        self._quick -= before - self.free_ml
        risen = self.pore_kPa - self._worked_kPa
        if risen > 25.0:
            self._stiffen(risen)

    def _stiffen(self, risen_kPa: float) -> None:
        """What gives way less from here on keeps the volume that it has."""
        ways, effective = self._ways, 10.0
        self._worked_kPa += risen_kPa
        softer = self.skeleton_per_kPa
        self.skeleton_per_kPa *= 1.0 - ways.stiffening * risen_kPa / 50.0
        self.void_ml -= self.volume_ml * (softer - self.skeleton_per_kPa) * effective
        if ways.line_kPa and self.line_ml_kPa:
            line = self._soft_ml_kPa * math.exp(-self._worked_kPa / ways.line_kPa)
            self.water_ml += (line - self.line_ml_kPa) * self.pore_kPa
            self.line_ml_kPa = line


class Presence:
    """When somebody is there: always, or in working hours."""

    def __init__(self, opens_h: float | None, closes_h: float, starts_s: float) -> None:
        self._opens, self._closes, self._starts = opens_h, closes_h, starts_s

    def next(self, second: float) -> float:
        """The first second of presence from one on; day 0 is a Monday."""
        if self._opens is None:
            return second
        at = self._starts + second
        while True:
            day, hour = at // 86400.0, at % 86400.0 / 3600.0
            if day % 7 < 5 and hour < self._opens:
                at = day * 86400.0 + self._opens * 3600.0
            if day % 7 < 5 and self._opens <= hour < self._closes:
                return at - self._starts
            if not (day % 7 < 5 and hour < self._opens):
                at = (day + 1) * 86400.0


@dataclass
class OtherTechnician(Technician):
    """Works on such a specimen, and goes home at times."""

    ways: Physics = field(default_factory=Physics)
    presence: Presence = field(default_factory=lambda: Presence(None, 0.0, 0.0))
    slowness: float = 1.0
    """Of what is not a wait for the specimen."""

    def pores(self) -> Pores:
        return OtherPores(self.plan, self.ways)

    def dissipation(self) -> Dissipation:
        plan = self.plan
        return OtherDissipation(
            plan.height_mm, plan.diameter_mm, plan.drainage, plan.soil.cv_m2_year, self.ways
        )

    def _pause(self, low_s: float, high_s: float) -> None:
        """A longer pause is the time until somebody comes: it may fall into the night."""
        long = low_s >= 240
        slow = self.slowness if long else 1.0
        super()._pause(low_s * slow, high_s * slow)
        if long:
            self.rig.run(max(0.0, float(round(self.presence.next(self.rig.t) - self.rig.t))))


def motor_wanders(share: float, period_s: float, phase: float) -> Disturbance:
    """The motor's speed swings by a share."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        upset.ram *= 1.0 + share * math.sin(2.0 * math.pi * (since_s / period_s + phase))

    return act


def motor_is_set(dice: Random) -> Disturbance:
    """The speed is changed once, half an hour or more after shear begins, to 0.6 … 1.5 of it."""
    factor, after = dice.uniform(0.6, 1.5), dice.uniform(1800.0, 20000.0)
    began: list[float] = []

    def act(upset: Upset, since_s: float, rig: Rig) -> None:
        if rig.phase == "shear" and rig.step == "shear":
            if not began:
                began.append(since_s)
            if since_s - began[0] > after:
                upset.ram *= factor

    return act
