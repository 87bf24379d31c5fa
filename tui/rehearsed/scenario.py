"""The bench of the invented ferry quay at Skarnes Sound, and benches of one soil.

All names, numbers and soils are made up.
"""

from dataclasses import replace

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan
from reduce.rehearsal.sensors import Instruments
from reduce.rehearsal.soils import SOILS, Soil, varied
from reduce.rehearsal.technician import TestRun
from tui.rehearsed.dialects import DIALECTS
from tui.rehearsed.setup import CellSetup

BENCH_NAME = "Skarnes Sound, ferry quay"

SUPPLY_SIZE = 6
"""Cells that one source of pressure feeds."""


def while_saturating(run: TestRun) -> float:
    """In the raise before the check that passes."""
    return _amid_raise(run, len([c for c in run.checks if c.in_phase == "saturation"]) - 1)


def while_stalled(run: TestRun) -> float:
    """In the raise after two checks that brought nothing."""
    checks = [check for check in run.checks if check.in_phase == "saturation"]
    b = [
        run.trace.one("pore_kPa", c.ended_s) - run.trace.one("pore_kPa", c.began_s) for c in checks
    ]
    b = [rise / check.delta_cell_kPa for rise, check in zip(b, checks, strict=True)]
    for i in range(4, len(b)):
        if b[i] - b[i - 2] < 0.009:
            return _amid_raise(run, min(i + 1, len(checks) - 1))
    return _amid_raise(run, len(checks) - 1)


def _amid_raise(run: TestRun, check: int) -> float:
    """Halfway from the raise before a check to that check."""
    began = run.checks[check].began_s
    raises = [s.act_s for s in run.steps if s.step == "raise" and s.act_s < began]
    return 0.5 * (raises[-1] + began)


def while_consolidating(run: TestRun) -> float:
    """At 62 % of consolidation."""
    return run.opened_s + run.dissipation.time_of(0.62)


def near_peak(run: TestRun) -> float:
    """At 85 % of the strain at the peak."""
    return _at_strain(run, 0.85 * run.curve.peak_deviator().axial_strain)


def while_dilating(run: TestRun) -> float:
    """At 6 % of strain."""
    return _at_strain(run, 0.06)


def _at_strain(run: TestRun, strain: float) -> float:
    return run.contact_s + strain / (run.rate_percent_min / 100.0) * 60.0


def while_seating(run: TestRun) -> float:
    """Under the seating pressure, before any back pressure."""
    return next(step.act_s for step in run.steps if step.step == "hold") + 1200.0


def ferry_quay(cells: int, seed: int) -> tuple[CellSetup, ...]:
    """The bench of six, and beyond six the same again with other samples of the same ground."""
    return tuple(_quay_cell(number, seed) for number in range(1, cells + 1))


def one_soil(soil: str, cells: int, seed: int) -> tuple[CellSetup, ...]:
    """Every cell with the same soil, from set-up to the end, CU and CD in turns."""
    return tuple(_soil_cell(SOILS[soil], number, seed) for number in range(1, cells + 1))


def _sample_seed(number: int, seed: int) -> int:
    return seed * 100 + number


def _soil_of(name: str, number: int, seed: int) -> Soil:
    # The first six cells of seed 0 are the scenario itself.
    return varied(SOILS[name], 0 if seed == 0 and number <= 6 else _sample_seed(number, seed))


def _instruments(number: int, seed: int) -> Instruments:
    return Instruments(seed=seed, travel_from_mm=1.5 + 0.37 * ((number * 7) % 5))


