"""Benches of one soil: sets of three specimens that share a failure envelope.

The specimens of a set are of one sample and one kind of test. They have the same φ′ and differ
otherwise by less than two samples of the ground do. All names, numbers and soils are made up.
"""

from dataclasses import dataclass, replace
from typing import Literal

from reduce.rehearsal.dissipation import DrainageName
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan
from reduce.rehearsal.soils import SOILS, Soil, varied
from tui.rehearsed.dialects import Dialect
from tui.rehearsed.orders import WrongOrderError
from tui.rehearsed.scenario import blank_setup, sample_seed
from tui.rehearsed.setup import CellSetup

Kind = Literal["CU", "CD", "UU"]

SET_SIZE = 3

STRESSES_KPA = (100.0, 200.0, 400.0)
"""To consolidate at, in each set; of UU the cell pressures."""

STANDARDS: dict[Kind, tuple[str, ...]] = {
    "CU": ("ASTM D4767", "BS 1377-8", "ISO 17892-9"),
    "CD": ("ASTM D7181", "ISO 17892-9", "BS 1377-8"),
    "UU": ("ASTM D2850", "ISO 17892-8"),
}
"""One a set, in turns among the sets of a kind."""

OVERRUN = 0.003
"""So that a reading of every gauge lies beyond the strain limit. [-]"""

WITHIN_A_SAMPLE = 0.2
"""How far specimens of one sample differ, over how far samples of the ground do. [-]"""

_BY_DRAINS: tuple[DrainageName, DrainageName] = ("radial + both ends", "radial + one end")

_TOTAL_STRESS = ("cell_pressure", "axial_displacement", "axial_load", "temperature")

_QUICK = ReadingPlan(setup_s=120.0, dock_s=30.0)
"""Of a test that takes an hour and a half."""


def one_soil(soil: str, cells: int, seed: int, kind: Kind | None = None) -> list[CellSetup]:
    """Every cell with the same soil, from set-up to the end, in sets of three.

    Args:
        soil: its name.
        cells: how many; the last set may be incomplete.
        seed: of the bench.
        kind: of every test; None: sets of CU and of CD in turns, sand CD first.

    Raises:
        WrongOrderError: a UU test of sand.
    """
    ground = SOILS[soil]
    if kind == "UU" and ground.model == "sand":
        raise WrongOrderError(
            f"--kind UU does not suit {soil}: sand drains and saturates while it is set up; "
            "name a clay or the silt"
        )
    return [
        _soil_cell(_set_of(ground, (number - 1) // SET_SIZE, seed, kind), number, seed)
        for number in range(1, cells + 1)
    ]


@dataclass(frozen=True, slots=True)
class _Set:
    kind: Kind
    standard: str
    sample: Soil
    number: int
    """From 0."""


def _set_of(ground: Soil, index: int, seed: int, kind: Kind | None) -> _Set:
    turn = index
    if kind is None:
        drained = (index % 2 == 0) == (ground.model == "sand")
        kind, turn = "CD" if drained else "CU", index // 2
    standards = STANDARDS[kind]
    # The seed of a set is that of its first cell, so that no two sets of a bench have the same.
    sample = varied(ground, sample_seed(index * SET_SIZE + 1, seed))
    return _Set(kind, standards[turn % len(standards)], sample, index)


def _soil_cell(of: _Set, number: int, seed: int) -> CellSetup:
    place = (number - 1) % SET_SIZE
    plan = TestPlan(
        f"C{number}", of.sample, of.kind, of.standard,
        back_limit_kPa=700.0, overrun=OVERRUN, seed=sample_seed(number, seed),
    )  # fmt: skip
    plan = _unconsolidated(plan, place) if of.kind == "UU" else _consolidated(plan, of, place)
    sand = of.sample.model == "sand"
    setup = blank_setup(plan, number, seed)
    return replace(
        setup,
        reading=_QUICK if of.kind == "UU" else setup.reading,
        dialect=_of_total_stress(setup.dialect) if of.kind == "UU" else setup.dialect,
        test_id=f"T{number:03d}",
        hole="BH1",
        sample=f"{'R' if sand else 'U'}{of.number + 1:02d}",
        depth_m=4.0 + 2.4 * of.number,
        below_m=0.1 + 0.12 * place,
        letter="abc"[place],
        mounting="dry" if sand else "wet",
        flush="CO2" if sand else None,
        begins_s=1500.0 * (number - 1),
        gauges_fit=True,
    )


def _of_total_stress(dialect: Dialect) -> Dialect:
    """The same logger with nothing on the drainage line."""
    columns = tuple(column for column in dialect.columns if column.channel in _TOTAL_STRESS)
    return replace(dialect, columns=columns, drainage_header=None)


def _consolidated(plan: TestPlan, of: _Set, place: int) -> TestPlan:
    sand = of.sample.model == "sand"
    neighbour = varied(of.sample, plan.seed, WITHIN_A_SAMPLE)
    return replace(
        plan,
        soil=replace(neighbour, friction_deg=of.sample.friction_deg),
        height_mm=140.0 if sand else 100.0,
        diameter_mm=70.0 if sand else 50.0,
        # Two sets of each: over four sets both kinds meet both ways of draining.
        drainage="both ends" if sand else _BY_DRAINS[(of.number + of.number // 2) % 2],
        drain_perimeter_mm=0.0 if sand else 78.0,
        effective_kPa=STRESSES_KPA[place],
        cell_water_ml=2600.0 if sand else 1200.0,
        expansion_ml_kPa=0.0082 if sand else 0.0045,
    )


def _unconsolidated(plan: TestPlan, place: int) -> TestPlan:
    # Alike to the last digit: what a saturated clay carries does not hang on cell pressure.
    return replace(
        plan,
        soil=replace(plan.soil, saturation=1.0),
        undrained_cell_kPa=STRESSES_KPA[place],
    )
