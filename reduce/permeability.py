"""Permeability from consolidation, and what is measured at one temperature told at 20 °C."""

from reduce.columns import Values
from reduce.drainage import SECONDS_PER_YEAR
from reduce.errors import require_positive
from reduce.phase_relations import WATER_DENSITY_20_C
from reduce.water import viscosity_ratio

STANDARD_GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall. [m/s²]"""
WATER_UNIT_WEIGHT_20_C = WATER_DENSITY_20_C * STANDARD_GRAVITY_M_S2
"""Unit weight of water at 20 °C. [kN/m³]"""


def permeability(
    coefficient_of_consolidation: float,
    compressibility: float,
    water_unit_weight: float = WATER_UNIT_WEIGHT_20_C,
) -> float:
    """Coefficient of permeability implied by the rate of consolidation: k = cv mv γw.

    It is what the theory of consolidation makes of both numbers, not a measured flow: soil that
    creeps, or drains badly at its ends, comes out less permeable than it is.

    Args:
        coefficient_of_consolidation: cv. [m²/year]
        compressibility: mv of the same stage. [m²/MN]
        water_unit_weight: γw. [kN/m³]

    Returns:
        k, at the temperature at which cv was measured. [m/s]

    Raises:
        ReductionError: a value is not above zero.

    Source:
        Terzaghi's theory of consolidation; UFC 3-220-10 (2022), equation 3-5.

    Example:
        >>> f"{permeability(1.4901, 0.3094):.3g}"
        '1.43e-10'
    """
    rate = require_positive("cv", coefficient_of_consolidation, "m²/year") / SECONDS_PER_YEAR
    per_kPa = require_positive("mv", compressibility, "m²/MN") / 1000.0
    return rate * per_kPa * require_positive("unit weight of water", water_unit_weight, "kN/m³")


def at_20_C(coefficient: Values, temperature: Values) -> Values:
    """A coefficient of consolidation or permeability at 20 °C: c20 = cT μT/μ20.

    Both go with 1/μ of the water; its change of density, below 0.5 %, is left out.

    Args:
        coefficient: cv or k at the temperature of the test, one number or (n,). [any unit]
        temperature: of the specimen, 0 to 40 °C. [°C]

    Returns:
        In the same unit; NaN stays NaN.

    Raises:
        ReductionError: a single temperature outside 0 to 40 °C (a column's element becomes NaN).

    Source:
        ASTM D5084 for k, BS 1377-5 for cv (from memory); viscosity as `water.viscosity_ratio`.

    Example:
        >>> round(at_20_C(1.49, 24.0), 3)
        1.355
    """
    return coefficient * viscosity_ratio(temperature)
