"""How the loggers of the rehearsed bench write: six of them, no two alike, all within reason."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class LogColumn:
    """One column of numbers: raw = (sign · value + zero) / gain, value in `unit`."""

    header: str
    channel: str
    unit: str
    decimals: int
    zero: float = 0.0
    sign: Literal[1, -1] = 1
    range: tuple[float, float] | None = None
    """Of the raw reading, which stops a little beyond it."""
    stroke: tuple[float, float] | None = None
    refill: str | None = None


@dataclass(frozen=True, slots=True)
class Dialect:
    """One logger's way of writing."""

    columns: tuple[LogColumn, ...]
    time_header: str
    time_style: str
    """A strftime format, or "elapsed min"."""
    file_name: str
    """A strftime format; its result changes daily, or never."""
    files: str
    """The glob that finds them."""
    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    newline: str = "\n"
    banner: tuple[str, ...] = ()
    units_line: bool = False
    self_named: bool = False
    """Whether the headers say it all, so that no [log.channels] is needed."""
    drainage_header: str | None = None
    phase_header: str | None = None
    phase_words: tuple[tuple[str, str], ...] = ()
    """What stands in the phase column for "saturation/raise" and so on; else that itself."""
    pore_at: str = "base"


def _named(channel: str, suffix: str, unit: str, decimals: int) -> LogColumn:
    return LogColumn(f"{channel}_{suffix}", channel, unit, decimals)


SELF_NAMED = Dialect(
    columns=(
        _named("cell_pressure", "kPa", "kPa", 2),
        _named("back_pressure", "kPa", "kPa", 2),
        _named("pore_pressure", "kPa", "kPa", 2),
        _named("back_volume", "ml", "ml", 3),
        _named("axial_displacement", "mm", "mm", 3),
        _named("axial_load", "N", "N", 1),
        _named("temperature", "C", "degC", 2),
    ),
    time_header="time",
    time_style="%Y-%m-%dT%H:%M:%S",
    file_name="%Y-%m-%d.csv",
    files="*.csv",
    self_named=True,
    drainage_header="drainage",
)

SEMICOLON = Dialect(
    columns=(
        LogColumn("Celletrykk [kPa]", "cell_pressure", "kPa", 2, range=(0.0, 1000.0)),
        LogColumn("Mottrykk [kPa]", "back_pressure", "kPa", 2, range=(0.0, 1000.0)),
        LogColumn("Poretrykk [kPa]", "pore_pressure", "kPa", 2, range=(0.0, 1000.0)),
        LogColumn("Volum inn [cm³]", "back_volume", "ml", 3, zero=20.0, stroke=(0.0, 100.0)),
        LogColumn("Forskyvning [mm]", "axial_displacement", "mm", 3, range=(0.0, 50.0)),
        LogColumn("Kraft [kN]", "axial_load", "kN", 4, range=(0.0, 5.0)),
        LogColumn("Temperatur [°C]", "temperature", "degC", 1),
    ),
    time_header="Tid",
    time_style="%d.%m.%Y %H:%M:%S",
    file_name="celle_%Y%m%d.csv",
    files="celle_*.csv",
    separator=";",
    decimal=",",
    encoding="cp1252",
    newline="\r\n",
)

TABBED = Dialect(
    columns=(
        LogColumn("Pc", "cell_pressure", "kPa", 2, zero=-1.2, range=(0.0, 2000.0)),
        LogColumn("Pb", "back_pressure", "kPa", 2, zero=0.4, range=(0.0, 2000.0)),
        LogColumn("u", "pore_pressure", "kPa", 2, zero=0.7, range=(0.0, 1500.0)),
        LogColumn("Vb", "back_volume", "ml", 3, zero=30.0, stroke=(0.0, 100.0), refill="3 ml"),
        LogColumn("Vc", "cell_volume", "ml", 3),
        LogColumn("dH", "axial_displacement", "mm", 4, range=(0.0, 50.0)),
        LogColumn("F", "axial_load", "N", 1, range=(0.0, 10000.0)),
        LogColumn("T", "temperature", "degC", 2),
    ),
    time_header="Time",
    time_style="%Y-%m-%d %H:%M:%S",
    file_name="log_%Y-%m-%d.txt",
    files="log_*.txt",
    separator="\t",
    encoding="utf-8-sig",
    units_line=True,
    banner=("Bench logger, unit 3", "Skarnes Sound ferry quay"),
    phase_header="Stage",
    phase_words=(
        ("setup/mount", "SET"),
        ("setup/flush", "FLU"),
        ("setup/vented", "VNT"),
        ("setup/hold", "SEAT"),
        ("saturation/raise", "RAISE"),
        ("saturation/hold", "HOLD"),
        ("saturation/b-check", "CHK"),
        ("consolidation/build-up", "BUP"),
        ("consolidation/drained", "CON"),
        ("shear/dock", "DOCK"),
        ("shear/shear", "SHR"),
        ("ended", "END"),
    ),
)

