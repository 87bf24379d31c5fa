"""The degree of saturation while a specimen saturates: by its B, by the water that flowed in.

Pressures that are absolute say so. None of this replaces a B check: it explains one.
"""

import math

from reduce.columns import between
from reduce.errors import ReductionError, require_positive
from reduce.water import COMPRESSIBILITY_PER_KPA

LEAST_OF_BUBBLES = 0.85
"""Below this degree of saturation the gas is no longer in bubbles, and B tells nothing of it. [-]

Schuurman (1966), The compressibility of an air/water mixture, Géotechnique 16(4) (volume from
memory): bubbles above 85 %.
"""
SLOW_BELOW, FAST_FROM = 0.90, 0.99
"""Degrees of saturation between which the time that gas takes to dissolve is not told. [-]"""


def saturation_from_b(
    b: float,
    porosity: float,
    skeleton_compressibility: float,
    pore_pressure_absolute: float,
    water_compressibility: float = COMPRESSIBILITY_PER_KPA,
) -> float:
    """Degree of saturation that explains a measured B: `b_part_saturated` inverted.

    Cf = Cs (1/B − 1)/n, S = 1 − (Cf − Cw)/(1/ua − Cw)

    The compressibility of the skeleton decides: one of virgin compression is too large for a
    stress below that of the past, and gives too low an S. Lines and porous discs that swell, or
    gas outside the specimen, count as gas within it.

    Args:
        b: Skempton's B, settled. [-]
        porosity: n. [-]
        skeleton_compressibility: Cs of the soil skeleton under isotropic stress, drained. [1/kPa]
        pore_pressure_absolute: ua, pressure of water and gas above vacuum. [kPa]
        water_compressibility: Cw. [1/kPa]

    Returns:
        S, 0.85 to 1. [-]

    Raises:
        ReductionError: B cannot say: it lies above that of the saturated soil, or so low that the
            gas is no longer in bubbles; or a value out of bounds.

    Source:
        Skempton (1954), Géotechnique 4(4), 143-147; Black and Lee (1973), J. Soil Mech. Found.
        Div. ASCE 99(SM1) (from memory).

    Example:
        >>> from reduce.saturation import b_part_saturated
        >>> round(saturation_from_b(b_part_saturated(0.4, 1e-4, 0.97, 400.0), 0.4, 1e-4, 400.0), 9)
        0.97
    """
    between("B", b, 0.0, math.inf, "")
    between("porosity", porosity, 0.0, 1.0, "")
    require_positive("compressibility of the skeleton", skeleton_compressibility, "1/kPa")
    require_positive("compressibility of water", water_compressibility, "1/kPa")
    between(
        "absolute pore pressure", pore_pressure_absolute, 0.0, 1.0 / water_compressibility, "kPa"
    )
    of_gas = 1.0 / pore_pressure_absolute

    def reached(fluid: float) -> float:
        return 1.0 / (1.0 + porosity * fluid / skeleton_compressibility)

    full = reached(water_compressibility)
    if b > full * (1.0 + 1e-12):
        raise ReductionError(
            f"B is {b:.4g}; a saturated soil of this stiffness reaches {full:.4g}, so that B does "
            "not tell its saturation"
        )
    least = LEAST_OF_BUBBLES * water_compressibility + (1.0 - LEAST_OF_BUBBLES) * of_gas
    if b < reached(least):
        raise ReductionError(
            f"B is {b:.4g}; below {reached(least):.4g} the soil is less than "
            f"{LEAST_OF_BUBBLES:.0%} saturated, its gas no longer in bubbles, and B does not tell "
            "its saturation"
        )
    fluid = skeleton_compressibility * (1.0 / b - 1.0) / porosity
    return min(1.0, 1.0 - (fluid - water_compressibility) / (of_gas - water_compressibility))


def saturation_after_inflow(saturation: float, void_volume_ml: float, inflow_ml: float) -> float:
    """Degree of saturation once water has flowed in: S = S0 + Vin/Vv, as read.

    The voids are taken as those of the set-up. Water that fills lines and porous discs, or passes
    a membrane, is read as if it were in the voids: a result above 1 is a measure of that.

    Args:
        saturation: S0 at set-up, as measured. [-]
        void_volume_ml: Vv.
        inflow_ml: Vin, below zero where water was pressed out.

    Returns:
        S, not cut off at 1. [-]

    Raises:
        ReductionError: a value out of bounds, or more water flowed out than there was.

    Source:
        Conservation of mass.

    Example:
        >>> saturation_after_inflow(0.90, 40.0, 3.0)
        0.975
    """
    require_positive("saturation at set-up", saturation, "")
    require_positive("volume of voids", void_volume_ml, "ml")
    after = saturation + between("inflow", inflow_ml, -math.inf, math.inf, "ml") / void_volume_ml
    if after < 0.0:
        raise ReductionError(
            f"inflow is {inflow_ml:g} ml; the voids hold {saturation * void_volume_ml:g} ml of "
            "water and cannot lose more"
        )
    return after


def solution_words(saturation: float) -> str:
    """How long the gas of a specimen takes to dissolve under back pressure, in words.

    No number is given, because none would hold. Dissolved air spreads by diffusion, in a time of
    L²/D with D = 2·10⁻⁹ m²/s: half a second over 0.03 mm, eight minutes over 1 mm, two days over
    19 mm. L, the way from gas to water that can take more of it, is not measured and changes from
    soil to soil by more than that.

    Args:
        saturation: S0 at set-up, as measured; 0 or more. [-]

    Returns:
        An order of magnitude with its source, for a reader.

    Raises:
        ReductionError: the degree of saturation is below zero or no number.

    Source:
        Black and Lee (1973), Saturating laboratory samples by back pressure, J. Soil Mech. Found.
        Div. ASCE 99(SM1): of their chart only the ends, from memory, low confidence. D of nitrogen
        and oxygen in water at 20 to 25 °C: CRC Handbook of Chemistry and Physics, Diffusion of
        gases in water.

    Example:
        >>> solution_words(0.995)
        'gas near full saturation dissolves in minutes to hours (after Black and Lee 1973)'
    """
    if not 0.0 <= saturation < math.inf:
        raise ReductionError(
            f"saturation is {saturation:g}; it must be a finite number, not below 0"
        )
    if saturation >= FAST_FROM:
        return "gas near full saturation dissolves in minutes to hours (after Black and Lee 1973)"
    if saturation < SLOW_BELOW:
        return (
            "so much gas takes days to dissolve where back pressure is only just enough "
            "(after Black and Lee 1973)"
        )
    return (
        "gas dissolves in hours to days, the faster the more back pressure there is to spare "
        "(between the ends of Black and Lee 1973)"
    )
