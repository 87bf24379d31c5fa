"""Reduction of triaxial tests: numbers in, numbers out; no clock, file, log, print or terminal.

What an engineer may want in a notebook can be had from here: the formulas; the constructions of
consolidation; the table, failure and rate of shear; the strength of a set; and `reduce_test`, which
takes the record of one whole test. The modules hold their neighbours: `units`, `specimen` and
`phase_relations`, `saturation` and `acceptance`, `consolidation`, `root_time`, `log_time` and
`series_fit`, `stresses`, `shearing`, `strength`, `reduction`, `schedule`, `water`, `errors`.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from reduce.acceptance import Acceptance, Check, judge_checks
from reduce.consolidation import (
    Consolidated,
    coefficient_of_compressibility,
    consolidated_isotropic,
    consolidated_method_a,
    consolidated_method_b,
    dissipation,
    height_isotropic,
    saturation_volume_change,
    volumetric_strain,
)
from reduce.errors import ReductionError, UnitError
from reduce.phase_relations import (
    degree_of_saturation,
    density,
    dry_density,
    particle_density,
    porosity,
    solids_volume,
    void_ratio,
    void_ratio_after,
    water_content,
)
from reduce.saturation import (
    b_part_saturated,
    b_saturated,
    b_value,
    back_pressure_to_saturate,
    saturation_after_back_pressure,
    settled_index,
)
from reduce.schedule import (
    Count,
    Schedule,
    Tally,
    count,
    every_schedule,
    log_schedule,
    root_schedule,
    strain_schedule,
    times_schedule,
)
from reduce.shearing.area import (
    axial_strain,
    corrected_area_drained,
    corrected_area_undrained,
    deviator,
    parabolic_area_drained,
    parabolic_area_undrained,
)
from reduce.shearing.corrections import membrane_correction, side_drain_correction
from reduce.specimen import (
    SpecimenAtSetUp,
    cylinder_area,
    cylinder_volume,
    specimen_at_set_up,
)
from reduce.stresses import (
    PrincipalStresses,
    a_parameter,
    centre_effective_stress,
    centre_stress,
    effective_stress,
    mean_effective_stress,
    mean_stress,
    principal_stress_ratio,
    principal_stresses,
    shear_stress,
    stress_ratio,
)
from reduce.units import convert, parse, parse_ratio, scale
from reduce.water import viscosity_ratio, water_density

if TYPE_CHECKING:
    from reduce.construction import Construction, Line
    from reduce.log_time import casagrande
    from reduce.permeability import at_20_C, permeability
    from reduce.record import (
        Gauge,
        Membrane,
        Piston,
        Planned,
        PressureStep,
        Record,
        Rig,
        SideDrains,
        SpecimenRecord,
        Stage,
    )
    from reduce.reduction.history import history
    from reduce.reduction.whole import Reduction, reduce_test
    from reduce.resolution import noise_of, resolution_of
    from reduce.root_time import root_time_to_t100, taylor
    from reduce.saturation_degree import saturation_after_inflow, saturation_from_b
    from reduce.series_fit import SeriesFit, fit_series
    from reduce.shearing.failure import Failures, FailureState, failure_states
    from reduce.shearing.load import specimen_load, uplift
    from reduce.shearing.rates import advised_rate
    from reduce.shearing.setting import ShearSetting
    from reduce.shearing.stiffness import initial_modulus, secant_modulus_50, tangent_modulus_50
    from reduce.shearing.table import ShearTable, shear_table
    from reduce.shearing.unconsolidated import undrained_strength
    from reduce.specimen_after import specimen_after, water_balance
    from reduce.strength.envelope import (
        Envelope,
        line_through_tops_pq,
        line_through_tops_st,
        tangent_to_circles,
        weighted_line_pq,
    )
    from reduce.strength.interval import confidence_interval
    from reduce.strength.mohr_coulomb import phi_at_zero_cohesion
    from reduce.strength.of_set import SetStrength, strength_of_set
    from reduce.strength.specimens import FailedSpecimen

_LATER = {
    "reduce.record": (
        "Gauge",
        "Membrane",
        "Piston",
        "Planned",
        "PressureStep",
        "Record",
        "Rig",
        "SideDrains",
        "SpecimenRecord",
        "Stage",
    ),
    "reduce.reduction.whole": (
        "Reduction",
        "reduce_test",
    ),
    "reduce.reduction.history": ("history",),
    "reduce.root_time": (
        "root_time_to_t100",
        "taylor",
    ),
    "reduce.log_time": ("casagrande",),
    "reduce.series_fit": (
        "SeriesFit",
        "fit_series",
    ),
    "reduce.construction": (
        "Construction",
        "Line",
    ),
    "reduce.shearing.setting": ("ShearSetting",),
    "reduce.shearing.table": (
        "ShearTable",
        "shear_table",
    ),
    "reduce.shearing.failure": (
        "FailureState",
        "Failures",
        "failure_states",
    ),
    "reduce.shearing.stiffness": (
        "initial_modulus",
        "secant_modulus_50",
        "tangent_modulus_50",
    ),
    "reduce.shearing.rates": ("advised_rate",),
    "reduce.shearing.load": (
        "specimen_load",
        "uplift",
    ),
    "reduce.shearing.unconsolidated": ("undrained_strength",),
    "reduce.strength.of_set": (
        "SetStrength",
        "strength_of_set",
    ),
    "reduce.strength.specimens": ("FailedSpecimen",),
    "reduce.strength.envelope": (
        "Envelope",
        "line_through_tops_pq",
        "line_through_tops_st",
        "tangent_to_circles",
        "weighted_line_pq",
    ),
    "reduce.strength.interval": ("confidence_interval",),
    "reduce.strength.mohr_coulomb": ("phi_at_zero_cohesion",),
    "reduce.saturation_degree": (
        "saturation_after_inflow",
        "saturation_from_b",
    ),
    "reduce.permeability": (
        "at_20_C",
        "permeability",
    ),
    "reduce.specimen_after": (
        "specimen_after",
        "water_balance",
    ),
    "reduce.resolution": (
        "noise_of",
        "resolution_of",
    ),
}
"""By module, what is imported only when it is asked for: one look at a bench needs none of it."""


def __getattr__(name: str) -> Any:
    for module, names in _LATER.items():
        if name in names:
            return getattr(import_module(module), name)
    raise AttributeError(f"module 'reduce' has no attribute {name!r}")


__all__ = [
    "Acceptance",
    "Check",
    "Consolidated",
    "Construction",
    "Count",
    "Envelope",
    "FailedSpecimen",
    "FailureState",
    "Failures",
    "Gauge",
    "Line",
    "Membrane",
    "Piston",
    "Planned",
    "PressureStep",
    "PrincipalStresses",
    "Record",
    "Reduction",
    "ReductionError",
    "Rig",
    "Schedule",
    "SeriesFit",
    "SetStrength",
    "ShearSetting",
    "ShearTable",
    "SideDrains",
    "SpecimenAtSetUp",
    "SpecimenRecord",
    "Stage",
    "Tally",
    "UnitError",
    "a_parameter",
    "advised_rate",
    "at_20_C",
    "axial_strain",
    "b_part_saturated",
    "b_saturated",
    "b_value",
    "back_pressure_to_saturate",
    "casagrande",
    "centre_effective_stress",
    "centre_stress",
    "coefficient_of_compressibility",
    "confidence_interval",
    "consolidated_isotropic",
    "consolidated_method_a",
    "consolidated_method_b",
    "convert",
    "corrected_area_drained",
    "corrected_area_undrained",
    "count",
    "cylinder_area",
    "cylinder_volume",
    "degree_of_saturation",
    "density",
    "deviator",
    "dissipation",
    "dry_density",
    "effective_stress",
    "every_schedule",
    "failure_states",
    "fit_series",
    "height_isotropic",
    "history",
    "initial_modulus",
    "judge_checks",
    "line_through_tops_pq",
    "line_through_tops_st",
    "log_schedule",
    "mean_effective_stress",
    "mean_stress",
    "membrane_correction",
    "noise_of",
    "parabolic_area_drained",
    "parabolic_area_undrained",
    "parse",
    "parse_ratio",
    "particle_density",
    "permeability",
    "phi_at_zero_cohesion",
    "porosity",
    "principal_stress_ratio",
    "principal_stresses",
    "reduce_test",
    "resolution_of",
    "root_schedule",
    "root_time_to_t100",
    "saturation_after_back_pressure",
    "saturation_after_inflow",
    "saturation_from_b",
    "saturation_volume_change",
    "scale",
    "secant_modulus_50",
    "settled_index",
    "shear_stress",
    "shear_table",
    "side_drain_correction",
    "solids_volume",
    "specimen_after",
    "specimen_at_set_up",
    "specimen_load",
    "strain_schedule",
    "strength_of_set",
    "stress_ratio",
    "tangent_modulus_50",
    "tangent_to_circles",
    "taylor",
    "times_schedule",
    "undrained_strength",
    "uplift",
    "viscosity_ratio",
    "void_ratio",
    "void_ratio_after",
    "volumetric_strain",
    "water_balance",
    "water_content",
    "water_density",
    "weighted_line_pq",
]
