"""The specimen as it stands: dimensions after consolidation, strains, net load and deviator.

Volume changes are positive when the specimen shrinks, strains positive in compression.
"""

from dataclasses import dataclass
from math import isnan

import numpy as np

from reduce.corrections import membrane_correction, side_drain_correction
from reduce.shear import corrected_area_drained, corrected_area_undrained
from reduce.specimen import cylinder_area, cylinder_volume
from tui.bench.readings import Reading
from tui.feed.rows import Column
from tui.settings.cell_toml import CellToml

FOLLOWED = 0.25
"""The ram followed the specimen if it travelled this share of what its volume strain implies."""


@dataclass(frozen=True, slots=True)
class Dimensions:
    """A cylinder."""

    height_mm: float
    area_mm2: float
    volume_ml: float

    @property
    def diameter_mm(self) -> float:
        """Of the circle of this area. [mm]"""
        return float(2.0 * np.sqrt(self.area_mm2 / np.pi))


def at_set_up(settings: CellToml) -> Dimensions:
    """As measured before the test."""
    specimen = settings.specimen
    area = float(cylinder_area(specimen.diameter_mm))
    volume = float(cylinder_volume(specimen.diameter_mm, specimen.height_mm)) / 1000.0
    return Dimensions(specimen.height_mm, area, volume)


def after_consolidation(
    start: Dimensions, zero: Reading | None, last: Reading | None
) -> Dimensions:
    """Dimensions at the begin of shear.

    Height from the ram where it followed the specimen, else isotropic: H0 (1 − εv/3).
    """
    if zero is None or last is None:
        return start
    shrunk = zero.back_volume - last.back_volume
    if isnan(shrunk):
        return start
    strain = shrunk / start.volume_ml
    implied = start.height_mm * strain / 3.0
    travelled = last.axial_displacement - zero.axial_displacement
    followed = not isnan(travelled) and implied > 0 and travelled > FOLLOWED * implied
    height = start.height_mm - (travelled if followed else implied)
    volume = start.volume_ml - shrunk
    return Dimensions(height, volume * 1000.0 / height, volume)


def uplift_area(settings: CellToml) -> float:
    """Area on which cell pressure lifts the piston against an external load cell. [mm²]"""
    piston = settings.cell.piston
    if piston is None or piston.load_cell == "internal":
        return 0.0
    return float(cylinder_area(piston.diameter_mm))


def net_load(settings: CellToml, load: Column, cell_pressure: Column) -> Column:
    """Axial load that the specimen carries, free of piston uplift and friction. (n,) [N]

    An internal load cell feels neither. An external one that was zeroed at pressure is corrected
    only for what cell pressure has changed since.
    """
    piston, area_mm2 = settings.cell.piston, uplift_area(settings)
    if piston is None or not area_mm2:
        return load
    since = piston.zeroed_at_kPa if piston.uplift == "zeroed at pressure" else 0.0
    uplift = (cell_pressure - since) * area_mm2 / 1000.0
    return np.asarray(load - uplift - piston.friction_N)


@dataclass(frozen=True, slots=True, eq=False)
class ShearColumns:
    """A stretch of the shear, row by row."""

    axial_strain: Column
    """(n,) [-]"""
    deviator_kPa: Column
    """(n,) less what membrane and side drains carry. [kPa]"""
    volumetric_strain: Column
    """(n,) [-]; NaN where no volume is measured"""


def shear_columns(
    settings: CellToml, dimensions: Dimensions, zero: Reading, columns: dict[str, Column]
) -> ShearColumns:
    """Strains and deviator of readings in shear.

    Args:
        settings: of the cell.
        dimensions: at the begin of shear.
        zero: the reading at zero strain.
        columns: channels by name, (n,) each.
    """
    strain = (columns["axial_displacement"] - zero.axial_displacement) / dimensions.height_mm
    volume = (zero.back_volume - columns["back_volume"]) / dimensions.volume_ml
    load = net_load(settings, columns["axial_load"], columns["cell_pressure"])
    usable = np.where(strain < 1.0, strain, np.nan)
    if settings.test.kind == "CD":
        area = corrected_area_drained(dimensions.area_mm2, usable, volume)
    else:
        area = corrected_area_undrained(dimensions.area_mm2, usable)
    carried = carried_beside(settings, dimensions, usable)
    return ShearColumns(strain, np.asarray(load / area * 1000.0 - carried), volume)


def carried_beside(settings: CellToml, dimensions: Dimensions, strain: Column) -> Column:
    """What membrane and side drains carry beside the soil, after ASTM D4767. (n,) [kPa]"""
    carried = np.zeros_like(strain)
    membrane, drains = settings.specimen.membrane, settings.specimen.side_drains
    if membrane is not None:
        carried = carried + membrane_correction(
            strain,
            modulus=membrane.modulus_kPa,
            thickness=membrane.thickness_mm * membrane.count,
            diameter=dimensions.diameter_mm,
        )
    if drains is not None:
        carried = carried + side_drain_correction(
            strain,
            load_per_perimeter=drains.load_per_perimeter_kN_m,
            perimeter=drains.perimeter_mm,
            area=dimensions.area_mm2,
        )
    return carried
