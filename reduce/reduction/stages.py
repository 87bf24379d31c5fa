"""The stages of one test one after the other, each from what the one before left.

A stage that cannot be reduced costs only itself: why is kept, in words, beside what could be told.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from reduce.errors import ReductionError
from reduce.record import Record
from reduce.reduction.after_test import reduce_after_test
from reduce.reduction.consolidating import (
    compressibility_per_kPa,
    reduce_consolidation,
)
from reduce.reduction.dimensions import AfterConsolidation
from reduce.reduction.drained_curve import Curve, curve_of
from reduce.reduction.results import (
    AfterTest,
    ConsolidationReduced,
    SaturationReduced,
    ShearReduced,
)
from reduce.reduction.saturating import b_of_theory, reduce_saturation
from reduce.reduction.sheared_specimen import bare_specimen, cylinder_of, dimensions_of
from reduce.reduction.shearing import Sheared, reduce_shear, table_of
from reduce.reduction.usable import usable
from reduce.shearing.table import Shape
from reduce.specimen import SpecimenAtSetUp, specimen_at_set_up

Told = TypeVar("Told")


@dataclass(frozen=True, slots=True, eq=False)
class Stages:
    """What each stage came to."""

    specimen: SpecimenAtSetUp
    saturation: SaturationReduced | None
    curve: Curve | None
    dimensions: AfterConsolidation | None
    consolidation: ConsolidationReduced | None
    sheared: Sheared | None
    shear: ShearReduced | None
    after_test: AfterTest
    failed: tuple[str, ...]
    """What could not be reduced and why."""

    @property
    def told(self) -> bool:
        """Whether anything beyond the specimen could be computed."""
        saturation = self.saturation
        drank = saturation is not None and bool(saturation.checks or saturation.inflow_ml)
        return drank or self.consolidation is not None or self.shear is not None


def reduce_stages(record: Record, shape: Shape = "cylinder") -> Stages:
    """All stages of a test.

    Args:
        record: the test.
        shape: of the corrected area.

    Raises:
        ReductionError: the specimen itself cannot be told, or the record is none (times that fall,
            columns of several lengths); nothing follows without it.
    """
    record = usable(record)
    failed: list[str] = []

    def guarded(name: str, work: Callable[[], Told | None]) -> Told | None:
        try:
            return work()
        except ReductionError as error:
            failed.append(f"{name} could not be reduced: {error}")
            return None

    specimen = guarded("what the specimen was made of", lambda: specimen_of(record))
    specimen = specimen or bare_specimen(record)
    saturation = guarded("saturation", lambda: reduce_saturation(record, specimen))
    curve = dimensions = consolidation = None
    if record.kind != "UU":
        curve = guarded("consolidation", lambda: curve_of(record))
        dimensions = guarded(
            "the specimen after consolidation",
            lambda: dimensions_of(record, specimen, curve),
        )
        consolidation = guarded(
            "consolidation", lambda: reduce_consolidation(record, specimen, curve, dimensions)
        )
    if saturation is not None:
        saturation = _with_theory(record, specimen, saturation, curve)
    cylinder = cylinder_of(specimen, dimensions)
    sheared = guarded("shear", lambda: table_of(record, cylinder, shape))
    shear = None
    if sheared is not None:
        shear = guarded("shear", lambda: reduce_shear(record, sheared, consolidation))
    after = reduce_after_test(
        record, specimen, saturation, consolidation, _drained_in_shear(sheared)
    )
    return Stages(
        specimen, saturation, curve, dimensions, consolidation, sheared, shear, after, tuple(failed)
    )


def specimen_of(record: Record) -> SpecimenAtSetUp:
    """The specimen at set-up.

    Raises:
        ReductionError: its dimensions are no cylinder, or its masses contradict them.
    """
    given = record.specimen
    return specimen_at_set_up(
        diameter_mm=given.diameter_mm,
        height_mm=given.height_mm,
        mass_g=given.mass_g,
        water_content_given=given.water_content,
        dry_mass_g=given.dry_mass_g,
        particle_density_Mg_m3=given.particle_density_Mg_m3,
    )


def _drained_in_shear(sheared: Sheared | None) -> float | None:
    if sheared is None:
        return None
    strain = sheared.table.volumetric_strain
    known = strain[np.isfinite(strain)]
    return float(known[-1]) * sheared.setting.volume_ml if len(known) else None


def _with_theory(
    record: Record, specimen: SpecimenAtSetUp, found: SaturationReduced, curve: Curve | None
) -> SaturationReduced:
    """B that this soil can reach, once its consolidation has told how stiff it is."""
    stiffness = None if curve is None else compressibility_per_kPa(record, specimen, curve)
    at = found.checks[-1].back_pressure_kPa if found.checks else None
    reach, degree = b_of_theory(specimen, stiffness, found.B, at)
    return replace(found, B_of_saturated_soil=reach, degree_by_B=degree)
