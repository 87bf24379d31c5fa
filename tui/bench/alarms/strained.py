"""How far a specimen is strained by a reading, as far as that is told row by row."""

from math import isnan

from tui.bench.alarms.scene import Moment, Scene
from tui.bench.readings import NAN, Reading
from tui.bench.steps import Steps


def sheared_height_mm(scene: Scene, told: Steps) -> float:
    """Height of the specimen when shear begins: H0 (1 − εv/3). [mm]

    Where the ram followed it while it consolidated the curves know it better, by some thousandths.
    """
    before = told.zero_first_stage or told.zero_consolidation
    after = told.zero_strain
    out = NAN if before is None or after is None else before.back_volume - after.back_volume
    strain = 0.0 if isnan(out) else out / scene.aims.volume_ml
    return scene.aims.height_mm * (1.0 - min(max(strain, -0.3), 0.6) / 3.0)


def strain_of(now: Moment, zero: Reading | None, height_mm: float) -> float:
    """Axial strain since the zero reading; NaN where it is not known. [-]"""
    if zero is None:
        return NAN
    return (now.reading.axial_displacement - zero.axial_displacement) / height_mm
