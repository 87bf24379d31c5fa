"""Standard uncertainties of a reduction: the test is reduced again from readings drawn anew.

Monte Carlo after JCGM 101:2008. A reduction looks for settled readings, lines and peaks: such a
search has no derivative, so that the law of propagation of JCGM 100 would miss what the search
does. Each draw gives every gauge an error of zero and of gain, every reading noise as the channel
shows it, and the specimen other dimensions and masses. The draws are the same at every run.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from math import hypot, isfinite, sqrt
from typing import Any

import numpy as np

from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.record import PressureStep, Record, Rig, SpecimenRecord
from reduce.reduction import calibration
from reduce.reduction.calibration import TRUST, Trust
from reduce.reduction.stages import Stages, reduce_stages
from reduce.resolution import noise_of, resolution_of
from reduce.shearing.table import Shape

DRAWS = 60
"""Enough for a standard deviation within a tenth of itself. [-]"""
LEAST_SHARE = 0.8
"""A number that fewer draws than this give is too uncertain for a standard deviation. [-]"""
KEPT = 300
"""Rows of a stage that a draw is made from, where a stage has more."""

Errors = Mapping[str, tuple[float, float]]
"""By channel: error of zero in its unit, error of gain as a share."""


def standard_uncertainties(
    record: Record, stages: Stages, shape: Shape
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Standard uncertainty of every number of a reduction that has one.

    Args:
        record: the test.
        stages: as they were reduced from it.
        shape: of the corrected area.

    Returns:
        By dotted name of the number, in its own unit; and the names of numbers that too few draws
        gave again: they hang on a few readings.

    Source:
        JCGM 101:2008, Propagation of distributions using a Monte Carlo method. What is drawn:
        see `reduce.reduction.calibration`.
    """
    thin = _thinned(record, stages)
    noise = {name: _noise(record, name) for name in thin.channels}
    random = np.random.default_rng(20310203)
    found: dict[str, list[float]] = {}
    for _ in range(DRAWS):
        try:
            drawn = reduce_stages(_drawn(thin, noise, random), shape)
        except ReductionError:
            continue
        for name, value in numbers_of(drawn):
            found.setdefault(name, []).append(value)
    spread = {
        name: float(np.std(values, ddof=1))
        for name, values in found.items()
        if len(values) >= LEAST_SHARE * DRAWS
    }
    told = dict(numbers_of(stages))
    choice = _choice_of_lines(stages)
    known = {
        name: hypot(deviation, choice.get(name, 0.0) * told[name])
        for name, deviation in spread.items()
        if name in told and deviation > 1e-9 * abs(told[name])
    }
    return known, tuple(name for name in told if name not in spread)


def numbers_of(stages: Stages) -> Iterator[tuple[str, float]]:
    """Every number of a reduction by its dotted name."""
    for name in ("specimen", "saturation", "consolidation", "shear", "after_test"):
        yield from _numbers(name, getattr(stages, name))


def _numbers(name: str, value: Any) -> Iterator[tuple[str, float]]:
    if isinstance(value, bool) or value is None:
        return
    if isinstance(value, float):
        if isfinite(value):
            yield name, value
    elif is_dataclass(value):
        for one in fields(value):
            yield from _numbers(f"{name}.{one.name}", getattr(value, one.name))