def _quay_cell(number: int, seed: int) -> CellSetup:
    cell, role = f"C{number}", (number - 1) % 6
    made, key = _instruments(number, seed), _sample_seed(number, seed)
    dialect, test_id = DIALECTS[role], f"T{number + 10:03d}"
    night = ReadingPlan(root_slots=64)

    def soil(name: str) -> Soil:
        return _soil_of(name, number, seed)

    if role == 0:
        plan = TestPlan(
            cell,
            soil("soft-clay"),
            drain_perimeter_mm=78.0,
            effective_kPa=120.0,
            holds_h={3: 9.0},
            seed=key,
        )
        return CellSetup(
            plan, night, made, dialect, test_id, "BH2", "U07", 6.4, aim=while_saturating
        )
    if role == 1:
        clay = soil("soft-clay")
        plan = TestPlan(
            cell,
            replace(clay, saturation=1.0 - 0.72 * (1.0 - clay.saturation)),
            standard="BS 1377-8",
            drain_perimeter_mm=78.0,
            effective_kPa=240.0,
            line_ml_kPa=0.0038,
            holds_h={4: 8.0},
            seed=key,
        )
        return CellSetup(
            plan,
            night,
            made,
            dialect,
            test_id,
            "BH2",
            "U07",
            6.4,
            rating_kPa=1000.0,
            aim=while_stalled,
        )
    if role == 2:
        plan = TestPlan(
            cell,
            soil("silty-clay"),
            standard="ISO 17892-9",
            height_mm=140.0,
            diameter_mm=70.0,
            drainage="radial + one end",
            drain_perimeter_mm=110.0,
            effective_kPa=160.0,
            consolidation_end="dissipation 95 %",
            holds_h={5: 9.0},
            membrane_mm=0.35,
            cell_water_ml=2600.0,
            expansion_ml_kPa=0.0082,
            seed=key,
        )
        return CellSetup(
            plan,
            replace(night, strain_slots=160),
            made,
            dialect,
            test_id,
            "BH4",
            "U12",
            11.8,
            aim=while_consolidating,
        )
    if role == 3:
        plan = TestPlan(
            cell,
            soil("soft-clay"),
            drain_perimeter_mm=78.0,
            effective_kPa=80.0,
            consolidation_end="24 h",
            holds_h={5: 9.0},
            rate_percent_min=0.02,
            seed=key,
        )
        return CellSetup(
            plan,
            replace(night, strain_step=0.0005, strain_slots=320),
            replace(made, frame_mm_N=2e-5),
            dialect,
            test_id,
            "BH2",
            "U06",
            5.2,
            rating_kPa=1000.0,
            aim=near_peak,
        )
    if role == 4:
        plan = TestPlan(
            cell,
            soil("dense-sand"),
            "CD",
            "ASTM D7181",
            140.0,
            70.0,
            "both ends",
            membrane_mm=0.4,
            effective_kPa=200.0,
            consolidation_end="t100 + 1 log cycle",
            rate_percent_min=0.05,
            holds_h={6: 9.0},
            piston_mm=20.0,
            cell_water_ml=2600.0,
            expansion_ml_kPa=0.0082,
            seed=key,
        )
        return CellSetup(
            plan,
            ReadingPlan(log_slots=22),
            replace(made, external_load_cell=True, friction_N=5.0),
            dialect,
            test_id,
            "BH5",
            "R03",
            0.0,
            load_cell="external",
            mounting="dry",
            flush="CO2",
            aim=while_dilating,
        )
    plan = TestPlan(cell, soil("silty-clay"), drain_perimeter_mm=78.0, seed=key)
    return CellSetup(
        plan,
        night,
        made,
        dialect,
        test_id,
        "BH4",
        "U13",
        13.1,
        rating_kPa=1000.0,
        aim=while_seating,
    )


def _soil_cell(ground: Soil, number: int, seed: int) -> CellSetup:
    drained_first = ground.model == "sand"
    kind = "CD" if (number % 2 == 1) == drained_first else "CU"
    sand = ground.model == "sand"
    size = (140.0, 70.0) if sand else (100.0, 50.0)
    standard = "ASTM D7181" if kind == "CD" else ("ASTM D4767", "BS 1377-8")[(number // 2) % 2]
    plan = TestPlan(
        f"C{number}",
        varied(ground, _sample_seed(number, seed)),
        "CD" if kind == "CD" else "CU",
        standard,
        size[0],
        size[1],
        "both ends" if sand else ("radial + both ends", "radial + one end")[number % 2],
        drain_perimeter_mm=0.0 if sand else 78.0,
        effective_kPa=(100.0, 200.0, 400.0)[((number - 1) // 2) % 3],
        back_limit_kPa=700.0,
        cell_water_ml=2600.0 if sand else 1200.0,
        expansion_ml_kPa=0.0082 if sand else 0.0045,
        seed=_sample_seed(number, seed),
    )
    return CellSetup(
        plan,
        ReadingPlan(root_slots=64),
        _instruments(number, seed),
        DIALECTS[(number - 1) % 6],
        f"T{number:03d}",
        "BH1",
        f"U{number:02d}",
        4.0 + 0.8 * number,
        mounting="dry" if sand else "wet",
        flush="CO2" if sand else None,
        begins_s=1500.0 * (number - 1),
    )
