"""The two series that drainage of a cylinder is made of: through its ends, through its side.

Excess pore pressure that is uniform at first, as what is left of it. Below a small time factor the
series want many terms, so the solution for short times takes over; both agree where they meet.

Source:
    Carslaw & Jaeger (1959), Conduction of heat in solids, 3.3, 7.6, 13.3; Abramowitz & Stegun
    (1964), 9.5.12.
"""

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_J0_ZEROS_TABLE = (
    2.404825557695773,
    5.520078110286311,
    8.653727912911012,
    11.791534439014281,
    14.930917708487785,
    18.071063967910922,
    21.211636629879258,
    24.352471530749302,
    27.493479132040254,
    30.634606468431975,
)
_SHORT_ENDS = 0.04  # of cv t / Hd²; the first neglected term is 4 √T ierfc(1/√T) < 2e-13
_SHORT_RADIAL = 0.01  # of cv t / a²; the first term left out is of the order 1e-12
_TERMS = 16


def zeros_of_j0(count: int) -> Array:
    """The first zeros of the Bessel function J0.

    A table for ten of them, McMahon's expansion beyond, where it is right to 1e-12.

    j_n = β + 1/(8β) − 124/(3 (8β)³) + 120928/(15 (8β)⁵) − 401743168/(105 (8β)⁷), β = (n − ¼) π

    Source:
        Abramowitz & Stegun (1964), 9.5.12 and table 9.5.

    Example:
        >>> zeros_of_j0(2).round(4).tolist()
        [2.4048, 5.5201]
    """
    beta = (np.arange(1, count + 1) - 0.25) * np.pi
    eight = 8.0 * beta
    zeros: Array = (
        beta
        + 1 / eight
        - 124 / (3 * eight**3)
        + 120928 / (15 * eight**5)
        - 401743168 / (105 * eight**7)
    )
    known = min(count, len(_J0_ZEROS_TABLE))
    zeros[:known] = _J0_ZEROS_TABLE[:known]
    return zeros


def _j1(x: Array) -> Array:
    """J1 by the trapezoidal rule on its integral, which converges faster than any power."""
    theta = (np.arange(160) + 0.5) * (np.pi / 160)
    mean: Array = np.cos(theta - x[:, None] * np.sin(theta)).mean(axis=1)
    return mean


def _short_radial_coefficients() -> tuple[float, ...]:
    """U = Σ c_k T^((k+1)/2): the expansion of I1/I0 for large arguments, turned back to time.

    The ratio r(z) = Σ a_k z^−k solves r′ = 1 − r/z − r², which gives the a_k one by one.
    """
    ratio = [1.0]
    for k in range(1, 13):
        product = sum(ratio[i] * ratio[k - i] for i in range(1, k))
        ratio.append(((k - 2) * ratio[k - 1] - product) / 2.0)
    return tuple(2.0 * a / math.gamma((k + 3) / 2) for k, a in enumerate(ratio))


ROOTS_ENDS = (2 * np.arange(_TERMS) + 1) * (np.pi / 2)
ROOTS_RADIAL = zeros_of_j0(_TERMS)
_WEIGHT_ENDS, _WEIGHT_RADIAL = 2 / ROOTS_ENDS**2, 4 / ROOTS_RADIAL**2
_WEIGHT_MIDDLE, _WEIGHT_AXIS = (
    2 * np.sin(ROOTS_ENDS) / ROOTS_ENDS,
    2 / (ROOTS_RADIAL * _j1(ROOTS_RADIAL)),
)
_SHORT_RADIAL_SERIES = _short_radial_coefficients()


def excess_ends(factor: Array) -> Array:
    """1 − U of end drainage for cv t / Hd²."""
    series: Array = (
        np.exp(-np.maximum(factor, _SHORT_ENDS)[..., None] * ROOTS_ENDS**2) @ _WEIGHT_ENDS
    )
    return np.where(factor < _SHORT_ENDS, 1 - 2 * np.sqrt(factor / np.pi), series)


def excess_radial(factor: Array) -> Array:
    """1 − U of radial drainage for cv t / a²."""
    series: Array = np.exp(-np.maximum(factor, _SHORT_RADIAL)[..., None] * ROOTS_RADIAL**2) @ (
        _WEIGHT_RADIAL
    )
    root = np.sqrt(np.minimum(factor, _SHORT_RADIAL))
    short = np.zeros_like(root)
    for coefficient in reversed(_SHORT_RADIAL_SERIES):
        short = (short + coefficient) * root
    return np.where(factor < _SHORT_RADIAL, 1 - short, series)


def far_ends(factor: Array) -> Array:
    """What is left at the end or mid-height that lies farthest, for cv t / Hd²."""
    # Below 0.01 the farthest point has not felt the boundary: 2 erfc(1 / (2 √T)) < 4e-12.
    return np.where(factor < 0.01, 1.0, np.exp(-factor[..., None] * ROOTS_ENDS**2) @ _WEIGHT_MIDDLE)


def far_radial(factor: Array) -> Array:
    """What is left at the axis, for cv t / a²."""
    # The same, within 1e-9: the axis follows at about exp(−1/(4 T)).
    return np.where(factor < 0.01, 1.0, np.exp(-factor[..., None] * ROOTS_RADIAL**2) @ _WEIGHT_AXIS)
