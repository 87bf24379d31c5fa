"""`cell.toml`: the hardware of a cell, how its logger writes, and the test that runs in it.

Field names end in the unit that the value has here; the key in the file has none, because the
value brings its own. The tables follow the file, top to bottom.
"""

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, PositiveInt, model_validator

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
    Seconds,
    StrainRate,
    Volume,
    VolumeCompliance,
)

NUMERIC_CHANNELS: dict[str, str] = {
    "cell_pressure": "kPa",
    "back_pressure": "kPa",
    "pore_pressure": "kPa",
    "back_volume": "ml",
    "cell_volume": "ml",
    "axial_displacement": "mm",
    "axial_load": "N",
    "temperature": "degC",
}
"""Every channel that holds numbers, with its internal unit."""

TEXT_CHANNELS = ("phase", "drainage")
"""Channels that hold words."""

REFUSED_KINDS = ("oedometer", "anisotropic", "multistage", "extension", "stress-controlled")
"""Kinds of test that are reserved: refused with one line, never reduced as something else."""

Drainage = Literal[
    "one end", "both ends", "radial", "radial + one end", "radial + both ends"
]
Standard = Literal[
    "ASTM D4767", "ASTM D7181", "ASTM D2850", "ISO 17892-8", "ISO 17892-9", "BS 1377-8"
]


