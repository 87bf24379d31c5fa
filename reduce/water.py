"""Water in the pores: density, viscosity and compressibility at laboratory temperatures."""

from reduce.columns import Values, between

COMPRESSIBILITY_PER_KPA = 4.59e-7
"""Isothermal compressibility of air-free water at 20 °C, IAPWS-95. [1/kPa]"""

ATMOSPHERE_KPA = 101.325
"""Standard atmosphere. [kPa]"""

# Tanaka et al. (2001), table 1; a5 is the density at its maximum in kg/m³.
_A1, _A2, _A3, _A4, _A5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950


def water_density(temperature: Values) -> Values:
    """Density of air-free water at atmospheric pressure.

    ρ = a5 [1 − (T + a1)² (T + a2) / (a3 (T + a4))]

    Args:
        temperature: one number or (n,), 0 to 40 °C; NaN stays NaN. [°C]

    Returns:
        Density; good to 0.001 kg/m³. [Mg/m³]

    Raises:
        ReductionError: a single temperature outside 0 to 40 °C (a column's element becomes NaN).

    Source:
        Tanaka, Girard, Davis, Peuto, Bignell (2001), Recommended table for the density of water
        between 0 °C and 40 °C, Metrologia 38(4), 301-309 (the CIPM formula).

    Example:
        >>> round(water_density(20.0), 5)
        0.99821
    """
    t = between("temperature of water", temperature, -1e-9, 40.0 + 1e-9, "°C")
    shrunk = (t + _A1) * (t + _A1) * (t + _A2) / (_A3 * (t + _A4))
    return _A5 * (1.0 - shrunk) / 1000.0


def viscosity_ratio(temperature: Values) -> Values:
    """Viscosity of water over its viscosity at 20 °C; cv at 20 °C = ratio × cv at T.

    log10(μ/μ20) = (20 − T)/(T + 96) · [1.2364 − 1.37e-3 (20 − T) + 5.7e-6 (20 − T)²]

    Args:
        temperature: one number or (n,), 0 to 40 °C; NaN stays NaN. [°C]

    Returns:
        Ratio; good to 0.5 %. [-]

    Raises:
        ReductionError: a single temperature outside 0 to 40 °C (a column's element becomes NaN).

    Source:
        Kestin, Sokolov, Wakeham (1978), Viscosity of liquid water in the range −8 °C to 150 °C,
        J. Phys. Chem. Ref. Data 7(3) (coefficients from memory, checked against IAPWS).

    Example:
        >>> round(viscosity_ratio(10.0), 3)
        1.304
    """
    t = between("temperature of water", temperature, -1e-9, 40.0 + 1e-9, "°C")
    below = 20.0 - t
    series = 1.2364 - 1.37e-3 * below + 5.7e-6 * below * below
    ratio: Values = 10.0 ** (below / (t + 96.0) * series)
    return ratio
