"""The arithmetic of the shear table, in place and for a block of rows that stays in the cache.

These are the formulas of `load`, `shear`, `corrections` and `stresses` once more, written into the
columns of the table without columns in between; the tests hold both together.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, nan
from typing import TYPE_CHECKING

import numpy as np

from reduce.columns import Column
from reduce.shearing.area import parabolic_area_drained, plane_area
from reduce.shearing.corrections import Carried, carried_beside
from reduce.shearing.load import freeing
from reduce.shearing.setting import ShearSetting
from reduce.stresses import LEAST_EFFECTIVE_KPA

if TYPE_CHECKING:
    from reduce.shearing.table import ShearTable


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A block of the channels; one that is missing is NaN throughout."""

    displacement: Column | float
    load: Column | float
    cell: Column | float
    pore: Column | float
    back: Column | float
    volume: Column | float

    @classmethod
    def of(cls, channels: Mapping[str, Column], rows: slice) -> "Readings":
        """Cut the rows; a reading that is no finite number is none."""
        names = (
            "axial_displacement",
            "axial_load",
            "cell_pressure",
            "pore_pressure",
            "back_pressure",
            "back_volume",
        )
        return cls(*(_finite(channels[name][rows]) if name in channels else nan for name in names))


def _finite(column: Column) -> Column:
    # A sum is finite only if all of its parts are; it costs a fraction of looking at each
    return column if isfinite(column.sum()) else np.where(np.isfinite(column), column, np.nan)


