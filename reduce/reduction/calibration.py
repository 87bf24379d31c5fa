"""How far the instruments may be off: the standard uncertainties that a reduction propagates.

Common practice, no source: what certificates of good laboratory instruments give. A laboratory's
own certificates go before.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from reduce.record import Gauge, SpecimenRecord


@dataclass(frozen=True, slots=True)
class Trust:
    """How far a gauge is trusted, as standard deviations."""

    zero: float = 0.0
    """In the channel's unit."""
    zero_of_range: float = 0.0
    """As a share of its range, where that is known and more. [-]"""
    gain: float = 0.0
    """As a share of the reading. [-]"""

    def zero_of(self, gauge: Gauge | None) -> float:
        """Of this gauge, in the channel's unit."""
        if gauge is None or gauge.low is None or gauge.high is None:
            return self.zero
        return max(self.zero, self.zero_of_range * (gauge.high - gauge.low))


TRUST: Mapping[str, Trust] = {
    "cell_pressure": Trust(zero=0.2, zero_of_range=0.0002, gain=0.001),
    "back_pressure": Trust(zero=0.2, zero_of_range=0.0002, gain=0.001),
    "pore_pressure": Trust(zero=0.2, zero_of_range=0.0002, gain=0.001),
    "back_volume": Trust(gain=0.003),
    "cell_volume": Trust(gain=0.003),
    "axial_displacement": Trust(gain=0.002),
    "axial_load": Trust(zero=0.5, zero_of_range=0.0001, gain=0.005),
}
"""By channel; kPa, ml, mm, N."""

CALIPER_MM = 0.1
"""Step in which dimensions are read. [mm]"""
BALANCE_G = 0.1
"""Step in which masses are weighed. [g]"""
WATER_CONTENT = 0.01
"""Of trimmings against the specimen, as a share of w. [-]"""
PARTICLE_DENSITY_Mg_m3, PARTICLE_DENSITY_ASSUMED_Mg_m3 = 0.01, 0.03
"""Measured in a pycnometer; assumed for the kind of soil."""

MEMBRANE, SIDE_DRAINS, FRICTION = 0.1, 0.25, 0.25
"""Of what membrane, side drains and friction carry, as a share: moduli from the literature and
strips whose strength nobody measured. [-]"""
PISTON_MM = 0.02
"""Of the piston's diameter. [mm]"""


def of_mean(readings: tuple[float, ...]) -> float:
    """Standard uncertainty of the mean of several readings of a dimension. [mm]

    Example:
        >>> round(of_mean((49.9, 50.0, 50.1)), 3)
        0.065
    """
    count = len(readings)
    mean = sum(readings) / count
    spread = 0.0
    if count > 1:
        spread = sum((one - mean) ** 2 for one in readings) / (count - 1) / count
    return float((spread + CALIPER_MM**2 / 12.0) ** 0.5)


def of_particle_density(specimen: SpecimenRecord) -> float:
    """Standard uncertainty of ρs. [Mg/m³]"""
    if specimen.particle_density_assumed:
        return PARTICLE_DENSITY_ASSUMED_Mg_m3
    return PARTICLE_DENSITY_Mg_m3
