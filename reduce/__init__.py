"""Reduction of triaxial tests: numbers in, numbers out; no clock, file, log, print or terminal.

What an engineer may want in a notebook can be had from here: the formulas; the constructions of
consolidation; the table, failure and rate of shear; the strength of a set; and `reduce_test`, which
takes the record of one whole test. The modules hold their neighbours: `units`, `specimen` and
`phase_relations`, `saturation` and `acceptance`, `consolidation`, `root_time`, `log_time` and
`series_fit`, `stresses`, `shearing`, `strength`, `reduction`, `schedule`, `water`, `errors`.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from reduce.acceptance import Acceptance as Acceptance, Check as Check, judge_checks as judge_checks
from reduce.consolidation import (
    Consolidated as Consolidated,
    coefficient_of_compressibility as coefficient_of_compressibility,
    consolidated_isotropic as consolidated_isotropic,
    consolidated_method_a as consolidated_method_a,
    consolidated_method_b as consolidated_method_b,
    dissipation as dissipation,
    height_isotropic as height_isotropic,
    saturation_volume_change as saturation_volume_change,
    volumetric_strain as volumetric_strain,
)
from reduce.errors import ReductionError as ReductionError, UnitError as UnitError
from reduce.phase_relations import (
    degree_of_saturation as degree_of_saturation,
    density as density,
    dry_density as dry_density,
    particle_density as particle_density,
    porosity as porosity,
    solids_volume as solids_volume,
    void_ratio as void_ratio,
    void_ratio_after as void_ratio_after,
    void_ratio_if_full as void_ratio_if_full,
    water_content as water_content,
)
from reduce.saturation import (
    b_part_saturated as b_part_saturated,
    b_saturated as b_saturated,
    b_value as b_value,
    back_pressure_to_saturate as back_pressure_to_saturate,
    saturation_after_back_pressure as saturation_after_back_pressure,
    settled_index as settled_index,
)
from reduce.schedule import (
    Count as Count,
    Schedule as Schedule,
    Tally as Tally,
    count as count,
    every_schedule as every_schedule,
    log_schedule as log_schedule,
    root_schedule as root_schedule,
    strain_schedule as strain_schedule,
    times_schedule as times_schedule,
)
from reduce.shearing.area import (
    axial_strain as axial_strain,
    corrected_area_drained as corrected_area_drained,
    corrected_area_undrained as corrected_area_undrained,
    deviator as deviator,
    parabolic_area_drained as parabolic_area_drained,
    parabolic_area_undrained as parabolic_area_undrained,
)
from reduce.shearing.corrections import (
    membrane_correction as membrane_correction,
    side_drain_correction as side_drain_correction,
)
from reduce.specimen import (
    SpecimenAtSetUp as SpecimenAtSetUp,
    cylinder_area as cylinder_area,
    cylinder_volume as cylinder_volume,
    specimen_at_set_up as specimen_at_set_up,
)
from reduce.stresses import (
    PrincipalStresses as PrincipalStresses,
    a_parameter as a_parameter,
    centre_effective_stress as centre_effective_stress,
    centre_stress as centre_stress,
    effective_stress as effective_stress,
    mean_effective_stress as mean_effective_stress,
    mean_stress as mean_stress,
    principal_stress_ratio as principal_stress_ratio,
    principal_stresses as principal_stresses,
    shear_stress as shear_stress,
    stress_ratio as stress_ratio,
)
from reduce.units import (
    convert as convert,
    parse as parse,
    parse_ratio as parse_ratio,
    scale as scale,
)
from reduce.water import viscosity_ratio as viscosity_ratio, water_density as water_density

if TYPE_CHECKING:
    from reduce.construction import Construction as Construction, Line as Line
    from reduce.log_time import casagrande as casagrande
    from reduce.permeability import at_20_C as at_20_C, permeability as permeability
    from reduce.record import (
        Gauge as Gauge,
        Membrane as Membrane,
        Piston as Piston,
        Planned as Planned,
        PressureStep as PressureStep,
        Record as Record,
        Rig as Rig,
        SideDrains as SideDrains,
        SpecimenRecord as SpecimenRecord,
        Stage as Stage,
    )
    from reduce.reduction.history import history as history
    from reduce.reduction.whole import Reduction as Reduction, reduce_test as reduce_test
    from reduce.resolution import noise_of as noise_of, resolution_of as resolution_of
    from reduce.root_time import root_time_to_t100 as root_time_to_t100, taylor as taylor
    from reduce.saturation_degree import (
        saturation_after_inflow as saturation_after_inflow,
        saturation_from_b as saturation_from_b,
    )
    from reduce.series_fit import SeriesFit as SeriesFit, fit_series as fit_series
    from reduce.shearing.failure import (
        Failures as Failures,
        FailureState as FailureState,
        failure_states as failure_states,
        minutes_to as minutes_to,
    )
    from reduce.shearing.load import specimen_load as specimen_load, uplift as uplift
    from reduce.shearing.rates import advised_rate as advised_rate, as_travel as as_travel
    from reduce.shearing.setting import ShearSetting as ShearSetting
    from reduce.shearing.stiffness import (
        initial_modulus as initial_modulus,
        secant_modulus_50 as secant_modulus_50,
        tangent_modulus_50 as tangent_modulus_50,
    )
    from reduce.shearing.table import ShearTable as ShearTable, shear_table as shear_table
    from reduce.shearing.unconsolidated import undrained_strength as undrained_strength
    from reduce.specimen_after import (
        specimen_after as specimen_after,
        water_balance as water_balance,
    )
    from reduce.strength.envelope import (
        Envelope as Envelope,
        line_through_tops_pq as line_through_tops_pq,
        line_through_tops_st as line_through_tops_st,
        tangent_to_circles as tangent_to_circles,
        weighted_line_pq as weighted_line_pq,
    )
    from reduce.strength.interval import confidence_interval as confidence_interval
    from reduce.strength.mohr_coulomb import phi_at_zero_cohesion as phi_at_zero_cohesion
    from reduce.strength.of_set import (
        SetStrength as SetStrength,
        strength_of_set as strength_of_set,
    )
    from reduce.strength.specimens import FailedSpecimen as FailedSpecimen

_LATER = {
    "reduce.construction": "Construction Line",
    "reduce.log_time": "casagrande",
    "reduce.permeability": "at_20_C permeability",
    "reduce.record": "Gauge Membrane Piston Planned PressureStep "
    "Record Rig SideDrains SpecimenRecord Stage",
    "reduce.reduction.history": "history",
    "reduce.reduction.whole": "Reduction reduce_test",
    "reduce.resolution": "noise_of resolution_of",
    "reduce.root_time": "root_time_to_t100 taylor",
    "reduce.saturation_degree": "saturation_after_inflow saturation_from_b",
    "reduce.series_fit": "SeriesFit fit_series",
    "reduce.shearing.failure": "Failures FailureState failure_states minutes_to",
    "reduce.shearing.load": "specimen_load uplift",
    "reduce.shearing.rates": "advised_rate as_travel",
    "reduce.shearing.setting": "ShearSetting",
    "reduce.shearing.stiffness": "initial_modulus secant_modulus_50 tangent_modulus_50",
    "reduce.shearing.table": "ShearTable shear_table",
    "reduce.shearing.unconsolidated": "undrained_strength",
    "reduce.specimen_after": "specimen_after water_balance",
    "reduce.strength.envelope": "Envelope line_through_tops_pq "
    "line_through_tops_st tangent_to_circles weighted_line_pq",
    "reduce.strength.interval": "confidence_interval",
    "reduce.strength.mohr_coulomb": "phi_at_zero_cohesion",
    "reduce.strength.of_set": "SetStrength strength_of_set",
    "reduce.strength.specimens": "FailedSpecimen",
}
"""By module, what is imported only when it is asked for: one look at a bench needs none of it."""


def __getattr__(name: str) -> Any:
    for module, names in _LATER.items():
        if name in names.split():
            return getattr(import_module(module), name)
    raise AttributeError(f"module 'reduce' has no attribute {name!r}")
