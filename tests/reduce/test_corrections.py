"""Laws of load and corrections: nothing at zero strain, nothing twice, numbers as in columns."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce.errors import ReductionError
from reduce.record import Membrane, Piston, SideDrains
from reduce.shearing.corrections import (
    carried_beside,
    membrane_correction,
    side_drain_correction,
    side_drain_correction_by_table,
)
from reduce.shearing.load import specimen_load, uplift

STANDARDS = some.sampled_from(
    ["ASTM D2850", "ASTM D4767", "ASTM D7181", "ISO 17892-8", "ISO 17892-9", "BS 1377-8"]
)
STRAINS = some.floats(-0.05, 0.25)
MEMBRANES = some.one_of(
    some.none(), some.builds(Membrane, some.floats(0.1, 1.0), some.floats(500.0, 3000.0))
)
DRAINS = some.one_of(
    some.none(),
    some.builds(SideDrains, some.floats(10.0, 200.0), some.none() | some.floats(0.0, 0.5)),
)
DIAMETERS = some.floats(5.0, 40.0)
PRESSURES = some.floats(0.0, 2000.0)
LOADS = some.floats(-100.0, 20000.0)
PISTONS = some.one_of(
    some.none(),
    some.builds(Piston, DIAMETERS, some.just("internal")),
    some.builds(
        Piston,
        DIAMETERS,
        some.just("external"),
        some.sampled_from(["computed", "zeroed at pressure"]),
        PRESSURES,
        some.floats(0.0, 20.0),
    ),
)


@given(STANDARDS, some.floats(900.0, 20000.0), MEMBRANES, DRAINS)
def test_nothing_is_carried_at_zero_strain(
    standard: str, area: float, membrane: Membrane | None, drains: SideDrains | None
) -> None:
    found = carried_beside(standard, 0.0, 0.0, area=area, membrane=membrane, side_drains=drains)
    assert found == (0.0, 0.0, 0.0)


@given(STANDARDS, STRAINS, some.floats(-0.1, 0.1), MEMBRANES, DRAINS)
def test_carried_numbers_are_elements_of_columns(
    standard: str,
    strain: float,
    volumetric: float,
    membrane: Membrane | None,
    drains: SideDrains | None,
) -> None:
    beside = {"area": 1963.5, "membrane": membrane, "side_drains": drains}
    alone = carried_beside(standard, strain, volumetric, **beside)  # type: ignore[arg-type]
    column = carried_beside(
        standard,
        np.array([strain, np.nan]),
        np.array([volumetric, 0.0]),
        **beside,  # type: ignore[arg-type]
    )
    for number, elements in zip(alone, column, strict=True):
        assert type(number) is float
        assert elements.shape == (2,)
        assert elements[0] == pytest.approx(number, rel=1e-14)
    if membrane is not None:
        assert np.isnan(column.membrane[1])


@given(STANDARDS, some.floats(0.0, 0.3), some.floats(-0.1, 0.1), MEMBRANES, DRAINS)
def test_what_the_deviator_loses_does_not_depend_on_the_volume(
    standard: str,
    strain: float,
    volumetric: float,
    membrane: Membrane | None,
    drains: SideDrains | None,
) -> None:
    """σ1 and σ3 after ISO together take 4 Em t ε1/D from q, like the other standards."""
    of = carried_beside(
        standard, strain, volumetric, area=1134.1, membrane=membrane, side_drains=drains
    )
    taken = of.membrane - of.membrane_horizontal
    expected = 0.0
    if membrane is not None:
        expected = membrane_correction(
            strain,
            modulus=membrane.modulus_kPa,
            thickness=membrane.thickness_mm,
            diameter=math.sqrt(4.0 * 1134.1 / math.pi),
        )
    assert taken == pytest.approx(expected, abs=1e-9)


@given(some.floats(0.0, 0.02), some.floats(0.02, 0.3), some.floats(20.0, 400.0))
def test_side_drains_grow_in_proportion_and_stop(
    below: float, above: float, diameter: float
) -> None:
    full = side_drain_correction_by_table(0.02, diameter=diameter)
    assert side_drain_correction_by_table(above, diameter=diameter) == pytest.approx(full)
    assert side_drain_correction_by_table(below, diameter=diameter) == pytest.approx(
        full * below / 0.02, abs=1e-12
    )
    assert side_drain_correction_by_table(-below, diameter=diameter) == 0.0
    wider = side_drain_correction_by_table(0.02, diameter=diameter * 1.01)
    assert wider < full


@given(LOADS, PRESSURES, PISTONS)
def test_uplift_is_taken_once(load: float, pressure: float, piston: Piston | None) -> None:
    """Add to a true load what the load cell feels besides: the reduction gives it back."""
    felt = load
    if piston is not None and piston.load_cell == "external":
        area = math.pi / 4.0 * piston.diameter_mm**2 / 1000.0
        zero = piston.zeroed_at_kPa if piston.uplift == "zeroed at pressure" else 0.0
        felt += area * (pressure - zero) + piston.friction_N
    found = specimen_load(felt, pressure, piston)
    assert found == pytest.approx(load, abs=1e-8)
    column = specimen_load(np.array([felt, np.nan]), np.array([pressure, pressure]), piston)
    assert column[0] == pytest.approx(found, rel=1e-14, abs=1e-12)
    assert np.isnan(column[1])


@given(PRESSURES, DIAMETERS)
def test_a_load_cell_zeroed_at_the_pressure_of_the_test_needs_nothing(
    pressure: float, diameter: float
) -> None:
    zeroed = Piston(diameter, "external", "zeroed at pressure", zeroed_at_kPa=pressure)
    assert uplift(pressure, zeroed) == 0.0
    assert uplift(pressure, Piston(diameter, "internal", friction_N=9.0)) == 0.0
    assert uplift(pressure, None) == 0.0
    # and what it was zeroed at plays no part where the uplift is computed
    computed = Piston(diameter, "external", "computed", zeroed_at_kPa=pressure)
    assert uplift(pressure, computed) == uplift(pressure, Piston(diameter, "external", "computed"))


def test_an_internal_load_cell_needs_no_cell_pressure() -> None:
    load = np.array([100.0, 200.0])
    unknown = np.array([np.nan, np.nan])
    assert specimen_load(load, unknown, None).tolist() == [100.0, 200.0]
    outside = Piston(20.0, "external", "computed")
    assert np.isnan(specimen_load(load, unknown, outside)).all()


def test_an_external_load_cell_must_say_how_it_is_freed() -> None:
    with pytest.raises(ReductionError, match="uplift must be"):
        specimen_load(100.0, 500.0, Piston(20.0, "external"))
    with pytest.raises(ReductionError, match="diameter is 0 mm"):
        uplift(500.0, Piston(0.0, "external", "computed"))


def test_impossible_sizes_are_refused() -> None:
    with pytest.raises(ReductionError, match="diameter is 0 mm"):
        membrane_correction(0.1, modulus=1400.0, thickness=0.2, diameter=0.0)
    with pytest.raises(ReductionError, match="area is -1"):
        side_drain_correction(0.1, load_per_perimeter=0.19, perimeter=60.0, area=-1.0)
    with pytest.raises(ReductionError, match=r"load per perimeter is -0\.1"):
        side_drain_correction(0.1, load_per_perimeter=-0.1, perimeter=60.0, area=1134.0)
    with pytest.raises(ReductionError, match="diameter is nan"):
        side_drain_correction_by_table(0.1, diameter=math.nan)
    with pytest.raises(ReductionError, match="area is 0"):
        carried_beside("ASTM D4767", 0.1, 0.0, area=0.0, membrane=None, side_drains=None)
