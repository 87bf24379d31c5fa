"""The specimen that is sheared, and all that its shear is worked out with beside the readings.

It needs little of a reduction: the screen asks for it too, while a test runs.
"""

import numpy as np

from reduce.columns import Column
from reduce.consolidation import saturation_volume_change
from reduce.errors import ReductionError
from reduce.record import Record
from reduce.reduction.dimensions import AfterConsolidation, Cylinder, after_consolidation
from reduce.reduction.drained_curve import Curve, curve_of, drained
from reduce.shearing.load import specimen_load
from reduce.shearing.setting import Shape, ShearSetting
from reduce.specimen import SpecimenAtSetUp, specimen_at_set_up

STOOD_MM, MOST_STRAIN = 0.05, 0.005
"""Travel of the ram between these can be the specimen's own shortening while it saturates under
its few kPa; less is none, more a ram that was driven (common practice, no source). [mm], [-]"""


def bare_specimen(record: Record) -> SpecimenAtSetUp:
    """Its dimensions alone, where the masses contradict each other.

    Raises:
        ReductionError: they are no cylinder.
    """
    given = record.specimen
    return specimen_at_set_up(diameter_mm=given.diameter_mm, height_mm=given.height_mm)


def sheared_cylinder(record: Record) -> Cylinder:
    """The specimen that is sheared: after consolidation where that is known, else as set up.

    Args:
        record: the test.

    Raises:
        ReductionError: the specimen is no cylinder.
    """
    specimen = bare_specimen(record)
    if record.kind == "UU":
        return cylinder_of(specimen, None)
    try:
        return cylinder_of(specimen, dimensions_of(record, specimen, curve_of(record)))
    except ReductionError:
        return cylinder_of(specimen, None)


def cylinder_of(specimen: SpecimenAtSetUp, after: AfterConsolidation | None) -> Cylinder:
    """What is sheared: after consolidation where that is known, else as set up."""
    if after is None:
        return Cylinder(specimen.height_mm, specimen.area_mm2, specimen.volume_ml)
    chosen = after.chosen
    return Cylinder(chosen.height_mm, chosen.area_mm2, chosen.volume_ml)


def dimensions_of(
    record: Record,
    specimen: SpecimenAtSetUp,
    curve: Curve | None,
) -> AfterConsolidation | None:
    """The specimen that shear starts from; None where no volume or no consolidation was read."""
    first = record.index_at(record.zero_first_stage_s)
    if first is None or curve is None:
        return None
    change = drained(record, first, curve.last)
    if change is None:
        return None
    before = shortening(record, specimen) or 0.0
    start, end = (record.value("axial_displacement", row) for row in (first, curve.last))
    return after_consolidation(
        specimen,
        record.followed_standard,
        volume_change=change,
        travel=None if start is None or end is None else end - start,
        saturation_change=saturation_volume_change(specimen.volume_ml, specimen.height_mm, before),
        saturation_shortening=before,
        shear_change=_drained_in_shear(record),
        final_water_content=record.specimen.final_water_content,
        particle_density_Mg_m3=record.specimen.particle_density_Mg_m3,
    )


def _drained_in_shear(record: Record) -> float:
    """In a drained shear, from its zero to its last reading. [ml]"""
    zero, end = record.index_at(record.zero_strain_s), record.end_of("shear")
    if record.kind != "CD" or zero is None:
        return 0.0
    stop = len(record.times_s) if end is None else int(np.searchsorted(record.times_s, end))
    volume = record.column("back_volume")[zero:stop]
    known = volume[np.isfinite(volume)]
    return float(known[0] - known[-1]) if len(known) > 1 else 0.0


def saturated_between(record: Record) -> tuple[int | None, int | None]:
    """Readings between which the specimen saturated: before its begin, before it drains."""
    begin = record.begin_of("saturation")
    first = None if begin is None else max((record.index_at(begin) or 0) - 1, 0)
    end = record.zero_first_stage_s
    if end is None:
        end = record.end_of("saturation")
    last = record.index_at(end) if end is not None else len(record.times_s) - 1
    return first, last


def change_of(column: Column, first: int | None, last: int | None) -> float | None:
    """From the first to the last value read within."""
    if first is None or last is None or last <= first:
        return None
    values = column[first : last + 1]
    values = values[np.isfinite(values)]
    return float(values[-1] - values[0]) if len(values) > 1 else None


def shortening(record: Record, specimen: SpecimenAtSetUp) -> float | None:
    """By which a ram that followed the specimen came down while it saturated; else None. [mm]"""
    travel = change_of(record.column("axial_displacement"), *saturated_between(record))
    if travel is None or not STOOD_MM < abs(travel) < MOST_STRAIN * specimen.height_mm:
        return None
    return travel


def setting_of(record: Record, cylinder: Cylinder, zero: int, shape: Shape) -> ShearSetting:
    """All that the table of a shear needs beside its readings.

    Args:
        record: the test.
        cylinder: the specimen that is sheared.
        zero: row of the reading of zero strain.
        shape: of the corrected area.
    """
    pore = record.value("pore_pressure", zero)
    if pore is None and record.kind == "CD":
        pore = record.value("back_pressure", zero)
    return ShearSetting(
        kind=record.kind,
        standard=record.followed_standard,
        area_mm2=cylinder.area_mm2,
        height_mm=cylinder.height_mm,
        volume_ml=cylinder.volume_ml,
        piston=record.rig.piston,
        frame_compliance_mm_N=record.rig.frame_compliance_mm_N,
        membrane=record.specimen.membrane,
        side_drains=record.specimen.side_drains,
        shape=shape,
        zero_displacement_mm=record.value("axial_displacement", zero),
        zero_back_volume_ml=record.value("back_volume", zero),
        zero_pore_kPa=pore,
        zero_load_N=_load_at(record, zero),
    )


def _load_at(record: Record, row: int) -> float:
    """What the specimen carried at zero strain: the frame had given way to it already. [N]"""
    load, cell = record.value("axial_load", row), record.value("cell_pressure", row)
    if load is None or (cell is None and record.rig.piston is not None):
        return 0.0
    return specimen_load(load, cell or 0.0, record.rig.piston)