def _choice_of_lines(stages: Stages) -> dict[str, float]:
    """Relative uncertainty of what lines, or a fit, had to choose: more than noise alone gives."""
    found: dict[str, float] = {}
    if stages.consolidation is None:
        return found
    methods = stages.consolidation.methods
    for method, lines in (("root_time", methods.root_time), ("log_time", methods.log_time)):
        for name, share in lines.line_choice.items():
            found[f"consolidation.methods.{method}.{name}"] = share
    for method, numbers in (
        ("root_time", ("t90_min", "t100_min", "cv_m2_per_year")),
        ("log_time", ("t50_min", "cv_m2_per_year")),
    ):
        for name in numbers:
            value = getattr(getattr(methods, method), name)
            fitted = getattr(methods.fit, name)
            if value is not None and fitted is not None:
                key = f"consolidation.methods.{method}.{name}"
                # Two ways to one quantity that differ show what neither knows of itself.
                found[key] = hypot(found.get(key, 0.0), (value - fitted) / value / sqrt(3.0))
    rate = methods.fit.cv_m2_per_year
    if rate is not None and "cv_m2_per_year" in methods.fit.scatter:
        share = methods.fit.scatter["cv_m2_per_year"] / rate
        for name in ("cv_m2_per_year", "t50_min", "t90_min", "t100_min"):
            found[f"consolidation.methods.fit.{name}"] = share
    for name, method in stages.consolidation.headline_from.items():
        chosen = found.get(f"consolidation.methods.{method}.{name}")
        if chosen is not None:
            found[f"consolidation.{name}"] = chosen
    for name in ("cv_at_20_C_m2_per_year", "permeability_m_per_s"):
        found[f"consolidation.{name}"] = found.get("consolidation.cv_m2_per_year", 0.0)
    return found


def _noise(record: Record, channel: str) -> float:
    """Standard deviation of one reading: what it shows, not less than the step it is written in."""
    column = record.channels[channel]
    step = resolution_of(column) or 0.0
    return max(noise_of(record.times_s, column) or 0.0, step / sqrt(12.0))


def _thinned(record: Record, stages: Stages) -> Record:
    """The rows that decide: those around zeros and failures, of the curves enough to show them."""
    count = len(record.times_s)
    if count <= 2 * KEPT:
        return record
    keep = np.zeros(count, dtype=np.bool_)
    keep[:2] = keep[-2:] = True
    moments = [stage.start_s for stage in record.stages]
    moments += [step.at_s for step in record.checks]
    zeros = record.zero_first_stage_s, record.zero_consolidation_s, record.zero_strain_s
    moments += [moment for moment in zeros if moment is not None]
    for moment in moments:
        row = record.index_at(moment) or 0
        keep[max(row - 2, 0) : row + 3] = True
    if stages.curve is not None:
        zero, last = stages.curve.zero, stages.curve.last
        since = record.times_s[zero : last + 1] - record.times_s[zero]
        wanted = np.geomspace(max(float(since[1]), 1e-3), max(float(since[-1]), 1e-2), KEPT)
        keep[zero + np.minimum(np.searchsorted(since, wanted), last - zero)] = True
    if stages.sheared is not None:
        rows = stages.sheared.rows
        keep[np.linspace(rows.start, rows.stop - 1, KEPT).astype(np.int64)] = True
        for state in (stages.shear.peak_deviator, stages.shear.peak_ratio) if stages.shear else ():
            if state is not None and state.row is not None:
                near = rows.start + state.row
                keep[max(near - 3, 0) : near + 4] = True
    return replace(
        record,
        times_s=record.times_s[keep],
        stamps_s=None,
        channels={name: column[keep] for name, column in record.channels.items()},
        valve_open=None if record.valve_open is None else record.valve_open[keep],
    )


def _drawn(record: Record, noise: Mapping[str, float], random: np.random.Generator) -> Record:
    errors = {name: _errors(record, name, random) for name in record.channels}
    channels: dict[str, Column] = {}
    for name, column in record.channels.items():
        zero, gain = errors[name]
        shaken = column + noise[name] * random.standard_normal(len(column))
        channels[name] = shaken * (1.0 + gain) + zero
    times = _drawn_times(record, random)
    checks = tuple(_drawn_step(step, errors, noise, random) for step in record.checks)
    specimen = _drawn_corrections(_drawn_specimen(record.specimen, random), random)
    return replace(
        record,
        times_s=times,
        channels=channels,
        checks=checks,
        specimen=specimen,
        rig=_drawn_rig(record.rig, random),
    )


