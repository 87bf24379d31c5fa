"""What a soil model answers to axial compression, without apparatus or sensors."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ShearPoint:
    """One state on the way."""

    axial_strain: float
    deviator_kPa: float
    """q = σ1 - σ3 of the soil."""
    mean_effective_kPa: float
    """p′ = (σ1′ + 2 σ3′) / 3."""
    volumetric_strain: float
    """Of shear, compression positive; 0 when undrained, until the pore water cavitates."""

    @property
    def sigma3_effective_kPa(self) -> float:
        return self.mean_effective_kPa - self.deviator_kPa / 3.0

    @property
    def sigma1_effective_kPa(self) -> float:
        return self.mean_effective_kPa + 2.0 * self.deviator_kPa / 3.0


@dataclass(frozen=True, slots=True)
class ShearCurve:
    """States in order of strain."""

    points: tuple[ShearPoint, ...]
    drained: bool

    def columns(self) -> tuple[Column, Column, Column, Column]:
        """Axial strain, q [kPa], rise of pore pressure [kPa], volumetric strain; (n,) each."""
        strain = np.array([point.axial_strain for point in self.points])
        q = np.array([point.deviator_kPa for point in self.points])
        p = np.array([point.mean_effective_kPa for point in self.points])
        volume = np.array([point.volumetric_strain for point in self.points])
        # Total mean stress rises by q/3 at constant cell pressure.
        excess = np.zeros_like(q) if self.drained else p[0] + q / 3.0 - p
        return strain, q, excess, volume

    def peak_deviator(self) -> ShearPoint:
        """The state of the greatest q."""
        return max(self.points, key=lambda point: point.deviator_kPa)

    def peak_ratio(self) -> ShearPoint:
        """The state of the greatest σ1′/σ3′."""
        return max(
            self.points, key=lambda point: point.sigma1_effective_kPa / point.sigma3_effective_kPa
        )
