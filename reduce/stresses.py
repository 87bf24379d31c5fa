"""Stresses of triaxial compression: effective, principal, invariants, pore pressure parameter A.

Compression is positive. Cell pressure is the minor total principal stress σ3, and the deviator
q = σ1 − σ3 acts along the axis. Columns of one test have one length; a constant cell pressure may
be given as a single number beside columns at run time, through numpy's broadcasting.
"""

from typing import Generic, NamedTuple

from reduce.columns import Values, between

LEAST_EFFECTIVE_KPA = 0.1
"""Below this an effective stress is nothing to divide by: transducers do not resolve it. [kPa]"""


class PrincipalStresses(NamedTuple, Generic[Values]):
    """Major and minor principal stress, total and effective."""

    major: Values
    """σ1. [kPa]"""
    minor: Values
    """σ3. [kPa]"""
    major_effective: Values
    """σ′1. [kPa]"""
    minor_effective: Values
    """σ′3. [kPa]"""


def effective_stress(total: Values, pore: Values) -> Values:
    """What the skeleton carries: σ′ = σ − u.

    Args:
        total: total stress, one number or (n,). [kPa]
        pore: pore pressure. [kPa]

    Returns:
        Effective stress; NaN where either is NaN. [kPa]

    Source:
        Terzaghi (1936); any textbook.

    Example:
        >>> effective_stress(450.0, 300.0)
        150.0
    """
    return total - pore


def principal_stresses(cell: Values, pore: Values, deviator: Values) -> PrincipalStresses[Values]:
    """Principal stresses of triaxial compression: σ3 = cell, σ1 = cell + q, σ′ = σ − u.

    Args:
        cell: cell pressure, one number or (n,). [kPa]
        pore: pore pressure. [kPa]
        deviator: q. [kPa]

    Returns:
        Major and minor, total and effective. [kPa]

    Source:
        ASTM D4767; BS 1377-8.

    Example:
        >>> principal_stresses(150.0, 80.0, 192.0).major_effective
        262.0
    """
    major = cell + deviator
    return PrincipalStresses(major, cell, major - pore, cell - pore)


def mean_stress(cell: Values, deviator: Values) -> Values:
    """Mean total stress: p = (σ1 + 2 σ3)/3 = σ3 + q/3.

    Args:
        cell: cell pressure, one number or (n,). [kPa]
        deviator: q. [kPa]

    Returns:
        p. [kPa]

    Source:
        Schofield and Wroth (1968), Critical State Soil Mechanics.

    Example:
        >>> mean_stress(100.0, 63.0)
        121.0
    """
    return cell + deviator / 3.0


def mean_effective_stress(cell: Values, pore: Values, deviator: Values) -> Values:
    """Mean effective stress: p′ = p − u.

    Args:
        cell: cell pressure, one number or (n,). [kPa]
        pore: pore pressure. [kPa]
        deviator: q. [kPa]

    Returns:
        p′. [kPa]

    Source:
        Schofield and Wroth (1968), Critical State Soil Mechanics.

    Example:
        >>> round(mean_effective_stress(100.0, 59.3, 63.0), 1)
        61.7
    """
    return cell + deviator / 3.0 - pore


def shear_stress(deviator: Values) -> Values:
    """Radius of Mohr's circle: t = t′ = q/2; at failure of a φ = 0 soil, its cu.

    Args:
        deviator: q, one number or (n,). [kPa]

    Returns:
        t. [kPa]

    Source:
        Lambe and Whitman (1969), Soil Mechanics (their q); BS 1377-8.

    Example:
        >>> shear_stress(192.0)
        96.0
    """
    return deviator / 2.0


def centre_stress(cell: Values, deviator: Values) -> Values:
    """Centre of Mohr's circle of total stress: s = (σ1 + σ3)/2.

    Args:
        cell: cell pressure, one number or (n,). [kPa]
        deviator: q. [kPa]

    Returns:
        s. [kPa]

    Source:
        Lambe and Whitman (1969), Soil Mechanics (their p); BS 1377-8.

    Example:
        >>> centre_stress(150.0, 192.0)
        246.0
    """
    return cell + deviator / 2.0


def centre_effective_stress(cell: Values, pore: Values, deviator: Values) -> Values:
    """Centre of Mohr's circle of effective stress: s′ = (σ′1 + σ′3)/2.

    Args:
        cell: cell pressure, one number or (n,). [kPa]
        pore: pore pressure. [kPa]
        deviator: q. [kPa]

    Returns:
        s′. [kPa]

    Source:
        Lambe and Whitman (1969), Soil Mechanics (their p̄); BS 1377-8.

    Example:
        >>> centre_effective_stress(150.0, 80.0, 192.0)
        166.0
    """
    return cell + deviator / 2.0 - pore


def stress_ratio(deviator: Values, mean_effective: Values) -> Values:
    """Stress ratio η = q/p′; M at the critical state.

    Args:
        deviator: q, one number or (n,). [kPa]
        mean_effective: p′. [kPa]

    Returns:
        η; in a column NaN where p′ is below `LEAST_EFFECTIVE_KPA`. [-]

    Raises:
        ReductionError: a single p′ below `LEAST_EFFECTIVE_KPA`: nothing to divide by.

    Source:
        Schofield and Wroth (1968), Critical State Soil Mechanics.

    Example:
        >>> round(stress_ratio(86.0, 96.667), 3)
        0.89
    """
    return deviator / between(
        "mean effective stress", mean_effective, LEAST_EFFECTIVE_KPA, float("inf"), "kPa"
    )


def principal_stress_ratio(major_effective: Values, minor_effective: Values) -> Values:
    """Ratio of the effective principal stresses σ′1/σ′3.

    Args:
        major_effective: σ′1, one number or (n,). [kPa]
        minor_effective: σ′3. [kPa]

    Returns:
        The ratio; in a column NaN where σ′3 is below `LEAST_EFFECTIVE_KPA`. [-]

    Raises:
        ReductionError: a single σ′3 below `LEAST_EFFECTIVE_KPA`: nothing to divide by.

    Source:
        ASTM D4767; BS 1377-8.

    Example:
        >>> principal_stress_ratio(300.0, 100.0)
        3.0
    """
    return major_effective / between(
        "minor effective stress", minor_effective, LEAST_EFFECTIVE_KPA, float("inf"), "kPa"
    )


def a_parameter(
    delta_pore: Values, delta_deviator: Values, delta_cell: float = 0.0, b: float = 1.0
) -> Values:
    """Skempton's pore pressure coefficient A, from Δu = B [Δσ3 + A (Δσ1 − Δσ3)].

    A = (Δu/B − Δσ3)/Δq

    Args:
        delta_pore: change of pore pressure since the begin of shear, one number or (n,). [kPa]
        delta_deviator: change of q since then. [kPa]
        delta_cell: change of cell pressure since then, normally none. [kPa]
        b: B of the specimen. [-]

    Returns:
        A; in a column NaN where Δq is below `LEAST_EFFECTIVE_KPA`. [-]

    Raises:
        ReductionError: a single Δq below `LEAST_EFFECTIVE_KPA`, or B not between 0 and 1.1.

    Source:
        Skempton (1954), The pore-pressure coefficients A and B, Géotechnique 4(4), 143-147.

    Example:
        >>> a_parameter(50.0, 80.0)
        0.625
    """
    b = between("B", b, 0.0, 1.1, "")
    change = between("change of deviator", delta_deviator, LEAST_EFFECTIVE_KPA, float("inf"), "kPa")
    return (delta_pore / b - delta_cell) / change
