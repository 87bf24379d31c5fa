"""How much a specimen shrinks when its effective stress rises: λ and κ."""

import math

from reduce.rehearsal.plan import TestPlan


class Compression:
    """Isotropic compression of the planned specimen, from set-up to any stress."""

    def __init__(self, plan: TestPlan) -> None:
        self._soil = plan.soil
        self._volume_ml = plan.volume_ml
        self._from_kPa = plan.excess_kPa
        self._to_kPa = plan.effective_kPa

    def strain(self, to_kPa: float) -> float:
        """Volumetric strain from the stress of saturation up to another. [-]

        κ below the yield stress of the ground, λ beyond.
        """
        soil = self._soil
        bend = min(max(soil.preconsolidation_kPa, self._from_kPa), max(to_kPa, self._from_kPa))
        return (
            soil.kappa * math.log(bend / self._from_kPa)
            + soil.lambda_ * math.log(max(to_kPa, bend) / bend)
        ) / (1.0 + soil.void_ratio)

    @property
    def primary_ml(self) -> float:
        """Volume lost by primary consolidation to the plan's stress."""
        return self.strain(self._to_kPa) * self._volume_ml

    @property
    def storage_ml_kPa(self) -> float:
        """Mean volume lost per kPa of effective stress."""
        return self.primary_ml / (self._to_kPa - self._from_kPa)
