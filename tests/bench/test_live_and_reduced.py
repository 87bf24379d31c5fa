"""What the screen says of a running shear is what the reduction says of its newest reading."""

from pathlib import Path

import pytest

from reduce.reduction.stages import reduce_stages
from tui.bench.look import look
from tui.bench.one_test import read_test
from tui.settings.places import find_place, read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.mark.parametrize("name", ["C4", "C5"])
def test_the_newest_reading(name: str) -> None:
    """C4: internal load cell, side drains, frame compliance; C5: external one, drained."""
    shown = next(cell for cell in look(SAMPLES).cells if cell.cell == name).quantities
    layout = read_layout(SAMPLES)
    stages = reduce_stages(read_test(layout, find_place(layout, name)).record)
    assert stages.sheared is not None
    table = stages.sheared.table
    assert shown.deviator_kPa == pytest.approx(table.deviator_kPa[-1], rel=1e-12)
    assert shown.axial_strain == pytest.approx(table.axial_strain[-1], rel=1e-12)
    assert stages.saturation is not None
    assert pytest.approx(shown.B, rel=1e-12) == stages.saturation.B


def test_consolidation_so_far() -> None:
    shown = next(cell for cell in look(SAMPLES).cells if cell.cell == "C3").quantities
    layout = read_layout(SAMPLES)
    found = reduce_stages(read_test(layout, find_place(layout, "C3")).record).consolidation
    assert found is not None
    assert shown.volumetric_strain == pytest.approx(found.volumetric_strain, rel=1e-12)
