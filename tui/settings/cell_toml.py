"""`cell.toml`: the hardware of a cell, how its logger writes, and the test that runs in it.

Field names end in the unit that the value has here; the key in the file has none, because the
value brings its own. The tables follow the file, top to bottom. What two keys say against each
other is looked for in `contradictions`, so that one reading of a file finds every problem.
"""

import re
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool

from tui.settings import channel_names
from tui.settings.alarm_tables import CellAlarms
from tui.settings.problems import shown
from tui.settings.quantities import (
    Density,
    Force,
    ForcePerLength,
    Length,
    LengthCompliance,
    Mass,
    Minutes,
    Pressure,
    Ratio,
    RefusedError,
    Seconds,
    StrainRate,
    Volume,
    VolumeCompliance,
    read_quantity,
)
from tui.settings.table import (
    Count,
    FileName,
    Moment,
    Name,
    Number,
    OneOrSeveral,
    Table,
    mean,
    read_moment,
)

NUMERIC_CHANNELS = channel_names.NUMERIC_CHANNELS
TEXT_CHANNELS = channel_names.TEXT_CHANNELS

REFUSED_KINDS = ("oedometer", "anisotropic", "multistage", "extension", "stress-controlled")
"""Kinds of test that are reserved: refused with one line, never reduced as something else."""

Drainage = Literal["one end", "both ends", "radial", "radial + one end", "radial + both ends"]
Standard = Literal[
    "ASTM D4767", "ASTM D7181", "ASTM D2850", "ISO 17892-8", "ISO 17892-9", "BS 1377-8"
]


class Piston(Table):
    """The loading piston: what lifts it and what brakes it."""

    diameter_mm: Annotated[Length, Field(gt=0)] = Field(alias="diameter")
    load_cell: Literal["internal", "external"]
    uplift: Literal["zeroed at pressure", "computed"] | None = None
    zeroed_at_kPa: Pressure = Field(0.0, alias="zeroed_at")
    friction_N: Annotated[Force, Field(ge=0)] = Field(0.0, alias="friction")


class Hardware(Table):
    """`[cell]`: stays from test to test."""

    name: FileName | None = None
    rating_kPa: Annotated[Pressure, Field(gt=0)] | None = Field(None, alias="rating")
    piston: Piston | None = None
    expansion: tuple[tuple[Pressure, Volume], ...] = ()
    line_compliance_ml_kPa: Annotated[VolumeCompliance, Field(ge=0)] = Field(
        0.0, alias="line_compliance"
    )
    frame_compliance_mm_N: Annotated[LengthCompliance, Field(ge=0)] = Field(
        0.0, alias="frame_compliance"
    )


def _start(value: Any) -> Any:
    if value in ("file name", "banner"):
        return value
    try:
        return read_moment(value)
    except RefusedError as refusal:
        raise RefusedError(refusal.what, refusal.remedy + ', or "file name", or "banner"') from None


class TimeColumn(Table):
    """`[log] time`: which column, how it is written, in which zone, and what to add."""

    column: str | tuple[str, ...] | None = None
    format: str | None = None
    zone: str | None = None
    offset_s: Seconds = Field(0.0, alias="offset")
    kind: Literal["clock", "elapsed s", "elapsed min", "elapsed h"] = "clock"
    start: Annotated[str | datetime, BeforeValidator(_start)] | None = None


