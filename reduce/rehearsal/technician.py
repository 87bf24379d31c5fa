"""The technician: carries out a plan on a rig, decides by what is seen, needs a little time.

Acts fall on full seconds. Each begins with the reading before it: that reading belongs to the
step before, the first one after the act to the new step.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from reduce.rehearsal.compression import Compression
from reduce.rehearsal.curve import ShearCurve
from reduce.rehearsal.dissipation import Dissipation
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.pores import Pores
from reduce.rehearsal.rates import advised_rate_percent_min
from reduce.rehearsal.records import CheckRecord, StepRecord, TestRun
from reduce.rehearsal.responses import BeforeShear, Draining, Shearing
from reduce.rehearsal.rig import Rig, Trace
from reduce.rehearsal.shear_curves import curve_of, unconsolidated
from reduce.rehearsal.upset import Upset

SLOW_KPA_S = 1.0 / 600.0
"""Pore pressure that moves slower has settled."""

LONGEST_CHECK_S = 2700.0
"""The technician waits no longer for that."""

ProcessFault = Callable[[Upset, float, Rig], None]


@dataclass(slots=True)
class Technician:
    """Works through the phases in order; `work` does it all."""

    plan: TestPlan
    faults: tuple[tuple[float, ProcessFault], ...] = ()
    gap_left_mm: float = 0.0
    """Of a botched docking: the ram still has so far to go when shear is declared."""
    rate_factor: float = 1.0
    """Of a motor that runs at another speed than wanted."""
    steps: list[StepRecord] = field(default_factory=list)
    checks: list[CheckRecord] = field(default_factory=list)
    extra_s: list[float] = field(default_factory=list)
    rig: Rig = field(init=False)
    dice: Random = field(init=False)

    def __post_init__(self) -> None:
        self.rig = Rig(self.plan, self.pores(), self.faults)
        self.dice = Random(f"technician {self.plan.cell} {self.plan.seed}")

    def pores(self) -> Pores:
        """How the specimen saturates."""
        plan, soil = self.plan, self.plan.soil
        return Pores(
            plan.volume_ml,
            soil.porosity,
            soil.saturation,
            soil.skeleton_per_kPa,
            soil.dissolving_h * 3600.0,
            plan.line_ml_kPa,
        )

    def dissipation(self) -> Dissipation:
        """How the specimen drains."""
        plan = self.plan
        return Dissipation(plan.height_mm, plan.diameter_mm, plan.drainage, plan.soil.cv_m2_year)

    def work(self) -> TestRun:
        """Carry out the whole plan, from mounting to letting the pressures go."""
        plan, rig = self.plan, self.rig
        compression = Compression(plan)
        draining = self.dissipation()
        if plan.kind == "UU":
            self._set_up_unconsolidated()
            opened, first_excess, before = rig.t, 0.0, unconsolidated(plan, rig.cell_kPa)
        else:
            self._set_up()
            rig.conductance_ml_kPa_s = draining.first_rate_per_s * compression.storage_ml_kPa
            self._saturate()
            opened, first_excess, before = self._consolidate(draining, compression)
        contact, curve, rate = self._shear(draining, before)
        self._end()
        return TestRun(
            plan,
            Trace(rig.trace),
            self.steps,
            self.checks,
            self.extra_s,
            opened,
            draining,
            compression,
            first_excess,
            contact,
            curve,
            before.height_mm,
            before.area_mm2,
            before.volume_ml,
            before.lost_ml,
            rate,
            rig.t,
        )

    def _begin(self, phase: str, step: str, readings: str, continues: bool = False) -> None:
        self.rig.phase, self.rig.step = phase, step
        self.steps.append(StepRecord(phase, step, self.rig.t, readings, continues))

    def _pause(self, low_s: float, high_s: float) -> None:
        self.rig.run(float(round(low_s + (high_s - low_s) * self.dice.random())))

    def _set_up(self) -> None:
        rig, plan = self.rig, self.plan
        self._begin("setup", "mount", "setup")
        self._pause(1500, 2400)
        self._begin("setup", "flush", "setup")
        self._pause(900, 1500)
        self._begin("setup", "vented", "setup")
        self._pause(900, 1200)
        self._begin("setup", "hold", "setup")
        rig.turn(cell=plan.seating_kPa)
        self._pause(1500, 2100)

    def _set_up_unconsolidated(self) -> None:
        """Cell pressure with drainage closed from the beginning, and a wait."""
        rig, plan = self.rig, self.plan
        self._begin("setup", "mount", "setup")
        self._pause(1500, 2400)
        self._begin("setup", "hold", "setup")
        rig.turn(cell=plan.undrained_cell_kPa)
        rig.run(600.0, until=lambda: rig.cell_set_kPa == rig.cell_goal_kPa)
        self._pause(600, 720)

    def _saturate(self) -> None:
        rig, plan = self.rig, self.plan
        raises = 0
        passed = False
        while True:
            raises += 1
            self._raise(raises)
            if passed or rig.back_goal_kPa + plan.cell_step_kPa > plan.back_limit_kPa:
                return
            check = self._check("saturation", "b-check", plan.cell_step_kPa)
            passed = check >= plan.b_target

    def _raise(self, number: int) -> None:
        rig, plan = self.rig, self.plan
        self._begin("saturation", "raise", "saturation")
        rig.turn(back=rig.cell_goal_kPa - plan.excess_kPa)
        self._pause(45, 75)
        # Both pressures stand: what follows, until hands come again, is a hold.
        self._begin("saturation", "hold", "saturation", continues=True)
        rig.turn(valve=True)
        began = rig.t

        def equal() -> bool:
            return rig.t - began > 1500 and abs(rig.base_kPa - rig.back_kPa) < 0.8

        rig.run(5.0 * 3600.0, until=equal)
        self._pause(240, 900)
        hours = dict(plan.holds_h).get(number)
        if hours is not None:
            rig.run(hours * 3600.0)
            self._pause(60, 600)

    def _check(self, phase: str, step: str, rise_kPa: float) -> float:
        """Raise cell pressure with the valve closed; gives B as the technician works it out."""
        rig = self.rig
        rig.turn(valve=False)
        self._pause(20, 40)
        self._begin(phase, step, "saturation")
        began, base, saturation = rig.t, rig.base_kPa, rig.pores.saturation
        cell, pore = rig.cell_kPa, rig.pores.pore_kPa
        rig.turn(cell=rig.cell_goal_kPa + rise_kPa)
        rig.run(600.0, until=lambda: rig.cell_set_kPa == rig.cell_goal_kPa)
        self.extra_s.append(rig.t)
        stood, b_model = rig.t, (rig.pores.pore_kPa - pore) / max(rig.cell_kPa - cell, 1e-6)
        looked_s, looked_kPa = rig.t, rig.base_kPa
        quiet_s, quiet_kPa = rig.t, rig.base_kPa

        def settled() -> bool:
            nonlocal looked_s, looked_kPa, quiet_s, quiet_kPa
            if rig.t - looked_s >= 20.0:
                moves = abs(rig.base_kPa - looked_kPa) / (rig.t - looked_s) > SLOW_KPA_S
                if moves or rig.t < stood + 120.0:
                    quiet_s, quiet_kPa = rig.t, rig.base_kPa
                looked_s, looked_kPa = rig.t, rig.base_kPa
            return rig.t - stood > 420.0 and rig.t - quiet_s > 540.0

        rig.run(LONGEST_CHECK_S, until=settled)
        if rig.t - quiet_s < 540.0:
            quiet_kPa = rig.base_kPa
        self._pause(60, 240)
        self.checks.append(
            CheckRecord(
                began, stood, rig.t, rig.back_kPa, rig.cell_kPa - cell, b_model, saturation, phase
            )
        )
        return (quiet_kPa - base) / max(rig.cell_kPa - cell, 1e-6)

    def _consolidate(
        self, dissipation: Dissipation, compression: Compression
    ) -> tuple[float, float, BeforeShear]:
        rig, plan = self.rig, self.plan
        rise = rig.back_goal_kPa + plan.effective_kPa - rig.cell_goal_kPa
        rig.ramp_kPa_s = 1.0
        self._check("consolidation", "build-up", rise)
        self._begin("consolidation", "drained", "consolidation")
        opened = rig.t
        first_excess = rig.pores.pore_kPa - rig.back_kPa
        draining = Draining(rig, dissipation, compression)
        rig.respond = draining
        rig.turn(valve=True)
        criteria: dict[str, Callable[[], bool]] = {
            "dissipation 95 %": lambda: draining.base_left() <= 0.045,
            "t100 + 1 log cycle": lambda: rig.t - opened >= 10.0 * dissipation.t100_s,
            "24 h": lambda: rig.t - opened >= 86400.0,
        }
        met = criteria[plan.consolidation_end]
        rig.run(
            max(20.0 * dissipation.time_of(0.95), 90000.0),
            until=lambda: rig.t - opened > 1800.0 and met(),
        )
        self._pause(300, 900)
        draining.finish()
        if plan.kind == "CU":
            rig.turn(valve=False)
            self._pause(120, 300)
        return opened, first_excess, draining.before_shear()

    def _shear(
        self, dissipation: Dissipation, before: BeforeShear
    ) -> tuple[float, ShearCurve, float]:
        rig, plan = self.rig, self.plan
        curve = curve_of(plan, before, rig.cell_kPa)
        rate = plan.rate_percent_min or advised_rate_percent_min(plan, dissipation)
        shearing = Shearing(rig, before, curve)
        rig.respond = shearing
        self._begin("shear", "dock", "dock")
        gap_mm = 1.2 + 1.2 * self.dice.random()
        rig.strain = -gap_mm / before.height_mm
        shearing.zero_mm = rig.travel_mm + gap_mm
        rig.turn(speed_mm_s=0.3 / 60.0)
        rig.run(
            3600.0,
            # Two seconds before the touch: steps end on full seconds and none may go beyond it.
            until=lambda: rig.travel_mm >= shearing.zero_mm - self.gap_left_mm - 0.01,
            longest_s=1.0,
        )
        contact = rig.t
        # The technician stops at the touch and takes this for the zero of strain.
        shearing.zero_mm = rig.travel_mm + self.gap_left_mm
        self._begin("shear", "shear", "shear")
        speed = rate * self.rate_factor / 100.0 / 60.0 * before.height_mm
        rig.turn(speed_mm_s=speed)
        goal_mm = (plan.strain_limit + plan.overrun) * before.height_mm - self.gap_left_mm
        rig.run(
            1.6 * plan.strain_limit / (rate * self.rate_factor / 100.0 / 60.0),
            until=lambda: rig.travel_mm - shearing.zero_mm >= goal_mm,
            longest_s=2e-4 * before.height_mm / speed,
        )
        return contact, curve, rate * self.rate_factor

    def _end(self) -> None:
        rig = self.rig
        self._begin("ended", "", "ended")
        rig.turn(speed_mm_s=0.0)
        rig.run(1200.0)
        rig.ramp_kPa_s = 3.0
        rig.turn(cell=0.0, back=0.0)
        rig.run(1800.0)
