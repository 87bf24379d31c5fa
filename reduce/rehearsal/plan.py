"""What is to be tested in a rehearsed cell, and how: the technician's sheet of paper."""

from dataclasses import dataclass
from typing import Literal

from reduce.rehearsal.dissipation import DrainageName
from reduce.rehearsal.soils import Soil

WATER_MG_M3 = 0.9982
"""Density of water at 20 °C."""


@dataclass(frozen=True, slots=True)
class TestPlan:
    """One test of one specimen in one cell."""

    __test__ = False  # pytest collects classes named Test…

    cell: str
    soil: Soil
    kind: Literal["CU", "CD", "UU"] = "CU"
    standard: str = "ASTM D4767"
    height_mm: float = 100.0
    diameter_mm: float = 50.0
    drainage: DrainageName = "radial + both ends"
    membrane_mm: float = 0.3
    membrane_kPa: float = 1400.0
    membranes: int = 1
    drain_perimeter_mm: float = 0.0
    """Covered by side drains; 0 without."""
    seating_kPa: float = 20.0
    """Cell pressure before any back pressure."""
    cell_step_kPa: float = 50.0
    excess_kPa: float = 10.0
    b_target: float = 0.95
    back_limit_kPa: float = 600.0
    effective_kPa: float = 150.0
    """To consolidate at; of no meaning for UU."""
    undrained_cell_kPa: float = 0.0
    """Of UU: the cell pressure under which it is sheared."""
    consolidation_end: Literal["dissipation 95 %", "t100 + 1 log cycle", "24 h"] = (
        "t100 + 1 log cycle"
    )
    strain_limit: float = 0.15
    overrun: float = 0.0
    """Strain beyond the limit before the technician stops the ram. [-]"""
    rate_percent_min: float | None = None
    """Strain rate; None takes what the standard advises."""
    line_ml_kPa: float = 0.0
    """What soft lines behind the base swell by; unknown to the technician."""
    holds_h: tuple[tuple[int, float], ...] = ()
    """Planned holds: after the raise of that number, from 1, so many hours."""
    rating_kPa: float = 1700.0
    """The cell maker's."""
    piston_mm: float = 20.0
    cell_water_ml: float = 1200.0
    expansion_ml_kPa: float = 0.0045
    """Growth of the cell with pressure."""
    seed: int = 0

    @property
    def area_mm2(self) -> float:
        return 3.141592653589793 / 4.0 * self.diameter_mm**2

    @property
    def volume_ml(self) -> float:
        return self.area_mm2 * self.height_mm / 1000.0

    @property
    def dry_mass_g(self) -> float:
        return self.volume_ml * self.soil.particle_density_Mg_m3 / (1.0 + self.soil.void_ratio)

    @property
    def water_content(self) -> float:
        """At set-up. [-]"""
        soil = self.soil
        return soil.saturation * soil.void_ratio * WATER_MG_M3 / soil.particle_density_Mg_m3
