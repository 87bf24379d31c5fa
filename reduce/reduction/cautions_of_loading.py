"""What a standard, or a careful colleague, would question about consolidation and shear.

Limits of standards are from memory: "after" a standard is no statement that the test complies.
"""

from collections.abc import Iterator

import numpy as np

from reduce.leak_by_height import late_slopes
from reduce.record import Record
from reduce.reduction.caution import COMMON_PRACTICE, Caution, percent
from reduce.reduction.results import ShearReduced
from reduce.reduction.stages import Stages

AREAS_AGREE = 0.02
"""Areas after methods A and B that differ by more disagree. [-]"""
STRESS_SHARE, STRESS_KPA = 0.05, 2.0
"""Effective stress this far from the plan was not reached."""
DISSIPATED = 0.95
"""Less dissipation is an unfinished consolidation. [-]"""
SPREAD = 1.25
"""The greatest cv over the least by the three ways: beyond it somebody has to look. [-]"""
TOO_FAST = 1.1
"""Times the advised rate. [-]"""
LARGE_CORRECTION = 0.05
"""Membrane or side drains beyond this share of q are worth a word. [-]"""


def of_consolidation(record: Record, stages: Stages) -> Iterator[Caution]:
    found, standard = stages.consolidation, record.followed_standard
    if record.kind == "UU":
        return
    if found is None:
        if stages.shear is not None:
            yield Caution(
                "the readings show no consolidation: mark when drainage was opened "
                "(porewatch mark CELL consolidation/drained)",
                COMMON_PRACTICE,
            )
        return
    if record.specimen.drainage is None:
        yield Caution(
            "drainage of the specimen is not stated: no cv (needs specimen.drainage)",
            COMMON_PRACTICE,
        )
    yield from _of_constructions(record, stages)
    yield from _of_stress(record, stages)
    yield from _of_leak(record, stages)
    finished = stages.shear is not None
    if finished and found.dissipation is not None and found.dissipation < DISSIPATED:
        yield Caution(
            f"{percent(found.dissipation)} of the excess pore pressure had dissipated when "
            f"consolidation ended; it should be {percent(DISSIPATED, 0)}",
            f"after {standard}, end of consolidation",
        )
    if missed := record.missed_readings.get("consolidation"):
        yield Caution(f"{missed} scheduled readings of consolidation are missing", COMMON_PRACTICE)
    if found.volume_change_ml is not None and found.volume_change_ml < 0.0:
        yield Caution(
            f"the specimen took in {-found.volume_change_ml:.2f} ml while consolidating: it "
            "swelled, or a line leaks",
            COMMON_PRACTICE,
        )
    methods = found.dimensions
    if "method_b" in methods:
        a, b = methods["method_a"].area_mm2, methods["method_b"].area_mm2
        if abs(a - b) > AREAS_AGREE * a:
            yield Caution(
                f"areas after consolidation by method A ({a:.1f} mm²) and B ({b:.1f} mm²) differ "
                f"by {percent(abs(a - b) / a)}, more than {percent(AREAS_AGREE, 0)}",
                COMMON_PRACTICE,
            )


def _of_leak(record: Record, stages: Stages) -> Iterator[Caution]:
    """Where the ram followed the specimen: volume that goes on without height is a leak."""
    after, curve, found = stages.dimensions, stages.curve, stages.consolidation
    if after is not None and after.driven:
        yield Caution(
            "the ram moved by more than the specimen can have shortened while it consolidated: "
            "its height is that of isotropic strain",
            COMMON_PRACTICE,
        )
    if after is None or not after.followed or curve is None or found is None:
        return
    if found.methods.fit.t100_min is None:
        return
    rows = slice(curve.zero, curve.last + 1)
    travel, volume = record.column("axial_displacement")[rows], record.column("back_volume")[rows]
    slopes = late_slopes(
        (record.times_s[rows] - record.times_s[curve.zero]) / 60.0,
        volume[0] - volume,
        travel - travel[0],
        volume_ml=stages.specimen.volume_ml,
        height_mm=stages.specimen.height_mm,
        from_min=2.0 * found.methods.fit.t100_min,
    )
    if slopes.diverge:
        yield Caution(
            f"late in consolidation volume went on by {percent(slopes.volume or 0.0, 2)} a log "
            f"cycle, height by {percent((slopes.height or 0.0) / 3.0, 2)}: cell water may leak "
            "into the specimen",
            "after ASTM D4767, end of consolidation",
        )


def _of_constructions(record: Record, stages: Stages) -> Iterator[Caution]:
    found = stages.consolidation
    assert found is not None
    if stages.curve is not None and stages.curve.cut:
        yield Caution(
            "cell or back pressure left the stress of this consolidation: readings after that "
            "enter no construction",
            COMMON_PRACTICE,
        )
    if "back_volume" not in record.channels:
        return
    whys = (found.methods.root_time.why, found.methods.log_time.why, found.methods.fit.why)
    for why in dict.fromkeys(why for why in whys if why):
        yield Caution(f"consolidation: {why}", COMMON_PRACTICE)
    rates = [
        one.cv_m2_per_year
        for one in (found.methods.root_time, found.methods.log_time, found.methods.fit)
        if one.cv_m2_per_year is not None
    ]
    if len(rates) > 1 and max(rates) > SPREAD * min(rates):
        yield Caution(
            f"cv is {min(rates):.3g} to {max(rates):.3g} m²/year by the three ways: look at the "
            "lines before one of them is reported",
            COMMON_PRACTICE,
        )
    told = found.methods.root_time.t90_min is not None
    if told and "radial" in (found.methods.root_time.drainage or ""):
        yield Caution(
            "the root-time rule for drained ends does not hold with radial drainage: its t90 uses "
            "the offset of the exact series, and cv of the fit is the safer one",
            COMMON_PRACTICE,
        )