class ShearRows:
    """Fills blocks of rows of one test."""

    def __init__(self, setting: ShearSetting) -> None:
        self._setting = setting
        self._freeing = freeing(setting.piston)
        self._zero_displacement = _or_nan(setting.zero_displacement_mm)
        self._zero_volume = _or_nan(setting.zero_back_volume_ml)
        self._zero_pore = _or_nan(setting.zero_pore_kPa)

    def fill(self, readings: Readings, out: "ShearTable") -> None:
        """Work out a block: every column of `out` is written."""
        self._load(readings, out)
        usable = self._strains(readings, out)
        self._area(usable, out)
        horizontal = self._deviator(usable, out)
        self._total(readings, horizontal, out)
        if self._setting.kind == "UU":
            _no_pore_pressure(out)
        else:
            self._effective(readings, out)

    def _load(self, readings: Readings, out: "ShearTable") -> None:
        of = self._freeing
        if of.N_per_kPa == 0.0:
            out.uplift_N.fill(0.0)
            out.load_N[:] = readings.load
        else:
            np.subtract(readings.cell, of.zeroed_at_kPa, out=out.uplift_N)
            np.multiply(out.uplift_N, of.N_per_kPa, out=out.uplift_N)
            np.subtract(readings.load, out.uplift_N, out=out.load_N)
        if of.friction_N:
            np.subtract(out.load_N, of.friction_N, out=out.load_N)

    def _strains(self, readings: Readings, out: "ShearTable") -> Column:
        """Both strains; gives the axial one back, NaN where no area can be told for it."""
        setting, strain = self._setting, out.axial_strain
        np.subtract(readings.displacement, self._zero_displacement, out=strain)
        if setting.frame_compliance_mm_N:
            strain -= setting.frame_compliance_mm_N * (out.load_N - setting.zero_load_N)
        np.divide(strain, setting.height_mm, out=strain)
        if setting.kind == "CD":
            np.subtract(self._zero_volume, readings.volume, out=out.volumetric_strain)
            np.divide(out.volumetric_strain, setting.volume_ml, out=out.volumetric_strain)
        else:
            out.volumetric_strain.fill(0.0)
        if strain.min() > -1.0 and strain.max() < 1.0:
            return strain
        return np.where(np.abs(strain) < 1.0, strain, np.nan)

    def _area(self, strain: Column, out: "ShearTable") -> None:
        setting, area, volumetric = self._setting, out.area_mm2, out.volumetric_strain
        if setting.shape == "parabola":
            area[:] = parabolic_area_drained(setting.area_mm2, strain, volumetric)
        elif setting.shape == "plane":
            assert setting.slip_strain is not None
            assert setting.plane_angle_deg is not None
            area[:] = plane_area(
                setting.area_mm2,
                strain,
                volumetric,
                height=setting.height_mm,
                slip_strain=setting.slip_strain,
                plane_angle=setting.plane_angle_deg,
            )
        else:
            np.subtract(1.0, strain, out=area)
            np.divide(setting.area_mm2, area, out=area)
            if setting.kind == "CD":
                area *= 1.0 - volumetric
                if not area.min() > 0.0:
                    area[~(np.abs(volumetric) < 1.0)] = np.nan

    def _deviator(self, strain: Column, out: "ShearTable") -> Column | None:
        """q; gives back what the membrane carries of σ3, None for nothing."""
        setting, q = self._setting, out.deviator_kPa
        np.divide(out.load_N, out.area_mm2, out=q)
        np.multiply(q, 1000.0, out=q)
        carried: Carried[Column] = carried_beside(
            setting.standard,
            strain,
            out.volumetric_strain,
            area=setting.area_mm2,
            membrane=setting.membrane,
            side_drains=setting.side_drains,
        )
        out.membrane_kPa[:] = carried.membrane
        out.side_drains_kPa[:] = carried.side_drains
        if setting.membrane is not None:
            np.subtract(q, out.membrane_kPa, out=q)
        if setting.side_drains is not None:
            np.subtract(q, out.side_drains_kPa, out=q)
        if setting.membrane is None or not setting.standard.startswith("ISO"):
            return None
        np.add(q, carried.membrane_horizontal, out=q)
        return carried.membrane_horizontal

    @staticmethod
    def _total(readings: Readings, horizontal: Column | None, out: "ShearTable") -> None:
        q, minor = out.deviator_kPa, out.sigma3_kPa
        minor[:] = readings.cell
        if horizontal is not None:
            np.subtract(minor, horizontal, out=minor)
        np.add(minor, q, out=out.sigma1_kPa)
        np.divide(q, 3.0, out=out.mean_kPa)
        np.add(out.mean_kPa, minor, out=out.mean_kPa)
        np.multiply(q, 0.5, out=out.shear_stress_kPa)

    def _effective(self, readings: Readings, out: "ShearTable") -> None:
        pore, excess, q = out.pore_kPa, out.excess_pore_kPa, out.deviator_kPa
        pore[:] = readings.pore
        if self._setting.kind == "CD" and np.isnan(pore).any():
            np.copyto(pore, readings.back, where=np.isnan(pore))
        np.subtract(pore, self._zero_pore, out=excess)
        major, minor = out.sigma1_effective_kPa, out.sigma3_effective_kPa
        np.subtract(out.sigma1_kPa, pore, out=major)
        np.subtract(out.sigma3_kPa, pore, out=minor)
        np.subtract(out.mean_kPa, pore, out=out.mean_effective_kPa)
        np.add(minor, out.shear_stress_kPa, out=out.centre_effective_kPa)
        np.divide(major, minor, out=out.ratio)
        if not minor.min() > LEAST_EFFECTIVE_KPA:
            out.ratio[~(minor > LEAST_EFFECTIVE_KPA)] = np.nan
        if self._setting.kind == "CD":
            out.A.fill(np.nan)  # no excess is meant to be there: its quotient is noise
            return
        np.divide(excess, q, out=out.A)
        if not q.min() > LEAST_EFFECTIVE_KPA:
            out.A[~(np.abs(q) > LEAST_EFFECTIVE_KPA)] = np.nan


def _no_pore_pressure(out: "ShearTable") -> None:
    for column in (
        out.pore_kPa,
        out.excess_pore_kPa,
        out.sigma1_effective_kPa,
        out.sigma3_effective_kPa,
        out.ratio,
        out.A,
        out.mean_effective_kPa,
        out.centre_effective_kPa,
    ):
        column.fill(np.nan)


def _or_nan(value: float | None) -> float:
    return nan if value is None else value