POUNDS = Dialect(
    columns=(
        LogColumn("Cell psi", "cell_pressure", "psi", 3, zero=0.31, range=(0.0, 150.0)),
        LogColumn("Back psi", "back_pressure", "psi", 3, zero=-0.12, range=(0.0, 150.0)),
        LogColumn("Pore psi", "pore_pressure", "psi", 3, zero=0.08, range=(0.0, 150.0)),
        LogColumn("Burette cc", "back_volume", "cc", 3, zero=60.0, sign=-1, stroke=(0.0, 100.0)),
        LogColumn("Axial in", "axial_displacement", "in", 5, range=(0.0, 2.0)),
        LogColumn("Load lbf", "axial_load", "lbf", 3, zero=1.5, range=(0.0, 500.0)),
        LogColumn("Room F", "temperature", "degF", 1),
    ),
    time_header="Date/Time",
    time_style="%m/%d/%Y %H:%M:%S",
    file_name="%Y%m%d.csv",
    files="*.csv",
    newline="\r\n",
)

TWO_LOAD_CELLS = Dialect(
    columns=(
        LogColumn("sigma3", "cell_pressure", "kPa", 2, range=(0.0, 1700.0)),
        LogColumn("ub", "back_pressure", "kPa", 2, range=(0.0, 1000.0)),
        LogColumn("u", "pore_pressure", "kPa", 2, range=(0.0, 1000.0)),
        LogColumn("V1", "back_volume", "ml", 3, zero=50.0, sign=-1, stroke=(0.0, 100.0)),
        LogColumn("V2", "cell_volume", "ml", 3),
        LogColumn("disp", "axial_displacement", "mm", 4, range=(0.0, 50.0)),
        LogColumn("F1", "axial_load", "N", 2, range=(0.0, 500.0)),
        LogColumn("F2", "axial_load", "kN", 4, range=(0.0, 10.0)),
        LogColumn("temp", "temperature", "degC", 2),
    ),
    time_header="Stamp",
    time_style="%Y-%m-%d %H:%M:%S",
    file_name="%Y-%m-%d.csv",
    files="*.csv",
    banner=("# station 5", "# columns in kPa, ml, mm, N, kN, degC"),
    drainage_header="valve",
)

ELAPSED = Dialect(
    columns=(
        LogColumn("cell (bar)", "cell_pressure", "bar", 4, range=(0.0, 10.0)),
        LogColumn("back (bar)", "back_pressure", "bar", 4, range=(0.0, 10.0)),
        LogColumn("pore (bar)", "pore_pressure", "bar", 4, range=(0.0, 10.0)),
        LogColumn("water in (ml)", "back_volume", "ml", 3, stroke=(-40.0, 60.0)),
        LogColumn("travel (mm)", "axial_displacement", "mm", 3, range=(0.0, 30.0)),
        LogColumn("load (N)", "axial_load", "N", 1, range=(0.0, 4500.0)),
        LogColumn("room (C)", "temperature", "degC", 2),
    ),
    time_header="t (min)",
    time_style="elapsed min",
    file_name="run.csv",
    files="run*.csv",
    phase_header="stage",
)

DIALECTS = (SELF_NAMED, SEMICOLON, TABBED, POUNDS, TWO_LOAD_CELLS, ELAPSED)
"""Of cells 1 to 6, and again from 7 on."""