def _sign(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value in (1.0, -1.0) else value


class Channel(Table):
    """One entry of `[log.channels]`: value = sign × (raw × gain − zero), in the unit given."""

    column: str | None = None
    columns: tuple[str, ...] = ()
    combine: Literal["sum", "mean"] | None = None
    unit: str | None = None
    sign: Annotated[Literal[1, -1], BeforeValidator(_sign)] = 1
    gain: Number = 1.0
    zero: str | None = None
    range: str | None = None
    stroke: str | None = None
    refill: str | None = None
    table: tuple[tuple[Number, Number], ...] = ()
    same_as: str | None = None
    measured_at: Literal["base", "top", "mid"] | None = None
    datum_mm: Length = Field(0.0, alias="datum")


class Log(Table):
    """`[log]`: where and how the logger writes."""

    files: str = "*.csv"
    rows: Literal["scheduled", "steady"] | None = None
    live: str | None = None
    time: TimeColumn = TimeColumn()
    phases: dict[str, str] = Field(default_factory=dict)
    separator: str | None = None
    decimal: Literal[".", ","] | None = None
    encoding: str | None = None
    header_row: Count | None = None
    channels: dict[str, Annotated[tuple[Channel, ...], OneOrSeveral, Field(min_length=1)]] = Field(
        default_factory=dict
    )
    """One or several gauges a channel; read them through `resolved.resolve_channels`."""


class Test(Table):
    """`[test]`."""

    __test__ = False  # pytest collects classes named Test…

    id: FileName | None = None
    kind: Literal["CU", "CD", "UU"]
    standard: Standard | None = None
    started: Moment | None = None
    """Naive means the bench's zone; `zones.moment_s` turns it into seconds."""
    ended: Moment | None = None


class Membrane(Table):
    """The rubber around the specimen."""

    thickness_mm: Annotated[Length, Field(gt=0)] = Field(alias="thickness")
    modulus_kPa: Annotated[Pressure, Field(gt=0)] = Field(1400.0, alias="modulus")
    count: Count = 1


class SideDrains(Table):
    """Filter paper strips along the side of the specimen."""

    perimeter_mm: Annotated[Length, Field(gt=0)] = Field(alias="perimeter")
    load_per_perimeter_kN_m: Annotated[ForcePerLength, Field(ge=0)] = Field(
        0.19, alias="load_per_perimeter"
    )


Readings = Annotated[tuple[Annotated[Length, Field(gt=0)], ...], OneOrSeveral, Field(min_length=1)]


class Specimen(Table):
    """`[specimen]`: as it was set up, and what was weighed after the test."""

    label: Name | None = None
    set: Name | None = None
    diameter_readings_mm: Readings = Field(alias="diameter")
    height_readings_mm: Readings = Field(alias="height")
    mass_g: Annotated[Mass, Field(gt=0)] | None = Field(None, alias="mass")
    water_content: Annotated[Ratio, Field(ge=0)] | None = None
    final_water_content: Annotated[Ratio, Field(ge=0)] | None = None
    dry_mass_g: Annotated[Mass, Field(gt=0)] | None = Field(None, alias="dry_mass")
    particle_density_Mg_m3: Annotated[Density, Field(gt=0)] | None = Field(
        None, alias="particle_density"
    )
    specific_gravity: Annotated[Ratio, Field(gt=0)] | None = None
    particle_density_assumed: StrictBool = False
    drainage: Drainage | None = None
    mounting: Literal["wet", "dry"] | None = None
    flush: Name | None = None
    membrane: Membrane | None = None
    side_drains: SideDrains | None = None

    @property
    def diameter_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return mean(self.diameter_readings_mm)

    @property
    def height_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return mean(self.height_readings_mm)


_DISSIPATION = re.compile(r"^dissipation\s+(\d+(?:\.\d+)?)\s*%$")
_LOG_CYCLES = re.compile(r"^t100\s*\+\s*\d+(?:\.\d+)?\s+log cycles?$")

_FLOW = re.compile(r"^flow\s+(\d+(?:\.\d+)?)\s*%\s*/\s*h$")


def _consolidation_end(value: Any) -> Any:
    remedy = (
        'write "dissipation 95 %", "t100 + 1 log cycle", "flow 0.1 %/h" or a duration '
        'such as "24 h"'
    )
    if isinstance(value, str):
        text = value.strip()
        share = _DISSIPATION.match(text) or _FLOW.match(text)
        if _LOG_CYCLES.match(text) or (share and 0.0 < float(share[1]) < 100.0):
            return text
        try:
            if read_quantity(text, "s") > 0.0:
                return text
        except RefusedError:
            pass  # the refusal below names all forms, not only durations
    raise RefusedError(f"is {shown(value)}, not an end of consolidation", remedy)


class Plan(Table):
    """`[plan]`: what the test is to do."""

    effective_stress_kPa: Annotated[Pressure, Field(gt=0)] | None = Field(
        None, alias="effective_stress"
    )
    cell_step_kPa: Annotated[Pressure, Field(gt=0)] = Field(50.0, alias="cell_step")
    excess_kPa: Annotated[Pressure, Field(gt=0)] = Field(10.0, alias="excess")
    b_target: Annotated[Ratio, Field(gt=0, le=1)] = 0.95
    back_pressure_limit_kPa: Annotated[Pressure, Field(gt=0)] | None = Field(
        None, alias="back_pressure_limit"
    )
    step_time_s: Annotated[Seconds, Field(gt=0)] | None = Field(None, alias="step_time")
    consolidation_end: Annotated[str, BeforeValidator(_consolidation_end)] | None = None
    strain_limit: Annotated[Ratio, Field(gt=0, lt=1)] = 0.15
    strain_rate_percent_min: Annotated[StrainRate, Field(gt=0)] | None = Field(
        None, alias="strain_rate"
    )


class RootSchedule(Table):
    """Due at (step × k)² minutes."""

    kind: Literal["root"]
    step: Annotated[Number, Field(gt=0)]
    slots: Count
    per: Literal["phase", "step"] = "phase"


class LogSchedule(Table):
    """Due at first × ratioᵏ⁻¹."""

    kind: Literal["log"]
    first_min: Annotated[Minutes, Field(gt=0)] = Field(alias="first")
    ratio: Annotated[Number, Field(gt=1)]
    slots: Count
    per: Literal["phase", "step"] = "phase"


class StrainSchedule(Table):
    """Due at step × k of axial strain."""

    kind: Literal["strain"]
    step: Annotated[Ratio, Field(gt=0)]
    slots: Count
    per: Literal["phase", "step"] = "phase"


class TimesSchedule(Table):
    """Due at the times written."""

    kind: Literal["times"]
    at_s: tuple[Annotated[Seconds, Field(gt=0)], ...] = Field(alias="at", min_length=1)
    per: Literal["phase", "step"] = "phase"


class EverySchedule(Table):
    """Due at step × k."""

    kind: Literal["every"]
    step_s: Annotated[Seconds, Field(gt=0)] = Field(alias="step")
    slots: Count
    per: Literal["phase", "step"] = "phase"


ScheduleTable = Annotated[
    RootSchedule | LogSchedule | StrainSchedule | TimesSchedule | EverySchedule,
    Field(discriminator="kind"),
]


class Schedules(Table):
    """`[schedule]`: one entry a phase."""

    saturation: ScheduleTable | None = None
    consolidation: ScheduleTable | None = None
    shear: ScheduleTable | None = None


class CellToml(Table):
    """All of `cell.toml`."""

    cell: Hardware = Hardware.model_validate({})
    log: Log = Log.model_validate({})
    test: Test
    identity: dict[str, Any] = Field(default_factory=dict)
    specimen: Specimen
    plan: Plan = Plan.model_validate({})
    schedule: Schedules = Schedules.model_validate({})
    alarms: CellAlarms = CellAlarms.model_validate({})