class Table(BaseModel):
    """A table of a settings file: unknown keys are errors, values are fixed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Piston(Table):
    diameter_mm: Annotated[Length, Field(gt=0)] = Field(alias="diameter")
    load_cell: Literal["internal", "external"]
    uplift: Literal["zeroed at pressure", "computed"] | None = None
    zeroed_at_kPa: Pressure = Field(0.0, alias="zeroed_at")
    friction_N: Force = Field(0.0, alias="friction")

    @model_validator(mode="after")
    def _says_how_uplift_is_handled(self) -> "Piston":
        if self.load_cell == "external" and self.uplift is None:
            raise ValueError(
                "an external load cell feels the cell pressure lift the piston; add "
                'uplift = "zeroed at pressure" or uplift = "computed"'
            )
        return self


class Hardware(Table):
    """`[cell]`: stays from test to test."""

    name: str | None = None
    rating_kPa: Annotated[Pressure, Field(gt=0)] | None = Field(None, alias="rating")
    piston: Piston | None = None
    expansion: tuple[tuple[Pressure, Volume], ...] = ()
    line_compliance_ml_kPa: VolumeCompliance = Field(0.0, alias="line_compliance")
    frame_compliance_mm_N: LengthCompliance = Field(0.0, alias="frame_compliance")


class TimeColumn(Table):
    """`[log] time`: which column, how it is written, in which zone, and what to add."""

    column: str | tuple[str, ...] | None = None
    format: str | None = None
    zone: str | None = None
    offset_s: Seconds = Field(0.0, alias="offset")
    kind: Literal["clock", "elapsed s", "elapsed min", "elapsed h"] = "clock"
    start: str | datetime | None = None

    @model_validator(mode="after")
    def _elapsed_has_a_start(self) -> "TimeColumn":
        if self.kind != "clock" and self.start is None:
            raise ValueError(
                'elapsed time needs start = "2031-02-03T08:00:00", "file name" or "banner"'
            )
        return self


class Channel(Table):
    """One entry of `[log.channels]`: value = sign × (raw × gain − zero), in the unit given."""

    column: str | None = None
    columns: tuple[str, ...] = ()
    combine: Literal["sum", "mean"] | None = None
    unit: str | None = None
    sign: Literal[1, -1] = 1
    gain: float = 1.0
    zero: str | None = None
    range: str | None = None
    stroke: str | None = None
    refill: str | None = None
    table: tuple[tuple[float, float], ...] = ()
    same_as: str | None = None
    measured_at: Literal["base", "top", "mid"] | None = None
    datum_mm: Length = Field(0.0, alias="datum")

    @model_validator(mode="after")
    def _names_its_column(self) -> "Channel":
        named = [self.column is not None, bool(self.columns), self.same_as is not None]
        if sum(named) != 1:
            raise ValueError("give exactly one of column, columns or same_as")
        if self.columns and self.combine is None:
            raise ValueError('several columns need combine = "sum" or combine = "mean"')
        if self.same_as is None and self.unit is None and self.measured_at is None:
            pass  # phase and drainage have no unit; the cell checks the others by name
        return self


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
    header_row: PositiveInt | None = None
    channels: dict[str, Channel | tuple[Channel, ...]] = Field(default_factory=dict)


class Test(Table):
    """`[test]`."""

    __test__ = False  # pytest collects classes named Test…

    id: str | None = None
    kind: Literal["CU", "CD", "UU"]
    standard: Standard | None = None
    started: datetime | None = None
    ended: datetime | None = None


class Membrane(Table):
    thickness_mm: Annotated[Length, Field(gt=0)] = Field(alias="thickness")
    modulus_kPa: Annotated[Pressure, Field(gt=0)] = Field(1400.0, alias="modulus")
    count: PositiveInt = 1


class SideDrains(Table):
    perimeter_mm: Annotated[Length, Field(gt=0)] = Field(alias="perimeter")
    load_per_perimeter_kN_m: ForcePerLength = Field(0.19, alias="load_per_perimeter")


def _mean_of_readings(value: Any) -> tuple[Any, ...]:
    return tuple(value) if isinstance(value, list) else (value,)


class Specimen(Table):
    label: str | None = None
    set: str | None = None
    diameter_readings_mm: tuple[Annotated[Length, Field(gt=0)], ...] = Field(alias="diameter")
    height_readings_mm: tuple[Annotated[Length, Field(gt=0)], ...] = Field(alias="height")
    mass_g: Annotated[Mass, Field(gt=0)] | None = Field(None, alias="mass")
    water_content: Annotated[Ratio, Field(ge=0)] | None = None
    final_water_content: Annotated[Ratio, Field(ge=0)] | None = None
    dry_mass_g: Annotated[Mass, Field(gt=0)] | None = Field(None, alias="dry_mass")
    particle_density_Mg_m3: Annotated[Density, Field(gt=0)] | None = Field(
        None, alias="particle_density"
    )
    specific_gravity: Annotated[Ratio, Field(gt=0)] | None = None
    particle_density_assumed: bool = False
    drainage: Drainage | None = None
    mounting: Literal["wet", "dry"] | None = None
    flush: str | None = None
    membrane: Membrane | None = None
    side_drains: SideDrains | None = None

    @model_validator(mode="before")
    @classmethod
    def _one_reading_or_several(cls, given: Any) -> Any:
        if isinstance(given, dict):
            given = dict(given)
            for key in ("diameter", "height"):
                if key in given:
                    given[key] = _mean_of_readings(given[key])
        return given

    @model_validator(mode="after")
    def _drains_fit_the_drainage(self) -> "Specimen":
        if self.side_drains is not None and self.drainage in ("one end", "both ends"):
            raise ValueError(
                f'side_drains with drainage = "{self.drainage}" contradict each other; '
                'write "radial + …" or remove side_drains'
            )
        if self.particle_density_Mg_m3 is not None and self.specific_gravity is not None:
            raise ValueError("give particle_density or specific_gravity, not both")
        return self

    @property
    def diameter_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return sum(self.diameter_readings_mm) / len(self.diameter_readings_mm)

    @property
    def height_mm(self) -> float:
        """Mean of the readings. [mm]"""
        return sum(self.height_readings_mm) / len(self.height_readings_mm)


class Plan(Table):
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
    consolidation_end: str | None = None
    strain_limit: Annotated[Ratio, Field(gt=0)] = 0.15
    strain_rate_percent_min: Annotated[StrainRate, Field(gt=0)] | None = Field(
        None, alias="strain_rate"
    )


class RootSchedule(Table):
    kind: Literal["root"]
    step: Annotated[float, Field(gt=0)]
    slots: PositiveInt
    per: Literal["phase", "step"] = "phase"


class LogSchedule(Table):
    kind: Literal["log"]
    first_min: Annotated[Minutes, Field(gt=0)] = Field(alias="first")
    ratio: Annotated[float, Field(gt=1)]
    slots: PositiveInt
    per: Literal["phase", "step"] = "phase"


class StrainSchedule(Table):
    kind: Literal["strain"]
    step: Annotated[Ratio, Field(gt=0)]
    slots: PositiveInt
    per: Literal["phase", "step"] = "phase"


class TimesSchedule(Table):
    kind: Literal["times"]
    at_s: tuple[Annotated[Seconds, Field(gt=0)], ...] = Field(alias="at", min_length=1)
    per: Literal["phase", "step"] = "phase"


class EverySchedule(Table):
    kind: Literal["every"]
    step_s: Annotated[Seconds, Field(gt=0)] = Field(alias="step")
    slots: PositiveInt
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
    alarms: dict[str, Any] = Field(default_factory=dict)
