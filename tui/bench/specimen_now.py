"""The specimen of a running test, by the same reduction that reports it afterwards."""

from reduce.reduction.dimensions import Cylinder
from reduce.reduction.sheared_specimen import setting_of, sheared_cylinder
from reduce.shearing.setting import ShearSetting
from tui.bench.phases import Phases
from tui.bench.readings import Readings
from tui.bench.record import record_of
from tui.settings.cell_toml import CellToml


def sheared_specimen(
    settings: CellToml, readings: Readings, phases: Phases
) -> tuple[Cylinder, ShearSetting]:
    """The specimen that is sheared, and what its shear is worked out with."""
    record = record_of("", settings, readings, phases, ())
    cylinder = sheared_cylinder(record)
    zero = record.index_at(record.zero_strain_s) or 0
    return cylinder, setting_of(record, cylinder, zero, "cylinder")
