"""The bench of the invented ferry quay at Skarnes Sound.

All names, numbers and soils are made up.
"""

from collections.abc import Callable
from dataclasses import replace

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import Instruments
from reduce.rehearsal.soils import SOILS, varied
from tui.rehearsed import dialects, moments
from tui.rehearsed.setup import CellSetup

BENCH_NAME = "Skarnes Sound, ferry quay"

SUPPLY_SIZE = 6
"""Cells that one source of pressure feeds."""

_NIGHT = ReadingPlan(root_slots=64)
"""Seventeen hours of readings in a step of saturation: a night's hold is covered."""


def ferry_quay(cells: int, seed: int) -> list[CellSetup]:
    """The bench of six, and beyond six the same again with other samples of the same ground."""
    roles = (
        _soft_clay, _stalling_clay, _silty_clay, _clay_in_shear, _dilating_sand, _just_mounted,
    )  # fmt: skip
    setups = []
    for number in range(1, cells + 1):
        # The first six cells of seed 0 are the scenario itself, as it was invented.
        key = 0 if seed == 0 and number <= 6 else sample_seed(number, seed)
        plan = TestPlan(f"C{number}", SOILS["soft-clay"], seed=sample_seed(number, seed))
        setups.append(roles[(number - 1) % 6](blank_setup(plan, number, seed), key))
    return setups


def sample_seed(number: int, seed: int) -> int:
    """Of one cell of a bench."""
    return seed * 100 + number


def blank_setup(plan: TestPlan, number: int, seed: int) -> CellSetup:
    made = Instruments(seed=seed, travel_from_mm=1.5 + 0.37 * ((number * 7) % 5))
    dialect = dialects.DIALECTS[(number - 1) % 6]
    return CellSetup(plan, _NIGHT, made, dialect, test_id=f"T{number + 10:03d}")


def _of(
    blank: CellSetup,
    ground: tuple[str, str, float],
    aim: Callable[[TestRun], float],
    plan: TestPlan,
) -> CellSetup:
    hole, sample, depth = ground
    return replace(blank, plan=plan, hole=hole, sample=sample, depth_m=depth, aim=aim)


def _soft_clay(blank: CellSetup, key: int) -> CellSetup:
    plan = replace(
        blank.plan, soil=varied(SOILS["soft-clay"], key), drain_perimeter_mm=78.0,
        effective_kPa=120.0, holds_h=((3, 9.0),),
    )  # fmt: skip
    return _of(blank, ("BH2", "U07", 6.4), moments.while_saturating, plan)


def _stalling_clay(blank: CellSetup, key: int) -> CellSetup:
    clay = varied(SOILS["soft-clay"], key)
    plan = replace(
        blank.plan, soil=replace(clay, saturation=1.0 - 0.72 * (1.0 - clay.saturation)),
        standard="BS 1377-8", drain_perimeter_mm=78.0, effective_kPa=240.0, line_ml_kPa=0.0038,
        holds_h=((4, 8.0),), rating_kPa=1000.0,
    )  # fmt: skip
    return _of(blank, ("BH2", "U07", 6.4), moments.while_stalled, plan)


def _silty_clay(blank: CellSetup, key: int) -> CellSetup:
    plan = replace(
        blank.plan, soil=varied(SOILS["silty-clay"], key), standard="ISO 17892-9",
        height_mm=140.0, diameter_mm=70.0, drainage="radial + one end", drain_perimeter_mm=110.0,
        effective_kPa=160.0, consolidation_end="dissipation 95 %", holds_h=((5, 9.0),),
        membrane_mm=0.35, cell_water_ml=2600.0, expansion_ml_kPa=0.0082,
    )  # fmt: skip
    return _of(blank, ("BH4", "U12", 11.8), moments.while_consolidating, plan)


def _clay_in_shear(blank: CellSetup, key: int) -> CellSetup:
    plan = replace(
        blank.plan, soil=varied(SOILS["soft-clay"], key), drain_perimeter_mm=78.0,
        effective_kPa=80.0, consolidation_end="24 h", holds_h=((5, 9.0),), rate_percent_min=0.02,
        rating_kPa=1000.0,
    )  # fmt: skip
    setup = _of(blank, ("BH2", "U06", 5.2), moments.near_peak, plan)
    return replace(
        setup,
        reading=replace(_NIGHT, strain_step=0.0005, strain_slots=320),
        made=replace(setup.made, frame_mm_N=2e-5),
    )


def _dilating_sand(blank: CellSetup, key: int) -> CellSetup:
    plan = replace(
        blank.plan, soil=varied(SOILS["dense-sand"], key), kind="CD", standard="ASTM D7181",
        height_mm=140.0, diameter_mm=70.0, drainage="both ends", membrane_mm=0.4,
        effective_kPa=200.0, rate_percent_min=0.05, holds_h=((6, 9.0),), cell_water_ml=2600.0,
        expansion_ml_kPa=0.0082,
    )  # fmt: skip
    setup = _of(blank, ("BH5", "R03", 0.0), moments.while_dilating, plan)
    return replace(
        setup,
        made=replace(setup.made, external_load_cell=True, friction_N=5.0),
        mounting="dry",
        flush="CO2",
    )


def _just_mounted(blank: CellSetup, key: int) -> CellSetup:
    plan = replace(
        blank.plan, soil=varied(SOILS["silty-clay"], key), drain_perimeter_mm=78.0,
        rating_kPa=1000.0,
    )  # fmt: skip
    return _of(blank, ("BH4", "U13", 13.1), moments.while_seating, plan)
