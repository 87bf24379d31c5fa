"""Saturation: Skempton's B, when a check has settled, and the back pressure that it takes.

Pressures are above atmosphere unless a name says absolute. Gas in the pores follows Boyle's law,
gas in solution Henry's.
"""

import math

import numpy as np

from reduce.columns import Column, Values, between
from reduce.errors import ReductionError, require_positive
from reduce.water import ATMOSPHERE_KPA, COMPRESSIBILITY_PER_KPA

HELD_S = 120.0
"""How long cell pressure must have held before a reading can have settled. [s]"""
SETTLED_RATE_KPA_S = 1.0 / 600.0
"""Pore pressure that changes slower has settled: 1 kPa in 10 min. [kPa/s]"""
SETTLED_SPAN_S = 600.0
"""The change must stay so small over three readings or over this time. [s]"""
MEAN_OVER_S = 60.0
"""Readings closer together than this count by their mean over it. [s]"""
HENRY = 0.02
"""Volume of air that dissolves in a volume of water, at any pressure, near 20 °C. [-]"""


def b_value(delta_pore: Values, delta_cell: Values) -> Values:
    """Skempton's pore pressure coefficient B of one undrained increment of cell pressure.

    B = Δu/Δσ3

    Args:
        delta_pore: rise of pore pressure once it has settled, one number or (n,). [kPa]
        delta_cell: rise of cell pressure, above zero. [kPa]

    Returns:
        B; near 1 for a saturated, compressible soil. NaN stays NaN. [-]

    Raises:
        ReductionError: a single rise of cell pressure that is not above zero (a column's element
            becomes NaN).

    Source:
        Skempton (1954), The pore-pressure coefficients A and B, Géotechnique 4(4), 143-147.

    Example:
        >>> b_value(47.5, 50.0)
        0.95
    """
    return delta_pore / between("rise of cell pressure", delta_cell, 0.0, math.inf, "kPa")


def settled_index(times_s: Column, pore: Column, held_since_s: float) -> int | None:
    """The first reading of a B check at which pore pressure has settled.

    It is the first one, after cell pressure has held for 2 min, from which |du/dt| stays below
    1 kPa per 10 min over at least 3 readings, or over 10 min. Where readings come closer than a
    minute, noise and resolution of the transducer would answer instead of the soil: there u is
    the mean of the readings of the minute up to it, and readings a minute apart are compared.
    Later readings never change an index that was found.

    Args:
        times_s: (n,) times of the readings, not falling. [s]
        pore: (n,) pore pressure; NaN where it was not read: that reading is passed over. [kPa]
        held_since_s: since when cell pressure has held, on the same clock. [s]

    Returns:
        Index into the columns as given, or None where none has settled yet.

    Raises:
        ReductionError: columns of different length, or times that fall.

    Source:
        ASTM D4767 (read after about 2 min, or once it has become steady) and BS 1377-8 (wait for
        a steady pore pressure), both from memory; the numbers are common practice, no source.

    Example:
        >>> times = np.array([0.0, 60.0, 120.0, 240.0, 480.0, 900.0])
        >>> settled_index(times, np.array([0.0, 40.0, 46.0, 47.4, 47.5, 47.5]), 0.0)
        3
    """
    if times_s.shape != pore.shape:
        raise ReductionError(
            f"{len(times_s)} times and {len(pore)} pore pressures; each reading needs both"
        )
    if np.any(np.diff(times_s) < 0.0):
        raise ReductionError("times of a B check fall; give its readings in the order of time")
    usable = np.flatnonzero(~np.isnan(pore) & (times_s >= held_since_s))
    if len(usable) < 2:
        return None
    times, u = times_s[usable], pore[usable]
    mean_times, mean_u = _trailing_means(times, u)
    last = len(times) - 1
    following = np.searchsorted(times, times + MEAN_OVER_S)
    has_following = following <= last
    then = np.minimum(following, last)
    elapsed = np.where(has_following, mean_times[then] - mean_times, np.inf)
    calm = has_following & (np.abs(mean_u[then] - mean_u) < SETTLED_RATE_KPA_S * elapsed)
    long = times[then] - times >= SETTLED_SPAN_S
    # Two calm gaps on end are three readings.
    settled = calm & (long | calm[then]) & (times >= held_since_s + HELD_S)
    found = np.flatnonzero(settled)
    return int(usable[found[0]]) if len(found) else None


def _trailing_means(times: Column, u: Column) -> tuple[Column, Column]:
    """Mean time and mean value over the minute up to and with each reading."""
    first = np.searchsorted(times, times - MEAN_OVER_S, side="right")
    upto = np.arange(1, len(times) + 1)
    many = upto - first
    # From the first reading on, so that the sums keep the digits of small differences
    time_sums = np.concatenate(([0.0], np.cumsum(times - times[0])))
    u_sums = np.concatenate(([0.0], np.cumsum(u - u[0])))
    mean_times = times[0] + (time_sums[upto] - time_sums[first]) / many
    return mean_times, u[0] + (u_sums[upto] - u_sums[first]) / many


def b_saturated(
    porosity: float,
    skeleton_compressibility: float,
    water_compressibility: float = COMPRESSIBILITY_PER_KPA,
) -> float:
    """B that a saturated soil can reach: B = 1/(1 + n Cw/Cs).

    Args:
        porosity: n. [-]
        skeleton_compressibility: Cs of the soil skeleton, drained. [1/kPa]
        water_compressibility: Cw. [1/kPa]

    Returns:
        B. [-]

    Raises:
        ReductionError: porosity not between 0 and 1, or a compressibility not above zero.

    Source:
        Skempton (1954), Géotechnique 4(4), 143-147; Black and Lee (1973), Saturating laboratory
        samples by back pressure, J. Soil Mech. Found. Div. ASCE 99(SM1) (from memory).

    Example:
        >>> round(b_saturated(0.375, 1.45e-5), 3)
        0.988
    """
    between("porosity", porosity, 0.0, 1.0, "")
    require_positive("compressibility of the skeleton", skeleton_compressibility, "1/kPa")
    require_positive("compressibility of water", water_compressibility, "1/kPa")
    return 1.0 / (1.0 + porosity * water_compressibility / skeleton_compressibility)


