"""What the readings themselves make doubtful: faults that leave every formula computable.

All limits are common practice, no source.
"""

from collections.abc import Iterator

import numpy as np

from reduce.columns import GREATEST
from reduce.record import Record
from reduce.reduction.caution import COMMON_PRACTICE, Caution, percent
from reduce.reduction.drained_curve import Curve
from reduce.reduction.shearing import Sheared
from reduce.reduction.stages import Stages
from reduce.reduction.usable import unusable

JUMP = 0.3
"""Of the whole change, while the time since zero not even doubles: consolidation drains at most a
quarter in that, whichever way the specimen drains. [-]"""
LEAST_CHANGE = 0.002
"""A change of volume below this share of the specimen's shows no jump. [-]"""
BACK = 0.002
"""Strain that is lost again by more than this is no noise. [-]"""
TOUCHED, LATE, LATE_SHARE = 0.05, 0.003, 0.1
"""Until this share of the strength is carried, strain should not pass the second, nor the third as
a share of the strain at failure. [-]"""
ALONE = 0.1
"""A greatest value this far above the readings on both sides stands alone. [-]"""
NEAR_VACUUM_KPA = -70.0
"""Pore water below this lets its gas go. [kPa]"""
MOVED = 0.005
"""Water that moved in an undrained shear, as a share of the specimen's volume. [-]"""


def of_readings(record: Record, stages: Stages) -> Iterator[Caution]:
    """Doubts about the readings, in the order of the test.

    Args:
        record: the test as it was read.
        stages: as they were reduced from it.
    """
    for what in _doubts(record, stages):
        yield Caution(what, COMMON_PRACTICE)


def _doubts(record: Record, stages: Stages) -> Iterator[str]:
    for name, count in unusable(record).items():
        if count:
            yield f"{name}: {count} beyond {GREATEST:g}, a fault of the logger; not used"
    saturation, volume = stages.saturation, stages.specimen.volume_ml
    if saturation is not None and (saturation.inflow_ml or 0.0) < -MOVED * volume:
        yield (
            f"{-(saturation.inflow_ml or 0.0):.2f} ml drained while the specimen saturated: a "
            "consolidation was not recognised (porewatch mark CELL consolidation/drained), or "
            "a line leaks"
        )
    if stages.curve is not None:
        yield from _of_volume(stages.curve, volume)
    if stages.sheared is not None and len(stages.sheared.table):
        yield from _of_strain(stages.sheared)
        yield from _of_failure(stages)
        yield from _of_effective_stress(stages.sheared)
        if record.kind == "CU":
            yield from _of_cavitation(stages.sheared)
            yield from _of_undrained(record, stages.sheared)


def _of_volume(curve: Curve, specimen_ml: float) -> Iterator[str]:
    times, volume = curve.times_min, curve.volume_ml
    if len(times) < 5 or np.ptp(volume) < LEAST_CHANGE * specimen_ml:
        return
    steps = np.diff(volume)
    # Just after the valve was opened nobody knows how much time has really passed
    late = (np.arange(len(steps)) >= 3) & (times[1:] <= 2.0 * times[:-1])
    at = np.flatnonzero(late & (np.abs(steps) > JUMP * np.ptp(volume)))
    if len(at):
        yield (
            f"drained volume jumped by {steps[at[0]]:+.2f} ml at {times[at[0] + 1]:.3g} min of "
            "consolidation, more than a specimen drains in that time: the gauge was refilled, "
            "or it was misread"
        )


def _of_strain(sheared: Sheared) -> Iterator[str]:
    strain = sheared.table.axial_strain
    strain = strain[np.isfinite(strain)]
    if len(strain) == 0:
        return
    worst = float(strain[np.argmax(np.abs(strain))])
    if abs(worst) >= 1.0:
        yield (
            f"axial strain comes out as {percent(worst)}: height, unit or zero of the "
            "displacement is wrong"
        )
    lost = float(np.max(np.maximum.accumulate(np.maximum(strain, 0.0)) - strain))
    if lost > BACK:
        yield (
            f"axial strain went back by {percent(lost, 2)} in shear: the ram turned, or "
            "displacement was misread"
        )


def _of_failure(stages: Stages) -> Iterator[str]:
    assert stages.sheared is not None
    table, shear = stages.sheared.table, stages.shear
    if shear is None:
        return
    for state, name, column, unit in (
        (shear.peak_deviator, "deviator", table.deviator_kPa, " kPa"),
        (shear.peak_ratio, "stress ratio", table.ratio, ""),
    ):
        if state is None or state.row is None:
            continue
        greatest, sides = float(column[state.row]), (column[: state.row], column[state.row + 1 :])
        before, after = (side[np.isfinite(side)] for side in sides)
        if len(before) and len(after):
            near = max(float(before[-1]), float(after[0]))
            if greatest - near > ALONE * greatest:
                yield (
                    f"the greatest {name}, {greatest:.4g}{unit}, stands alone: readings on both "
                    f"sides are at most {near:.4g}{unit}; it may be a spike"
                )
    peak = shear.peak_deviator
    if peak is None or peak.row is None or not peak.deviator_kPa or not peak.axial_strain:
        return
    strain, q = table.axial_strain[: peak.row + 1], table.deviator_kPa[: peak.row + 1]
    slack = strain[np.isfinite(strain) & (q < TOUCHED * peak.deviator_kPa)]
    late = float(slack.max()) if len(slack) else 0.0
    if late > max(LATE, LATE_SHARE * peak.axial_strain):
        yield (
            f"up to {percent(late, 2)} axial strain the specimen carried less than "
            f"{percent(TOUCHED, 0)} of its strength: strain was counted before the piston "
            "touched, or the ends bedded in (porewatch mark CELL shear/shear when they touched)"
        )


def _of_effective_stress(sheared: Sheared) -> Iterator[str]:
    minor = sheared.table.sigma3_effective_kPa
    known = minor[np.isfinite(minor)]
    if len(known) and float(known.min()) < 0.0:
        yield (
            f"σ′3 fell to {float(known.min()):.1f} kPa in shear, below 0: the soil liquefied, "
            "cell water leaks in, or a gauge is wrong"
        )


def _of_cavitation(sheared: Sheared) -> Iterator[str]:
    """A soil that dilates against its water until the gauge shows nearly a vacuum."""
    pore = sheared.table.pore_kPa
    known = pore[np.isfinite(pore)]
    if len(known) and float(known.min()) < NEAR_VACUUM_KPA:
        yield (
            f"pore pressure fell to {float(known.min()):.0f} kPa in undrained shear: water comes "
            "out of solution and cavitates, the volume is constant no more"
        )


def _of_undrained(record: Record, sheared: Sheared) -> Iterator[str]:
    rows = sheared.rows
    if record.valve_open is not None:
        # The first reading is that of zero strain, which may be the last one before the valve
        valve = record.valve_open[rows][1:]
        if (valve == 1.0).any():
            yield "drainage was open in an undrained shear: its pore pressure is not the soil's"
        if np.isfinite(valve).any():
            return
    volume = record.column("back_volume")[rows]
    volume = volume[np.isfinite(volume)]
    moved = float(np.ptp(volume)) if len(volume) else 0.0
    if moved > MOVED * sheared.setting.volume_ml:
        yield (
            f"back volume moved by {moved:.2f} ml in an undrained shear, "
            f"{percent(moved / sheared.setting.volume_ml)} of the specimen: drainage was open, "
            "or a line leaks"
        )
