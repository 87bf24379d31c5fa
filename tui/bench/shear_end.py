"""When a shear has ended: the pressures let go, the ram gone back, or stopped for good."""

from dataclasses import dataclass

from tui.bench.aims import Aims
from tui.bench.moves import Moves
from tui.bench.ram import STILL_S, Ram
from tui.bench.readings import Reading

LET_GO_KPA, LET_GO = 20.0, 0.1
"""Cell pressure this far, or this share, below its level in shear has been let go. [kPa]"""
AT_LIMIT = 0.97
"""From this share of the strain limit on, a ram that stands has finished."""


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


def ended_since(shear: Sheared, reading: Reading) -> float | None:
    """Time of the first reading after the end; None while the shear goes on. [s]"""
    ram, cell, level = shear.ram, shear.cell, shear.cell_level_kPa
    stood = ram.still_since
    fallen = 0.0 if cell.value is None or level is None else level - cell.value
    if fallen > max(LET_GO_KPA, LET_GO * (level or 0.0)):
        let_go = cell.first if cell.moving and cell.first else reading
        # The test ended when the ram stopped, if it did so before.
        return min(let_go.time, (stood or let_go).time)
    if shear.docking:
        return None
    if ram.went_back(reading):
        return (stood or reading).time
    if stood is not None and _at_the_limit(shear) and reading.time - stood.time >= STILL_S:
        return stood.time
    return None


def _at_the_limit(shear: Sheared) -> bool:
    if shear.ram.furthest is None or shear.zero is None:
        return False
    travelled = shear.ram.furthest - shear.zero.axial_displacement
    return travelled >= AT_LIMIT * shear.aims.strain_limit * shear.aims.height_mm
