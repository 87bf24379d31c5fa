"""Membrane and side drains.

Sources: formulas after ASTM D4767 and the table of side drains after BS 1377-8 (table 2), both from
memory; the membrane values were computed from the formula for common sizes, no published answer.
"""

import numpy as np
import pytest

from reduce.corrections import membrane_correction, side_drain_correction
from reduce.errors import ReductionError

STRAINS = np.array([0.02, 0.05, 0.10, 0.15, 0.20])


@pytest.mark.parametrize(
    ("diameter", "thickness", "expected"),
    [  # Em 1400 kPa; recomputed, no published answer
        (38.0, 0.2, [0.59, 1.47, 2.95, 4.42, 5.89]),
        (50.0, 0.3, [0.67, 1.68, 3.36, 5.04, 6.72]),
        (70.0, 0.3, [0.48, 1.20, 2.40, 3.60, 4.80]),
        (100.0, 0.4, [0.45, 1.12, 2.24, 3.36, 4.48]),
    ],
)
def test_membrane(diameter: float, thickness: float, expected: list[float]) -> None:
    found = membrane_correction(STRAINS, modulus=1400.0, thickness=thickness, diameter=diameter)
    assert found == pytest.approx(expected, abs=0.0051)


@pytest.mark.parametrize(
    ("diameter", "after_bs"), [(38.0, 10.0), (50.0, 7.0), (70.0, 5.0), (100.0, 3.5), (150.0, 2.5)]
)
def test_two_standards_agree_on_side_drains(diameter: float, after_bs: float) -> None:
    """Half the periphery covered: the formula of one standard against the table of the other.

    The table is rounded to half a kilopascal and lies below the formula by up to 9 %.
    """
    found = side_drain_correction(
        0.05,
        load_per_perimeter=0.19,
        perimeter=np.pi * diameter / 2.0,
        area=np.pi * diameter**2 / 4.0,
    )
    assert found == pytest.approx(after_bs, rel=0.09)


def test_corrections_vanish_at_zero_strain_and_drains_stop_growing() -> None:
    assert membrane_correction(0.0, modulus=1400.0, thickness=0.2, diameter=38.0) == 0.0
    drains = side_drain_correction(
        np.array([-0.01, 0.0, 0.01, 0.02, 0.1]),
        load_per_perimeter=0.19,
        perimeter=60.0,
        area=1134.0,
    )
    assert drains[:2].tolist() == [0.0, 0.0]
    assert drains[2] == pytest.approx(drains[3] / 2.0)
    assert drains[3] == drains[4]


def test_a_number_is_an_element_of_a_column() -> None:
    column = side_drain_correction(STRAINS, load_per_perimeter=0.19, perimeter=60.0, area=1134.0)
    for strain, element in zip(STRAINS.tolist(), column.tolist(), strict=True):
        single = side_drain_correction(strain, load_per_perimeter=0.19, perimeter=60.0, area=1134.0)
        assert single == element


def test_impossible_sizes_are_refused() -> None:
    with pytest.raises(ReductionError, match="diameter is 0 mm"):
        membrane_correction(0.1, modulus=1400.0, thickness=0.2, diameter=0.0)
    with pytest.raises(ReductionError, match="area is -1"):
        side_drain_correction(0.1, load_per_perimeter=0.19, perimeter=60.0, area=-1.0)
