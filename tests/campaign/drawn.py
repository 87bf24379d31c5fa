"""Tests to be replayed: each drawn from a seed, with its soil, plan, physics, faults and people.

`unseen` cases are of soils and faults that were never looked at while a forecast was built. All
soils are invented.
"""

import math
from dataclasses import dataclass, replace
from random import Random

from physics import (
    OtherDissipation,
    OtherTechnician,
    Physics,
    Presence,
    motor_is_set,
    motor_wanders,
)

from reduce.rehearsal.disturbances import Disturbance, line_leaks, membrane_leaks
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import Instruments
from reduce.rehearsal.soils import SOILS, Soil

MONDAY_S = 1_927_843_200.0
"""A Monday's midnight, UTC. [s since the epoch]"""
_DRAINAGES = ("one end", "both ends", "radial", "radial + one end", "radial + both ends")
_SIZES = ((38.0, 76.0), (50.0, 100.0), (50.0, 105.0), (70.0, 140.0), (100.0, 200.0))
_UNSEEN = {
    "organic clay": replace(
        SOILS["soft-clay"], name="organic clay", void_ratio=2.3, saturation=0.93,
        skeleton_per_kPa=3.0e-4, dissolving_h=5.0, cv_m2_year=0.5, secondary=0.012, lambda_=0.35,
    ),
    "glacial till": replace(
        SOILS["stiff-clay"], name="glacial till", void_ratio=0.36, saturation=0.985,
        skeleton_per_kPa=2.5e-5, dissolving_h=18.0, cv_m2_year=9.0, lambda_=0.04, kappa=0.009,
    ),
    "residual silt": replace(
        SOILS["silt"], name="residual silt", void_ratio=1.05, saturation=0.90,
        skeleton_per_kPa=9.0e-5, dissolving_h=25.0, cv_m2_year=70.0, secondary=0.002,
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One test and how it is read."""

    seed: int
    plan: TestPlan
    soil: Soil
    run: TestRun
    made: Instruments
    presence: Presence
    attended: str | None
    started: float
    every_s: float | None
    """Steady rows; None: by the schedules. [s]"""
    tube_ml: float
    """What the drainage line gives back when its valve opens. [ml]"""
    warmth_ml_C: float
    """What the gauge of back volume feels of the room's temperature. [ml/°C]"""
    fault: str

    @property
    def drains(self) -> OtherDissipation:
        """How it really consolidates."""
        assert isinstance(self.run.dissipation, OtherDissipation)
        return self.run.dissipation


def draw(seed: int, *, unseen: bool = False) -> Case:
    """The test of a seed."""
    dice = Random(f"campaign {seed} {unseen}")
    soil = _soil(dice, unseen)
    diameter, height = dice.choice(_SIZES)
    kind = dice.choice(("CU", "CU", "CD"))
    standard = dice.choice(
        ("ASTM D4767", "BS 1377-8", "ISO 17892-9") if kind == "CU" else ("ASTM D7181", "BS 1377-8")
    )
    limit = dice.choice((400.0, 500.0, 600.0, 800.0))
    step = dice.choice((50.0, 50.0, 50.0, 70.0, 100.0))
    drainage = dice.choice(_DRAINAGES)
    end = dice.choice(("dissipation 95 %", "dissipation 95 %", "t100 + 1 log cycle", "24 h"))
    soft_line = dice.random() < 0.25
    volume = math.pi / 4000.0 * diameter**2 * height
    plan = TestPlan(
        cell="C1", soil=soil, kind=kind, standard=standard, height_mm=height, diameter_mm=diameter,
        drainage=drainage, cell_step_kPa=step, excess_kPa=dice.choice((10.0, 10.0, 15.0)),
        effective_kPa=dice.choice((80.0, 150.0, 250.0, 400.0)), back_limit_kPa=limit,
        consolidation_end=end, strain_limit=dice.choice((0.10, 0.15, 0.20)),
        line_ml_kPa=volume * soil.skeleton_per_kPa * dice.uniform(0.01, 0.06) if soft_line else 0.0,
        seed=seed,
    )  # fmt: skip
    ways = Physics(
        cv_change=dice.uniform(-0.35, 0.5),
        resistance=dice.uniform(0.06, 0.15) if unseen else dice.choice((0.0, 0.0, 0.02, 0.05)),
        creep=dice.choice(("with stress", "after primary", "from the start")),
        quick_share=dice.choice((0.0, 0.3, 0.6)),
        stiffening=dice.uniform(0.0, 0.04),
        line_kPa=dice.choice((0.0, 400.0)),
    )
    starts = dice.uniform(7.5, 14.0) * 3600.0 + 86400.0 * dice.randrange(5)
    at_work = dice.random() < 0.5
    presence = Presence(7.5 if at_work else None, 16.0, starts)
    fault, faults = _fault(dice, unseen)
    if not fault.startswith("motor"):
        faults = (*faults, (0.0, _no_motor_is_perfect(seed, unseen)))
    run = OtherTechnician(
        plan, faults=faults, ways=ways, presence=presence, slowness=dice.choice((1.0, 1.0, 3.0))
    ).work()
    return Case(
        seed=seed,
        plan=plan,
        soil=soil,
        run=run,
        made=Instruments(
            seed=seed,
            errors=dice.choice((0.5, 1.0, 2.0)),
            room_swing_C=dice.uniform(1.5, 2.5) if fault == "warm room" else dice.uniform(0.2, 1.0),
        ),
        presence=presence,
        attended="Mon-Fri 07:30-16:00" if at_work else None,
        started=MONDAY_S + starts,
        every_s=dice.choice((None, None, 10.0, 60.0)),
        tube_ml=dice.choice((0.0, 0.05, 0.2)),
        warmth_ml_C=0.015 if fault == "warm room" else dice.choice((0.0, 0.003)),
        fault=fault,
    )


def _soil(dice: Random, unseen: bool) -> Soil:
    soil = _UNSEEN[dice.choice(sorted(_UNSEEN))] if unseen else SOILS[dice.choice(sorted(SOILS))]

    def about(value: float, factor: float) -> float:
        return value * math.exp(dice.gauss(0.0, math.log(factor)))

    return replace(
        soil,
        saturation=1.0 - min(about(1.0 - soil.saturation, 1.6), 0.14),
        skeleton_per_kPa=about(soil.skeleton_per_kPa, 1.5),
        dissolving_h=about(soil.dissolving_h, 1.6),
        cv_m2_year=about(soil.cv_m2_year, 2.5),
        settling_s=about(soil.settling_s, 1.5),
        secondary=about(soil.secondary + 0.0005, 1.7),
    )


def _no_motor_is_perfect(seed: int, unseen: bool) -> Disturbance:
    """A few parts in a thousand of its speed come and go."""
    dice = Random(f"motor {seed} {unseen}")
    return motor_wanders(dice.uniform(0.001, 0.008), dice.uniform(1e3, 2e4), dice.random())


def _fault(dice: Random, unseen: bool) -> tuple[str, tuple[tuple[float, Disturbance], ...]]:
    """What is out of order, mildly; half of all tests are well."""
    name = dice.choice(
        ("none", "warm room", "membrane leak", "motor set anew")
        if unseen
        else ("none", "none", "line leak", "motor wanders")
    )
    if name == "membrane leak":
        return name, ((0.0, membrane_leaks(dice.uniform(0.002, 0.01))),)
    if name == "line leak":
        return name, ((0.0, line_leaks(dice.uniform(0.002, 0.01))),)
    if name == "motor wanders":
        wander = motor_wanders(dice.uniform(0.01, 0.03), dice.uniform(2e3, 2e4), dice.random())
        return name, ((0.0, wander),)
    if name == "motor set anew":
        return name, ((0.0, motor_is_set(dice)),)
    return name, ()
