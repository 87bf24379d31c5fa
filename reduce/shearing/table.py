"""Shear row by row: from readings to strains, net stresses and what is plotted of them.

Compression is positive, volume changes are positive when the specimen shrinks. Every row stands
for itself: one reading at a time gives what the whole column gives.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np

from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.shearing.rows import Readings, ShearRows
from reduce.shearing.setting import SHAPES, Shape, ShearSetting

__all__ = ["COLUMNS", "SHAPES", "Shape", "ShearSetting", "ShearTable", "shear_table"]

BLOCK = 16384
"""Rows that are worked on at a time: what is written is read again while it is in the cache."""


@dataclass(frozen=True, slots=True, eq=False)
class ShearTable:
    """Readings of shear and what they come to: columns (n,); NaN is what could not be computed."""

    axial_strain: Column
    """ε1, less what the frame gives way. [-]"""
    volumetric_strain: Column
    """εv by the water that drained; zero of CU and UU. [-]"""
    area_mm2: Column
    """Corrected for the strain."""
    uplift_N: Column
    """Taken from the reading of the load cell."""
    load_N: Column
    """On the specimen, beyond cell pressure: free of uplift and friction."""
    membrane_kPa: Column
    """Taken from σ1."""
    side_drains_kPa: Column
    """Taken from σ1."""
    deviator_kPa: Column
    """q = σ1 − σ3, net of everything."""
    pore_kPa: Column
    """u as measured; of CD back pressure where it is not; NaN of UU."""
    excess_pore_kPa: Column
    """Δu since zero strain."""
    sigma1_kPa: Column
    sigma3_kPa: Column
    """Cell pressure; after ISO 17892-9 less what the membrane carries of it."""
    sigma1_effective_kPa: Column
    sigma3_effective_kPa: Column
    ratio: Column
    """σ′1/σ′3; NaN where σ′3 is not above `reduce.stresses.LEAST_EFFECTIVE_KPA`. [-]"""
    A: Column
    """Δu/q; NaN of CD, and where |q| is not above `reduce.stresses.LEAST_EFFECTIVE_KPA`. [-]"""
    mean_kPa: Column
    """p = (σ1 + 2 σ3)/3."""
    mean_effective_kPa: Column
    """p′ = p − u."""
    centre_effective_kPa: Column
    """s′ = (σ′1 + σ′3)/2."""
    shear_stress_kPa: Column
    """t = t′ = q/2."""

    def __len__(self) -> int:
        return len(self.axial_strain)


COLUMNS = tuple(column.name for column in fields(ShearTable))
"""Names of the columns, in their order."""


def shear_table(setting: ShearSetting, channels: Mapping[str, Column]) -> ShearTable:
    """Work out every row of a shear.

    A load reading is freed of uplift and friction, then spread over the corrected area; then what
    membrane and side drains carry is taken off.

    Args:
        setting: specimen, rig and zero reading.
        channels: (n,) each, by name: axial_displacement, axial_load, cell_pressure,
            pore_pressure, back_pressure, back_volume; others are not looked at. One that is
            missing, or NaN in a row, makes NaN of what needs it.

    Returns:
        The table, (n,).

    Raises:
        ReductionError: a size of specimen or rig that is not above zero, a plane without its angle,
            or columns of different lengths.

    Source:
        ASTM D2850, D4767, D7181; BS 1377-8; ISO 17892-9. The functions of `load`, `shear`,
        `corrections` and `stresses` have the formulas and their sources.

    Example:
        >>> setting = ShearSetting("CU", "ASTM D4767", 1100.0, 75.0, 82.5, zero_pore_kPa=300.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([3.75]), "axial_load": np.array([220.0]),
        ...     "cell_pressure": np.array([450.0]), "pore_pressure": np.array([345.0])})
        >>> float(table.deviator_kPa[0].round(9)), float(table.A[0].round(3))
        (190.0, 0.237)
    """
    setting.require_sound()
    readings = {name: np.asarray(column, np.float64) for name, column in channels.items()}
    lengths = sorted({len(column) for column in readings.values()})
    if len(lengths) > 1:
        raise ReductionError(f"columns have {lengths} rows; they must have the same number")
    count = lengths[0] if lengths else 0
    work = ShearRows(setting)
    # One piece of memory for all columns: far cheaper to get than twenty
    columns = np.empty((len(COLUMNS), count))
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        for start in range(0, count, BLOCK):
            rows = slice(start, start + BLOCK)
            work.fill(Readings.of(readings, rows), ShearTable(*columns[:, rows]))
    return ShearTable(*columns)
