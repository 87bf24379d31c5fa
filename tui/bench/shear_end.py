"""When a shear has ended: the pressures let go, the ram gone back, or stopped for good."""

from dataclasses import dataclass
from math import isnan

from tui.bench.aims import Aims
from tui.bench.moves import Moves
from tui.bench.ram import STILL_MM, Ram
from tui.bench.readings import Reading

LET_GO_KPA, LET_GO = 20.0, 0.1
"""Cell pressure this far, or this share, below its level in shear has been let go. [kPa]"""
FALLS_WITH_IT = 0.5
"""Of the share that cell pressure has fallen by, what another channel shows if it was let go."""
LEAST = {"pore_pressure": 5.0, "back_pressure": 5.0, "axial_load": 20.0}
"""From one reading to the next less than this may be the soil's: common practice, no source. [kPa],
[N]"""
AT_LIMIT = 0.97
"""From this share of the strain limit on, a ram that stands has finished."""
STILL_S = 1800.0
"""No travel for this long: the ram has stopped. [s]"""
LACKS = 3.0
"""A slow ram has stopped once it lacks this many times the travel that gauges resolve. [-]"""


@dataclass(frozen=True, slots=True)
class Sheared:
    """What is known of a running shear."""

    ram: Ram
    cell: Moves
    cell_level_kPa: float | None
    """Cell pressure at its begin."""
    zero: Reading | None
    """The reading at zero strain."""
    aims: Aims
    docking: bool
    """The specimen has not taken load yet: a ram that stands has not finished."""
    low_since: Reading | None = None
    """First reading of the fall of cell pressure that an earlier reading showed."""

    def falls(self, reading: Reading) -> Reading | None:
        """First reading of the fall of cell pressure that this one shows; None: it stands."""
        cell, level = self.cell, self.cell_level_kPa
        if level is None or isnan(reading.cell_pressure):
            return None
        if level - reading.cell_pressure <= max(LET_GO_KPA, LET_GO * level):
            return None
        return self.low_since or (cell.first if cell.moving and cell.first else reading)

    def another_falls(self, reading: Reading) -> bool:
        """Whether a pressure or the load fell with it, which no failing gauge brings about."""
        before = self.cell.before
        if before is None or before.cell_pressure <= 0.0:
            return False
        share = FALLS_WITH_IT * (1.0 - reading.cell_pressure / before.cell_pressure)
        for name, least in LEAST.items():
            was, fell = getattr(before, name), getattr(before, name) - getattr(reading, name)
            if fell > max(least, share * was):
                return True
        return False

    def stopped(self) -> float | None:
        """Time of the first reading after the ram stood; None while it runs. [s]"""
        seems = self.ram.still_since
        if self.docking or self.zero is None or seems is None:
            return None
        # Before the zero of strain it ran at another speed.
        since, seemed = self.zero.time, seems.time
        # A very slow ram travels too little to be seen to stop; the soil relaxes at once.
        return self.ram.course.stands_from(since, seemed) or self.ram.loads.falls_from(
            since, seemed
        )

    def travelled(self) -> float | None:
        """Since the zero of strain. [mm]"""
        if self.ram.furthest is None or self.zero is None:
            return None
        return self.ram.furthest - self.zero.axial_displacement


def ended_since(shear: Sheared, reading: Reading) -> float | None:
    """Time of the first reading after the end; None while the shear goes on. [s]

    One reading of one gauge ends no test: all that is watched in shear would be over with it.
    """
    ram, fall = shear.ram, shear.falls(reading)
    if fall is not None and (shear.low_since is not None or shear.another_falls(reading)):
        # The test ended when the ram stopped, if it did so before.
        return min(fall.time, shear.stopped() or fall.time)
    if shear.docking:
        return None
    stood = ram.still_since
    if ram.went_back(reading):
        return shear.stopped() or (stood or reading).time
    if stood is not None and _has_finished(shear, reading, stood):
        return shear.stopped()
    return None


def _has_finished(shear: Sheared, reading: Reading, stood: Reading) -> bool:
    """Whether the ram has stood so long, near the limit, that it cannot just be slow."""
    travelled = shear.travelled()
    if travelled is None or shear.zero is None or travelled <= 0.0:
        return False
    if travelled < AT_LIMIT * shear.aims.strain_limit * shear.aims.height_mm:
        return False
    speed = travelled / (stood.time - shear.zero.time) if stood.time > shear.zero.time else 0.0
    patience = LACKS * STILL_MM / speed if speed > 0.0 else 0.0
    return reading.time - stood.time >= max(STILL_S, patience)
