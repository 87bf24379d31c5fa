"""What the reduction of one test starts from: rig, specimen, plan, readings and what they are of.

Nothing here is computed: whoever has the readings and knows the phases fills it in. Times are
seconds on any one clock, pressures kPa above atmosphere, volumes ml, lengths mm, loads N.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from reduce.columns import Column

Kind = Literal["CU", "CD", "UU"]
STANDARD_OF_KIND: Mapping[str, str] = {
    "CU": "ASTM D4767",
    "CD": "ASTM D7181",
    "UU": "ASTM D2850",
}
"""What is assumed where a test names no standard."""


@dataclass(frozen=True, slots=True)
class Piston:
    """The loading piston: what lifts it and what brakes it."""

    diameter_mm: float
    load_cell: Literal["internal", "external"]
    uplift: Literal["zeroed at pressure", "computed"] | None = None
    """How an external load cell is freed of the cell pressure that lifts the piston."""
    zeroed_at_kPa: float = 0.0
    """Cell pressure at which an external load cell was set to zero."""
    friction_N: float = 0.0


@dataclass(frozen=True, slots=True)
class Membrane:
    """The rubber around the specimen."""

    thickness_mm: float
    """Of all membranes together."""
    modulus_kPa: float = 1400.0


@dataclass(frozen=True, slots=True)
class SideDrains:
    """Filter paper strips along the side of the specimen."""

    perimeter_mm: float
    """What they cover of it."""
    load_per_perimeter_kN_m: float | None = None
    """What they carry; None: not stated."""


@dataclass(frozen=True, slots=True)
class Rig:
    """The cell around the specimen, as far as a reduction corrects for it."""

    piston: Piston | None = None
    frame_compliance_mm_N: float = 0.0
    """Travel that is no shortening of the specimen."""


@dataclass(frozen=True, slots=True)
class SpecimenRecord:
    """The specimen as it was measured, weighed and mounted."""

    diameters_mm: tuple[float, ...]
    heights_mm: tuple[float, ...]
    mass_g: float | None = None
    """Moist, at set-up."""
    water_content: float | None = None
    """At set-up, of the trimmings. [-]"""
    final_water_content: float | None = None
    """After the test. [-]"""
    dry_mass_g: float | None = None
    particle_density_Mg_m3: float | None = None
    particle_density_assumed: bool = False
    drainage: str | None = None
    """One of `reduce.drainage.DRAINAGES`."""
    mounted_dry: bool = False
    """Set up dry and flushed with water that no gauge read."""
    membrane: Membrane | None = None
    side_drains: SideDrains | None = None

    @property
    def diameter_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return sum(self.diameters_mm) / len(self.diameters_mm)

    @property
    def height_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return sum(self.heights_mm) / len(self.heights_mm)


@dataclass(frozen=True, slots=True)
class Planned:
    """What the test was to do."""

    effective_stress_kPa: float | None = None
    """To consolidate at."""
    cell_step_kPa: float = 50.0
    b_target: float = 0.95
    strain_limit: float = 0.15
    strain_rate_percent_min: float | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """One stretch of a phase and step."""

    name: str
    """setup, saturation, consolidation, shear, ended or interrupted."""
    step: str | None
    start_s: float
    """Time of its first reading."""
    end_s: float | None
    """Time of the first reading of what follows; None: it lasts."""
    source: str = "inferred"
    """marks, log or inferred."""


@dataclass(frozen=True, slots=True)
class PressureStep:
    """One rise of cell pressure with drainage closed, by its readings."""

    at_s: float
    """Its settled reading, else the last before drainage opened."""
    back_pressure_kPa: float | None
    delta_cell_kPa: float
    delta_pore_kPa: float
    B_last: float
    """From the last reading of the check. [-]"""
    settled: bool


@dataclass(frozen=True, slots=True)
class Gauge:
    """What is known of the instrument behind a channel, in the channel's unit."""

    low: float | None = None
    high: float | None = None
    """Its range or stroke; None: not stated."""


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """One test, ready to be reduced."""

    cell: str
    test_id: str | None
    kind: Kind
    standard: str | None
    """None: not stated, see `STANDARD_OF_KIND`."""
    specimen: SpecimenRecord
    times_s: Column
    """(n,) of the readings, not falling."""
    channels: Mapping[str, Column]
    """(n,) each, by name (cell_pressure, back_pressure, pore_pressure, back_volume, cell_volume,
    axial_displacement, axial_load, temperature); NaN where there was no reading."""
    valve_open: Column | None = None
    """(n,) 1 while drainage is open, 0 while closed, NaN where not said; None: it is never said."""
    rig: Rig = Rig()
    planned: Planned = Planned()
    stages: tuple[Stage, ...] = ()
    checks: tuple[PressureStep, ...] = ()
    zero_first_stage_s: float | None = None
    """The last reading before drainage opened for the first stage of consolidation."""
    zero_consolidation_s: float | None = None
    """The same for the stage that the constructions are made on."""
    zero_strain_s: float | None = None
    """The reading from which strain is counted."""
    gauges: Mapping[str, Gauge] = field(default_factory=dict)
    pore_at_drained_end: bool = False
    """Pore pressure is read where the specimen drains: it tells no dissipation."""
    missed_readings: Mapping[str, int] = field(default_factory=dict)
    """Slots of the schedule that passed without a reading, by phase."""
    stamps_s: Column | None = None
    """(n,) the times as the logger stamped them, if its clock was set meanwhile. [s]"""
    taken_below_target: str | None = None
    """Who took a B below its target for saturation, and why, in words."""
    edited_logs: tuple[str, ...] = ()
    """Logs that were changed after they had been read, each in words."""
    moved_zeros: tuple[str, ...] = ()
    """Gauges that were refilled, exchanged or set to zero during the test, each in words; the
    channels go on from the readings before. Jumps besides that were taken as flow."""

    @property
    def followed_standard(self) -> str:
        """The standard stated, else the one assumed for the kind of test."""
        return self.standard or STANDARD_OF_KIND[self.kind]

    def column(self, channel: str) -> Column:
        """(n,) readings of a channel; all NaN where there is no such channel."""
        found = self.channels.get(channel)
        return np.full(len(self.times_s), np.nan) if found is None else found

    def index_at(self, time_s: float | None) -> int | None:
        """The last reading at or before a moment; None where there is none."""
        if time_s is None:
            return None
        index = int(np.searchsorted(self.times_s, time_s, side="right")) - 1
        return index if index >= 0 else None

    def value(self, channel: str, index: int | None) -> float | None:
        """One reading; None where there was none."""
        found = self.channels.get(channel)
        if found is None or index is None or not np.isfinite(found[index]):
            return None
        return float(found[index])

    def begin_of(self, name: str) -> float | None:
        """Time of the first reading of a phase. [s]"""
        return next((stage.start_s for stage in self.stages if stage.name == name), None)

    def end_of(self, name: str) -> float | None:
        """Time of the first reading after the last stretch of a phase; None: it lasts. [s]"""
        ends = [stage.end_s for stage in self.stages if stage.name == name]
        return ends[-1] if ends else None
