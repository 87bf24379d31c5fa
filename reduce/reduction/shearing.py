"""Shear of one test: the table row by row, its failure by each criterion, rate and stiffness."""

from dataclasses import dataclass

import numpy as np

from reduce.columns import Column
from reduce.record import Record
from reduce.reduction.dimensions import Cylinder
from reduce.reduction.results import ConsolidationReduced, ShearReduced
from reduce.reduction.sheared_specimen import setting_of
from reduce.shearing.failure import Failures, failure_states, minutes_to
from reduce.shearing.rates import AdvisedRate, advised_rate, as_travel
from reduce.shearing.stiffness import secant_modulus_50, tangent_modulus_50
from reduce.shearing.table import Shape, ShearSetting, ShearTable, shear_table
from reduce.shearing.unconsolidated import undrained_strength

PARTS = 100
"""Of the shear, whose median pace is its rate."""


@dataclass(frozen=True, slots=True, eq=False)
class Sheared:
    """The table of a shear and the rows of the record that it covers."""

    rows: slice
    table: ShearTable
    setting: ShearSetting


def shear_rows(record: Record) -> slice | None:
    """From the reading of zero strain to the last one of the shear; None without a shear."""
    zero = record.index_at(record.zero_strain_s)
    if zero is None or record.begin_of("shear") is None:
        return None
    end = record.end_of("shear")
    stop = len(record.times_s) if end is None else int(np.searchsorted(record.times_s, end))
    return slice(zero, stop) if stop > zero else None


def table_of(record: Record, cylinder: Cylinder, shape: Shape) -> Sheared | None:
    """The shear row by row."""
    rows = shear_rows(record)
    if rows is None:
        return None
    setting = setting_of(record, cylinder, rows.start, shape)
    channels = {name: column[rows] for name, column in record.channels.items()}
    return Sheared(rows, shear_table(setting, channels), setting)


def reduce_shear(
    record: Record, sheared: Sheared, consolidation: ConsolidationReduced | None
) -> ShearReduced:
    """What shear came to.

    Args:
        record: the test.
        sheared: its table.
        consolidation: for the rate that the standard advises; None for UU.
    """
    table, zero = sheared.table, sheared.rows.start
    failures = failure_states(table, record.planned.strain_limit)
    advice = _advice(record, sheared.setting, consolidation)
    strain = table.axial_strain
    known = strain[np.abs(strain) < 1.0]
    pore = sheared.setting.zero_pore_kPa
    cell = record.value("cell_pressure", zero)
    peak = failures.peak_deviator
    times_s, height = record.times_s[sheared.rows], sheared.setting.height_mm
    rate = _rate(times_s, strain, record)
    return ShearReduced(
        rate_percent_per_min=rate,
        rate_mm_per_min=as_travel(rate, height),
        advised_rate_percent_per_min=advice.rate_percent_per_min,
        advised_by=advice.basis,
        cell_pressure_kPa=cell,
        pore_pressure_kPa=pore,
        effective_stress_kPa=None if cell is None or pore is None else cell - pore,
        greatest_strain=float(known.max()) if len(known) else None,
        still_rising=failures.still_rising,
        peak_deviator=peak,
        peak_ratio=None if record.kind == "UU" else failures.peak_ratio,
        at_strain_limit=failures.at_strain_limit,
        minutes_to_peak=minutes_to(table, times_s, peak),
        required_minutes_to_failure=advice.time_to_failure_min if record.kind != "UU" else None,
        running=record.end_of("shear") is None and failures.at_strain_limit is None,
        E50_MPa=secant_modulus_50(table, peak),
        E_tangent_MPa=tangent_modulus_50(table, peak),
        undrained_strength_kPa=_undrained(record, failures),
        area_shape=sheared.setting.shape,
        why=failures.why,
        minutes_to_peak_ratio=None
        if record.kind == "UU"
        else minutes_to(table, times_s, failures.peak_ratio),
        minutes_to_strain_limit=minutes_to(table, times_s, failures.at_strain_limit),
        advised_rate_mm_per_min=as_travel(advice.rate_percent_per_min, height),
    )


def _undrained(record: Record, failures: Failures) -> float | None:
    strength = None if record.kind == "CD" else undrained_strength(failures)
    return None if strength is None else strength.strength_kPa


def _rate(times_s: Column, strain: Column, record: Record) -> float | None:
    """Median pace of strain up to the limit; None where the ram did not go in. [%/min]"""
    use = np.isfinite(strain) & (strain <= record.planned.strain_limit) & (strain > 0.0)
    times, strains = times_s[use], strain[use]
    # Of readings at one time the last counts: their strains belong to no time of their own
    last = np.diff(times, append=np.inf) > 0.0
    times, strains = times[last], strains[last]
    if len(times) < 3:
        return None
    step = max(len(times) // PARTS, 1)
    times, strains = times[::step], strains[::step]
    pace = float(np.median(np.diff(strains) / np.diff(times))) * 6000.0
    return pace if pace > 0.0 else None


def _advice(
    record: Record, setting: ShearSetting, consolidation: ConsolidationReduced | None
) -> AdvisedRate:
    cylinder = Cylinder(setting.height_mm, setting.area_mm2, setting.volume_ml)
    return advised_rate(
        record.followed_standard,
        record.kind,
        drainage=record.specimen.drainage,
        slenderness=cylinder.height_mm / cylinder.diameter_mm,
        t50_min=None if consolidation is None else consolidation.t50_min,
        t90_min=None if consolidation is None else consolidation.t90_min,
        t100_min=None if consolidation is None else consolidation.t100_min,
    )