def _drawn_times(record: Record, random: np.random.Generator) -> Column:
    """Among steady rows nobody knows when, after the zero reading, the valve was opened."""
    zero = record.index_at(record.zero_consolidation_s)
    if zero is None or not 0 < zero < len(record.times_s) - 1:
        return record.times_s
    before, after = np.diff(record.times_s[zero - 1 : zero + 2])
    if not 0.5 * before < after < 2.0 * before:
        return record.times_s  # a scheduled zero reading is taken as the valve opens
    times = record.times_s.copy()
    times[zero] += random.random() * after * 0.999
    return times


def _errors(record: Record, channel: str, random: np.random.Generator) -> tuple[float, float]:
    trust = TRUST.get(channel, Trust())
    zero = trust.zero_of(record.gauges.get(channel)) * random.standard_normal()
    return float(zero), float(trust.gain * random.standard_normal())


def _drawn_step(
    step: PressureStep, errors: Errors, noise: Mapping[str, float], random: np.random.Generator
) -> PressureStep:
    def change(channel: str, value: float) -> float:
        shaken = value + sqrt(2.0) * noise.get(channel, 0.0) * random.standard_normal()
        return float(shaken * (1.0 + errors.get(channel, (0.0, 0.0))[1]))

    return replace(
        step,
        delta_cell_kPa=change("cell_pressure", step.delta_cell_kPa),
        delta_pore_kPa=change("pore_pressure", step.delta_pore_kPa),
    )


def _drawn_specimen(given: SpecimenRecord, random: np.random.Generator) -> SpecimenRecord:
    def shifted(readings: tuple[float, ...]) -> tuple[float, ...]:
        by = calibration.of_mean(readings) * random.standard_normal()
        return tuple(float(one + by) for one in readings)

    def weighed(mass: float | None) -> float | None:
        step = calibration.BALANCE_G / sqrt(12.0)
        return None if mass is None else float(mass + step * random.standard_normal())

    def water(content: float | None) -> float | None:
        if content is None:
            return None
        return float(content * (1.0 + calibration.WATER_CONTENT * random.standard_normal()))

    density = given.particle_density_Mg_m3
    if density is not None:
        density += float(calibration.of_particle_density(given) * random.standard_normal())
    return replace(
        given,
        diameters_mm=shifted(given.diameters_mm),
        heights_mm=shifted(given.heights_mm),
        mass_g=weighed(given.mass_g),
        dry_mass_g=weighed(given.dry_mass_g),
        water_content=water(given.water_content),
        final_water_content=water(given.final_water_content),
        particle_density_Mg_m3=density,
    )


def _drawn_corrections(given: SpecimenRecord, random: np.random.Generator) -> SpecimenRecord:
    """What membrane and side drains carry."""
    membrane, drains = given.membrane, given.side_drains
    stiffer, stronger = random.standard_normal(2)
    if membrane is not None:
        modulus = membrane.modulus_kPa * max(1.0 + calibration.MEMBRANE * stiffer, 0.1)
        membrane = replace(membrane, modulus_kPa=float(modulus))
    if drains is not None and drains.load_per_perimeter_kN_m is not None:
        carried = max(1.0 + calibration.SIDE_DRAINS * stronger, 0.0)
        carried *= drains.load_per_perimeter_kN_m
        drains = replace(drains, load_per_perimeter_kN_m=float(carried))
    return replace(given, membrane=membrane, side_drains=drains)


def _drawn_rig(given: Rig, random: np.random.Generator) -> Rig:
    """Piston and friction, which free an external load cell."""
    wider, rougher = random.standard_normal(2)
    if given.piston is None:
        return given
    diameter = given.piston.diameter_mm + calibration.PISTON_MM * wider
    friction = given.piston.friction_N * max(1.0 + calibration.FRICTION * rougher, 0.0)
    piston = replace(given.piston, diameter_mm=float(diameter), friction_N=float(friction))
    return replace(given, piston=piston)
