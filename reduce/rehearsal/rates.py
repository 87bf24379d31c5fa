"""How fast to shear, for the technician of a rehearsal, who knows the true t50, t90 and t100."""

import math

from reduce.rehearsal.dissipation import Dissipation
from reduce.rehearsal.plan import TestPlan

FAILURE_STRAIN_PERCENT = 4.0
FASTEST_PERCENT_MIN = 0.1
UNCONSOLIDATED_PERCENT_MIN = 1.0

_BS_FACTORS = {
    ("CU", "one end"): 0.53,
    ("CU", "both ends"): 2.1,
    ("CU", "radial"): 1.43,
    ("CU", "radial + one end"): 1.8,
    ("CU", "radial + both ends"): 2.3,
    ("CD", "one end"): 8.5,
    ("CD", "both ends"): 8.5,
    ("CD", "radial"): 12.7,
    ("CD", "radial + one end"): 14.2,
    ("CD", "radial + both ends"): 15.8,
}


def advised_rate_percent_min(plan: TestPlan, dissipation: Dissipation) -> float:
    """Strain rate after the plan's standard for failure at 4 %, rounded down to two digits. [%/min]

    Of an unconsolidated specimen, whose pore pressure nobody reads, 1 %/min.

    Source:
        From memory: ASTM D4767 4 % / (10 t50), D7181 4 % / (16 t90); BS 1377-8 (and ISO 17892-9,
        the same factors) F · t100, not below 120 min; D2850 and ISO 17892-8 about 1 %/min.
    """
    if plan.kind == "UU":
        return UNCONSOLIDATED_PERCENT_MIN
    if plan.standard.startswith("ASTM"):
        minutes = (
            10.0 * dissipation.time_of(0.5)
            if plan.kind == "CU"
            else 16.0 * dissipation.time_of(0.9)
        ) / 60.0
    else:
        factor = _BS_FACTORS[plan.kind, plan.drainage]
        minutes = max(factor * dissipation.t100_s / 60.0, 120.0)
    rate = min(FAILURE_STRAIN_PERCENT / minutes, FASTEST_PERCENT_MIN)
    digits = 1 - math.floor(math.log10(rate) + 1e-12)
    scale = math.pow(10.0, digits)
    return math.floor(rate * scale + 1e-9) / scale