def _of_stress(record: Record, stages: Stages) -> Iterator[Caution]:
    found, plan = stages.consolidation, record.planned.effective_stress_kPa
    if found is None or plan is None or found.effective_stress_kPa is None or stages.shear is None:
        return
    off = found.effective_stress_kPa - plan
    if abs(off) > max(STRESS_KPA, STRESS_SHARE * plan):
        yield Caution(
            f"effective stress at the end of consolidation is {found.effective_stress_kPa:.1f} "
            f"kPa; {plan:g} kPa was planned",
            COMMON_PRACTICE,
        )


def of_shear(record: Record, stages: Stages) -> Iterator[Caution]:
    shear, standard = stages.shear, record.followed_standard
    if shear is None:
        return
    for why in (shear.why or "").split("; "):
        # That the limit was not reached comes below; without pore pressure there is no ratio.
        known = why.startswith("no at_strain_limit") or (record.kind == "UU" and "ratio" in why)
        if why and not known:
            yield Caution(f"shear: {why}", COMMON_PRACTICE)
    yield from _of_rate(record, shear)
    limit, reached = record.planned.strain_limit, shear.greatest_strain
    if shear.running and reached is not None:
        yield Caution(
            f"the shear is running, at {percent(reached, 2)} axial strain: what is greatest is so "
            "only so far",
            COMMON_PRACTICE,
        )
    elif reached is not None and reached < limit - 0.0005:
        yield Caution(
            f"shear ended at {percent(reached, 2)} axial strain, below the limit of "
            f"{percent(limit, 0)}",
            f"after {standard}, end of shear",
        )
    if shear.still_rising:
        yield Caution(
            "the greatest deviator is that of the last reading up to the strain limit: it was "
            "still rising",
            f"after {standard}, failure criteria",
        )
    peak = shear.peak_deviator
    if stages.sheared is not None and len(stages.sheared.table):
        seated = float(stages.sheared.table.deviator_kPa[0])
        if peak is not None and peak.deviator_kPa and seated > seating_allowed(peak.deviator_kPa):
            yield Caution(
                f"the specimen carried {seated:.1f} kPa at zero strain already, "
                f"{percent(seated / peak.deviator_kPa)} of the greatest deviator: a seating load, "
                "a zero of the load cell, or a dock that came too late",
                COMMON_PRACTICE,
            )
    if peak is not None and peak.deviator_kPa:
        for name, carried in (
            ("membrane", peak.membrane_kPa),
            ("side drains", peak.side_drains_kPa),
        ):
            if carried is not None and carried > LARGE_CORRECTION * peak.deviator_kPa:
                yield Caution(
                    f"the {name} carried {carried:.1f} kPa at the greatest deviator, "
                    f"{percent(carried / peak.deviator_kPa)} of it (corrected for)",
                    f"wanted after {standard} above 5 %"
                    if standard.startswith("ASTM")
                    else COMMON_PRACTICE,
                )
    if shear.area_shape == "parabola":
        yield Caution(
            "the parabolic area is wrong for a specimen that failed along a plane",
            COMMON_PRACTICE,
        )
    if record.kind == "CD" and stages.sheared is not None:
        yield from _of_drained_shear(stages)
    if missed := record.missed_readings.get("shear"):
        yield Caution(f"{missed} scheduled readings of shear are missing", COMMON_PRACTICE)


def seating_allowed(deviator_kPa: float) -> float:
    """What a specimen may carry when strain is counted from: 5 % of its strength. [kPa]

    Common practice, no source; for UU about 0.5 % is advised by Liu and Evett, Soil Properties,
    p. 351, which load cells of the usual range do not resolve in soft soil.
    """
    return max(0.05 * deviator_kPa, 2.0)


def _of_rate(record: Record, shear: ShearReduced) -> Iterator[Caution]:
    rate, advised = shear.rate_percent_per_min, shear.advised_rate_percent_per_min
    if rate is None:
        return
    if advised is None:
        yield Caution(
            f"whether {rate:.3g} %/min was slow enough cannot be judged: {shear.advised_by}",
            f"after {record.followed_standard}, rate of strain",
        )
    needed, took = shear.required_minutes_to_failure, shear.minutes_to_peak
    by = (shear.advised_by or "").rpartition(": ")[2]  # the clause names the standard
    soon = needed is not None and took is not None and took * TOO_FAST < needed
    if soon and not shear.still_rising:
        yield Caution(
            f"the greatest deviator came after {took:.0f} min, sooner than the {needed:.0f} min "
            f"that failure should take ({by})",
            f"after {record.followed_standard}, rate of strain",
        )
    elif advised is not None and record.kind != "UU" and rate > TOO_FAST * advised:
        yield Caution(
            f"sheared at {rate:.3g} %/min, faster than the {advised:.3g} %/min advised ({by})",
            f"after {record.followed_standard}, rate of strain",
        )


def _of_drained_shear(stages: Stages) -> Iterator[Caution]:
    assert stages.sheared is not None
    excess = stages.sheared.table.excess_pore_kPa
    known = excess[np.isfinite(excess)]
    start = stages.shear.effective_stress_kPa if stages.shear is not None else None
    if len(known) and start is not None and start > 0.0:
        most = float(np.max(np.abs(known)))
        if most > max(0.05 * start, 2.0):
            yield Caution(
                f"pore pressure moved by {most:.1f} kPa in drained shear, "
                f"{percent(most / start)} of the effective stress: not fully drained",
                COMMON_PRACTICE,
            )
