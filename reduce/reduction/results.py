"""What the reduction of one test comes to: plain numbers under the names that the JSON uses.

A field ends in its unit; strains, saturation, water content and U are ratios; None is "could not
be told", never 0 or NaN. Times of the clock end in `_s`. Volume changes are positive when the
specimen shrinks.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from reduce.acceptance import Ground
from reduce.consolidation import Consolidated
from reduce.construction import Line
from reduce.shearing.failure import FailureState


@dataclass(frozen=True, slots=True)
class CheckReduced:
    """One B check."""

    at_s: float
    """Its settled reading, or the last before drainage opened."""
    back_pressure_kPa: float | None
    delta_cell_kPa: float
    delta_pore_kPa: float
    B: float
    B_last: float
    """From the last reading of the check."""
    settled: bool


@dataclass(frozen=True, slots=True)
class SaturationReduced:
    """Saturation."""

    checks: tuple[CheckReduced, ...]
    B: float | None
    """Of the last check before drained consolidation."""
    accepted: bool
    ground: Ground
    b_target: float
    B_of_saturated_soil: float | None
    """What B can reach with this porosity and skeleton, by theory."""
    degree_at_set_up: float | None
    degree_by_B: float | None
    """Degree of saturation at which theory gives the B measured."""
    degree_by_inflow: float | None
    """At set-up plus the water that flowed in."""
    back_pressure_to_saturate_kPa: float | None
    """In equilibrium, after the laws of Boyle and Henry, with water flowing in."""
    back_pressure_kPa: float | None
    """Reached at the end of saturation."""
    solution: str | None
    """How long gas takes to dissolve, in words."""
    inflow_ml: float | None
    """Water that flowed into the specimen; it fills voids and is no change of volume."""
    volume_change_ml: float | None
    """Of the specimen, by its height; None where no ram followed it."""
    taken_below_target: str | None = None
    """Who took a B below its target for saturation, and why."""


@dataclass(frozen=True, slots=True)
class RootTime:
    """The root-time constructions."""

    t90_min: float | None
    t100_min: float | None
    cv_m2_per_year: float | None
    """From t90 (ASTM) or t100 (ISO, BS)."""
    drainage: str | None
    lines: tuple[Line, ...] = ()
    line_choice: Mapping[str, float] = field(default_factory=dict)
    """Relative standard uncertainty of each number from the choice of lines."""
    assumption: str | None = None
    """In words: drainage and factors that the numbers rest on."""
    why: str | None = None


@dataclass(frozen=True, slots=True)
class LogTime:
    """The log-time construction."""

    t50_min: float | None
    t100_min: float | None
    cv_m2_per_year: float | None
    drainage: str | None
    lines: tuple[Line, ...] = ()
    line_choice: Mapping[str, float] = field(default_factory=dict)
    """Relative standard uncertainty of each number from the choice of lines."""
    assumption: str | None = None
    """In words: drainage and factors that the numbers rest on."""
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """Least squares on the exact series for the drainage."""

    t50_min: float | None
    t90_min: float | None
    t100_min: float | None
    cv_m2_per_year: float | None
    primary_ml: float | None
    creep_ml: float | None
    """Secondary compression per log cycle of time."""
    misfit_ml: float | None
    drainage: str | None
    curve: tuple[tuple[float, float], ...] = ()
    """(minutes, ml) of the fit."""
    scatter: Mapping[str, float] = field(default_factory=dict)
    """Standard uncertainty of cv_m2_per_year and others from the residuals, in their units."""
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Methods:
    """The same consolidation by three ways."""

    root_time: RootTime
    log_time: LogTime
    fit: Fit


@dataclass(frozen=True, slots=True)
class ConsolidationReduced:
    """Consolidation; all stages together, the constructions on the last one."""

    volume_change_ml: float | None
    volumetric_strain: float | None
    """Refers to the specimen at set-up."""
    height_mm: float | None
    area_mm2: float | None
    volume_ml: float | None
    diameter_mm: float | None
    dimensions_by: str | None
    """Which of `dimensions` these are."""
    dimensions: Mapping[str, Consolidated]
    """method_a, method_b, isotropic: as far as each can be told."""
    void_ratio: float | None
    dry_density_Mg_m3: float | None
    effective_stress_kPa: float | None
    """Cell less back pressure at the end."""
    t50_min: float | None
    t90_min: float | None
    t100_min: float | None
    cv_m2_per_year: float | None
    headline_from: Mapping[str, str]
    """By number (t50_min … cv_m2_per_year): which of `methods` the standard takes it from."""
    cv_at_20_C_m2_per_year: float | None
    mv_m2_per_MN: float | None
    permeability_m_per_s: float | None
    """k = cv mv γw."""
    dissipation: float | None
    """Of the excess pore pressure, measured at an undrained end, at the end."""
    ended: bool
    """False while it lasts."""
    methods: Methods


@dataclass(frozen=True, slots=True)
class ShearReduced:
    """Shear."""

    rate_percent_per_min: float | None
    rate_mm_per_min: float | None
    """The same as travel of the ram."""
    advised_rate_percent_per_min: float | None
    advised_by: str | None
    """The rule behind the advice, in words, or why there is none."""
    cell_pressure_kPa: float | None
    pore_pressure_kPa: float | None
    effective_stress_kPa: float | None
    """The three at the reading of zero strain."""
    greatest_strain: float | None
    still_rising: bool
    """Whether the greatest deviator is that of the last reading."""
    peak_deviator: FailureState | None
    peak_ratio: FailureState | None
    at_strain_limit: FailureState | None
    minutes_to_peak: float | None
    required_minutes_to_failure: float | None
    """The shortest that the standard allows."""
    running: bool
    """The shear goes on: what is greatest is so only so far."""
    E50_MPa: float | None
    """Secant from zero strain to half of the greatest deviator."""
    E_tangent_MPa: float | None
    """Tangent there."""
    undrained_strength_kPa: float | None
    """Half of the greatest deviator, of CU and UU tests."""
    area_shape: str
    """How the corrected area is found: cylinder, parabola or plane."""
    why: str | None = None
    """What could not be told."""
    minutes_to_peak_ratio: float | None = None
    """Since zero strain, as `minutes_to_peak`."""
    minutes_to_strain_limit: float | None = None
    """Between the two readings around the limit."""
    advised_rate_mm_per_min: float | None = None
    """The advised rate as travel of the ram."""


@dataclass(frozen=True, slots=True)
class AfterTest:
    """The specimen when it was taken out, as far as it was weighed."""

    water_content: float | None
    saturation: float | None
    void_ratio: float | None
    water_content_full: float | None
    """What would fill all voids."""
    water_read_ml: float | None
    """In the specimen by its readings: at set-up, what flowed in, less what drained."""
    water_weighed_ml: float | None
    water_balance_ml: float | None
    """Read less weighed."""
    void_ratio_if_full: float | None = None
    """w Gs of the water weighed, to be compared with `void_ratio`, which is by volumes."""
    dry_density_Mg_m3: float | None = None
    moist_density_Mg_m3: float | None = None
    """Of solids and the water weighed, at the volume it came to."""
