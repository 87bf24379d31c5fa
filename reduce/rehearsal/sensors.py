"""From what is true to what a logger has: zero errors, noise, counts, the temperature of the room.

Noise is made of sums of uniform numbers, and rounded to counts: no machine's logarithm or
vector unit has a say in the bytes.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.records import TestRun
from reduce.rehearsal.rig import Trace

Column = NDArray[np.float64]

CHANNELS = (
    "cell_pressure",
    "back_pressure",
    "pore_pressure",
    "back_volume",
    "cell_volume",
    "axial_displacement",
    "axial_load",
    "temperature",
)
"""In this order everywhere."""

NOISE: dict[str, float] = {
    "cell_pressure": 0.06,
    "back_pressure": 0.06,
    "pore_pressure": 0.05,
    "back_volume": 0.004,
    "cell_volume": 0.01,
    "axial_displacement": 0.0006,
    "axial_load": 0.25,
    "temperature": 0.03,
}
"""Standard deviation of a reading, in the channel's unit (kPa, ml, mm, N, °C)."""

_ZERO_ERROR: dict[str, float] = {
    "cell_pressure": 0.15,
    "back_pressure": 0.15,
    "pore_pressure": 0.15,
    "axial_load": 0.4,
}


@dataclass(frozen=True, slots=True)
class Instruments:
    """How this cell is instrumented."""

    external_load_cell: bool = False
    friction_N: float = 0.0
    frame_mm_N: float = 0.0
    """Compliance of frame and load cell: travel that is no strain."""
    travel_from_mm: float = 2.0
    """First reading of the displacement gauge."""
    seed: int = 0
    room_C: float = 20.3
    room_swing_C: float = 0.5
    """Half the difference between afternoon and night."""
    errors: float = 1.0
    """Noise, errors of zero and swing of the room over the usual; 0 reads what is true. [-]"""


@dataclass(slots=True)
class Readings:
    """What a logger has of one test; faults of sensors and loggers change it in place."""

    seconds: Column
    """(n,) since the test began. [s]"""
    values: dict[str, Column]
    """By channel, (n,) each, in internal units."""
    open_: list[bool]
    """Whether the valve stood open, n."""
    texts: dict[tuple[int, str], str] = field(default_factory=dict)
    """What stands in a field instead of a number, by row and channel."""
    clock_s: Column = field(default_factory=lambda: np.zeros(0))
    """(n,) what the logger's clock is ahead by. [s]"""

    def keep(self, wanted: NDArray[np.bool_]) -> None:
        """Drop the rows that are not wanted."""
        index = np.flatnonzero(wanted)
        new = {int(old): row for row, old in enumerate(index)}
        self.seconds = self.seconds[index]
        self.clock_s = self.clock_s[index]
        self.values = {name: column[index] for name, column in self.values.items()}
        self.open_ = [self.open_[row] for row in index]
        self.texts = {
            (new[row], name): text for (row, name), text in self.texts.items() if row in new
        }


def noise(seed: str, count: int) -> Column:
    """Bell-shaped random numbers of mean 0 and deviation 1. (n,)"""
    key = np.array([ord(letter) for letter in seed], dtype=np.uint32)
    dice = np.random.RandomState(key)  # its stream is frozen for good, unlike that of Generator
    total = np.full(count, -6.0)
    for _ in range(12):
        total = total + dice.random_sample(count)
    return total


def temperature(seconds: Column, hour_of_day: float, made: Instruments) -> Column:
    """Of the room. (n,) [°C]

    Args:
        seconds: (n,) since the test began. [s]
        hour_of_day: when it began. [h]
        made: level and swing of the room.
    """
    hours = seconds / 3600.0 + hour_of_day
    swing = made.errors * made.room_swing_C
    day = np.sin(2.0 * math.pi * (hours - 10.0) / 24.0)
    slow = np.sin(2.0 * math.pi * hours / 61.0 + 1.0)
    return made.room_C + swing * day + 0.4 * swing * slow


def sense(run: TestRun, seconds: Column, made: Instruments, hour_of_day: float) -> Readings:
    """Read the instruments of a cell.

    Args:
        run: what happened.
        seconds: (n,) when to read. [s]
        made: the instruments.
        hour_of_day: local time of day at which the test began. [h]
    """
    plan, trace = run.plan, run.trace
    room = temperature(seconds, hour_of_day, made)
    warmer = room - room[0] if len(room) else room
    load = trace.at("load_N", seconds)
    truth: dict[str, Column] = {
        "cell_pressure": trace.at("cell_kPa", seconds),
        "back_pressure": trace.at("back_kPa", seconds),
        "pore_pressure": trace.at("pore_kPa", seconds),
        "back_volume": trace.at("back_ml", seconds) - 0.003 * warmer,
        "cell_volume": trace.at("cell_ml", seconds) - 1.6e-4 * plan.cell_water_ml * warmer,
        "axial_displacement": made.travel_from_mm
        + trace.at("travel_mm", seconds)
        + made.frame_mm_N * load,
        "axial_load": load + _outside(trace, seconds, plan.piston_mm, made),
        "temperature": room,
    }
    values: dict[str, Column] = {}
    for channel in CHANNELS:
        seed = f"{made.seed} {plan.cell} {channel}"
        zero = made.errors * _ZERO_ERROR.get(channel, 0.0)
        error = zero * float(noise(seed + " zero", 1)[0]) * 0.6
        size = made.errors * NOISE[channel]
        values[channel] = truth[channel] + error + size * noise(seed, len(seconds))
    return Readings(seconds, values, trace.valve(seconds), {}, np.zeros(len(seconds)))


def _outside(trace: Trace, seconds: Column, piston_mm: float, made: Instruments) -> Column:
    """What a load cell outside feels besides: the lifted piston and its friction. [N]"""
    if not made.external_load_cell:
        return np.zeros_like(seconds)
    uplift = trace.at("cell_kPa", seconds) * math.pi / 4.0 * piston_mm**2 / 1000.0
    ahead = trace.at("travel_mm", seconds + 0.5) - trace.at("travel_mm", seconds - 0.5)
    return uplift + np.where(ahead > 1e-9, made.friction_N, 0.0)