def b_part_saturated(
    porosity: float,
    skeleton_compressibility: float,
    saturation: float,
    pore_pressure_absolute: float,
    water_compressibility: float = COMPRESSIBILITY_PER_KPA,
) -> float:
    """B of a soil with gas bubbles in its pores: B = 1/(1 + n Cf/Cs), Cf = S Cw + (1 − S)/ua.

    Valid for small increments and for bubbles at the pressure of the water, near saturation.

    Args:
        porosity: n. [-]
        skeleton_compressibility: Cs of the soil skeleton, drained. [1/kPa]
        saturation: S. [-]
        pore_pressure_absolute: ua, pressure of water and gas above vacuum. [kPa]
        water_compressibility: Cw. [1/kPa]

    Returns:
        B. [-]

    Raises:
        ReductionError: a value out of bounds.

    Source:
        Skempton (1954), Géotechnique 4(4), 143-147; Black and Lee (1973), J. Soil Mech. Found.
        Div. ASCE 99(SM1) (from memory). The gas term is Boyle's law, d(V)/V = −dp/p.

    Example:
        >>> round(b_part_saturated(0.375, 1.45e-5, 0.995, 300.0), 2)
        0.69
    """
    _share("saturation", saturation)
    require_positive("absolute pore pressure", pore_pressure_absolute, "kPa")
    fluid = saturation * water_compressibility + (1.0 - saturation) / pore_pressure_absolute
    return b_saturated(porosity, skeleton_compressibility, fluid)


def back_pressure_to_saturate(
    saturation: float,
    target: float = 1.0,
    *,
    inflow: bool = True,
    henry: float = HENRY,
    atmosphere: float = ATMOSPHERE_KPA,
) -> float:
    """Back pressure at which the gas of a specimen is compressed and dissolved, given time.

    With air-free water flowing in at constant volume of voids:
    Δp = pa (S − S0)(1 − H)/(1 − S (1 − H)); at constant water content, the volume shrinking:
    Δp = pa [((1 − S0)/S0 + H)/((1 − S)/S + H) − 1].

    Args:
        saturation: S0 at atmospheric pressure. [-]
        target: S wanted. [-]
        inflow: whether water may flow in.
        henry: H, volume of gas dissolved in a volume of water. [-]
        atmosphere: pa. [kPa]

    Returns:
        Back pressure above atmosphere, in equilibrium; how long it takes is another question. [kPa]

    Raises:
        ReductionError: a value out of bounds, or a target below S0.

    Source:
        Lowe and Johnson (1960), Use of back pressure to increase degree of saturation of triaxial
        test specimens, ASCE Research Conf. on Shear Strength of Cohesive Soils (from memory;
        derived again from the laws of Boyle and Henry).

    Example:
        >>> round(back_pressure_to_saturate(0.95, atmosphere=101.3), 1)
        248.2
    """
    _share("saturation", saturation)
    _share("target saturation", target)
    between("Henry's coefficient", henry, 0.0, 1.0, "")
    require_positive("atmospheric pressure", atmosphere, "kPa")
    if target < saturation:
        raise ReductionError(
            f"target saturation is {target:g}; it must be at least that at the begin, "
            f"{saturation:g}"
        )
    if inflow:
        free_and_dissolved = 1.0 - target * (1.0 - henry)
        return atmosphere * (target - saturation) * (1.0 - henry) / free_and_dissolved
    gas_before = (1.0 - saturation) / saturation + henry
    return atmosphere * (gas_before / ((1.0 - target) / target + henry) - 1.0)


def saturation_after_back_pressure(
    saturation: float,
    back_pressure: float,
    *,
    inflow: bool = True,
    henry: float = HENRY,
    atmosphere: float = ATMOSPHERE_KPA,
) -> float:
    """Degree of saturation in equilibrium at a back pressure: `back_pressure_to_saturate` inverted.

    Args:
        saturation: S0 at atmospheric pressure. [-]
        back_pressure: above atmosphere, not below zero. [kPa]
        inflow: whether water may flow in.
        henry: H, volume of gas dissolved in a volume of water. [-]
        atmosphere: pa. [kPa]

    Returns:
        S, at most 1. [-]

    Raises:
        ReductionError: a value out of bounds.

    Source:
        As `back_pressure_to_saturate`.

    Example:
        >>> round(saturation_after_back_pressure(0.95, 100.0), 3)
        0.985
    """
    _share("saturation", saturation)
    between("Henry's coefficient", henry, 0.0, 1.0, "")
    require_positive("atmospheric pressure", atmosphere, "kPa")
    if not 0.0 <= back_pressure < math.inf:
        raise ReductionError(f"back pressure is {back_pressure:g} kPa; it must be 0 kPa or more")
    squeezed = atmosphere / (atmosphere + back_pressure)
    if inflow:
        gas = (1.0 - saturation * (1.0 - henry)) * squeezed
        return min(1.0, (1.0 - gas) / (1.0 - henry))
    gas_per_water = ((1.0 - saturation) / saturation + henry) * squeezed - henry
    return 1.0 / (1.0 + max(0.0, gas_per_water))


def _share(name: str, value: float) -> None:
    if not 0.0 < value <= 1.0:
        raise ReductionError(f"{name} is {value:g}; it must be above 0 and at most 1")
