"""What is out of order in a cell at a moment: faults write it, the rig obeys it."""

from dataclasses import dataclass


@dataclass(slots=True)
class Upset:
    """All at rest by default; filled anew before every step."""

    cell_kPa: float = 0.0
    """Cell pressure away from where it was set."""
    back_kPa: float = 0.0
    """Back pressure away from where it was set."""
    membrane_leak_ml_h: float = 0.0
    """From the cell into the pores."""
    cell_leak_ml_h: float = 0.0
    """From the cell to the outside."""
    line_leak_ml_h: float = 0.0
    """From the back-pressure line to the outside."""
    valve: bool | None = None
    """What the valve is in truth, whatever the technician set; None: as set."""
    blocked: bool = False
    """Nothing flows though the valve is open."""
    clogging: float = 1.0
    """Slows consolidation down by this factor."""
    ram: float = 1.0
    """Speed of the ram over what was set."""
    burst_s: float | None = None
    """Since the membrane went; None while it is whole. [s]"""
