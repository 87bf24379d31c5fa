"""What goes wrong with sensors, loggers, schedules: functions that spoil readings or settings."""

import math
from dataclasses import replace

import numpy as np

from reduce.rehearsal.readings import log_due_s
from reduce.rehearsal.sensors import Readings
from reduce.units import convert
from tui.rehearsed.dialects import Dialect, LogColumn
from tui.rehearsed.fault_kinds import Situation, Size
from tui.rehearsed.gauges import with_fitting_gauges
from tui.rehearsed.setup import CellSetup
from tui.settings.cell_toml import NUMERIC_CHANNELS

_RANGES: dict[str, tuple[float, float]] = {
    "cell_pressure": (0.0, 2000.0),
    "back_pressure": (0.0, 1000.0),
    "pore_pressure": (0.0, 1000.0),
    "axial_displacement": (0.0, 50.0),
    "axial_load": (0.0, 5000.0),
}
_STROKE = (-50.0, 50.0)


def with_ranges(here: Situation, _size: Size, setup: CellSetup) -> CellSetup:
    """Ranges and stroke in the settings, where columns so far named themselves and no more."""
    if not setup.dialect.self_named:
        return setup
    columns = tuple(
        replace(
            column,
            range=_RANGES.get(column.channel),
            stroke=_STROKE if column.channel == "back_volume" else None,
        )
        for column in setup.dialect.columns
    )
    ranged = replace(setup, dialect=replace(setup.dialect, columns=columns, self_named=False))
    return with_fitting_gauges(ranged, here.run) if setup.gauges_fit else ranged


def with_phase_column(_here: Situation, _size: Size, setup: CellSetup) -> CellSetup:
    """A column that says the phase, without which nobody could know that the cell is vented."""
    if setup.dialect.phase_header is not None:
        return setup
    return replace(setup, dialect=replace(setup.dialect, phase_header="phase"))


def with_cell_volume(_here: Situation, _size: Size, setup: CellSetup) -> CellSetup:
    """A cell volume gauge, a long consolidation and readings that stay close."""
    dialect = setup.dialect
    if not any(column.channel == "cell_volume" for column in dialect.columns):
        header = "cell_volume_ml" if dialect.self_named else "Vcell"
        dialect = replace(
            dialect, columns=(*dialect.columns, LogColumn(header, "cell_volume", "ml", 3))
        )
    return replace(
        setup,
        dialect=dialect,
        plan=replace(setup.plan, consolidation_end="24 h"),
        reading=replace(setup.reading, log_ratio=1.08, log_slots=126),
    )


def schedule_cut_short(here: Situation, size: Size, setup: CellSetup) -> CellSetup:
    """Fewer slots than the phase will need."""
    slots = int(size["slots"])
    if here.place[0] == "shear":
        return replace(setup, reading=replace(setup.reading, strain_slots=slots))
    if here.place[0] == "consolidation":
        return replace(setup, reading=replace(setup.reading, log_slots=slots))
    return replace(setup, reading=replace(setup.reading, root_slots=slots))


def slots_too_few(here: Situation) -> Size:
    """A handful more than the bench shows."""
    reading, run = here.setup.reading, here.run
    shown_s = here.horizon_s - here.onset_s
    if here.place[0] == "shear":
        passed = run.trace.one("strain", here.horizon_s) / reading.strain_step
        return {"slots": float(math.ceil(passed) + 6)}
    if here.place[0] == "consolidation":
        return {"slots": float(sum(due <= shown_s for due in log_due_s(reading)) + 1)}
    return {"slots": 8.0}


def log_falls_silent(here: Situation, _size: Size, readings: Readings) -> None:
    """No row after the onset."""
    readings.keep(readings.seconds <= here.onset_s)


def readings_missed(here: Situation, size: Size, readings: Readings) -> None:
    """The first rows after the onset are not there."""
    after = np.flatnonzero(readings.seconds > here.onset_s)[: int(size["rows"])]
    wanted = np.ones(len(readings.seconds), dtype=np.bool_)
    wanted[after] = False
    readings.keep(wanted)


def sensor_over_range(here: Situation, _size: Size, readings: Readings) -> None:
    """The pore pressure channel says OVER."""
    for row in np.flatnonzero(readings.seconds > here.onset_s).tolist():
        readings.texts[row, "pore_pressure"] = "OVER"


def zero_is_off(_here: Situation, size: Size, readings: Readings) -> None:
    """Pore pressure reads too much, from the beginning."""
    readings.values["pore_pressure"] = readings.values["pore_pressure"] + size["offset_kPa"]


def room_warms_up(here: Situation, size: Size, readings: Readings) -> None:
    """The heating runs away; the water in the cell swells and goes back to its supply."""
    warmer = size["rise_C"] * np.clip(
        (readings.seconds - here.onset_s) / (60.0 * size["within_min"]), 0.0, 1.0
    )
    readings.values["temperature"] = readings.values["temperature"] + warmer
    readings.values["cell_volume"] = (
        readings.values["cell_volume"] - 1.6e-4 * here.setup.plan.cell_water_ml * warmer
    )
    readings.values["back_volume"] = readings.values["back_volume"] - 0.003 * warmer


def clock_jumps(here: Situation, size: Size, readings: Readings) -> None:
    """The logger's clock goes wrong at the onset and stays so."""
    readings.clock_s = np.where(
        readings.seconds > here.onset_s, readings.clock_s + size["jump_s"], readings.clock_s
    )


def gauge_near_its_end(here: Situation, size: Size, readings: Readings) -> None:
    """The volume gauge was not refilled: at the onset 4 % of its stroke are left that way."""
    column = next(c for c in _ranged(here).columns if c.channel == "back_volume")
    low, high = column.stroke or _STROKE
    values = readings.values["back_volume"]
    at = float(np.interp(here.onset_s, readings.seconds, values))
    last = float(values[-1])
    # Which end of the stroke it runs towards follows from where the volume goes.
    upward = (last >= at) == (column.sign == 1)
    share = size["left_of_stroke"]
    raw = high - share * (high - low) if upward else low + share * (high - low)
    readings.values["back_volume"] = values + (column.sign * (raw - column.zero) - at)


def gauge_near_its_travel(here: Situation, size: Size, readings: Readings) -> None:
    """The displacement gauge was set too far in: at the onset it is at 91 % of its range."""
    column = next(c for c in _ranged(here).columns if c.channel == "axial_displacement")
    _, high = column.range or _RANGES["axial_displacement"]
    full = convert(high, column.unit, NUMERIC_CHANNELS["axial_displacement"])
    values = readings.values["axial_displacement"]
    at = float(np.interp(here.onset_s, readings.seconds, values))
    readings.values["axial_displacement"] = values + (size["of_range"] * full - at)


def _ranged(here: Situation) -> Dialect:
    return with_ranges(here, {}, here.setup).dialect
