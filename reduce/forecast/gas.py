"""B against back pressure: what gas in the pores leaves of it, and what the checks say of the gas.

A rise of cell pressure Δσ at back pressure p squeezes skeleton, gas, water and lines alike, so that

    B (1 + c) + B m(p) / (pa + p + B Δσ) = 1,   m = a pa (1 − (p/ps)^g) / (pa + p), 0 beyond ps

a is the share of gas at atmospheric pressure times the stiffness of the skeleton, k = porosity over
its compressibility; ps the back pressure at which the last gas dissolves: pa (1 − S0)(1 − H)/H at
rest, more where gas has had no time to dissolve. g is 1 for gas at rest; 2 for gas that dissolves
slowly, as both its excess pressure and the time it had grow with p. c is what stays without gas: k
times the compressibility of water, lines that swell, gas that dissolves during the check. The
checks so far tell them apart.

Source:
    Skempton (1954), Géotechnique 4(4), for B; Lowe & Johnson (1960) for the gas by Boyle and Henry,
    written here with the gas left over. B is the secant over Δσ, as it is measured.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.outcome import Array

_ATMOSPHERE_KPA = 101.325
_NOISE = 0.006  # of a B value: pressures to 0.2 kPa in 50 kPa, and what the formula leaves out
_NOISE_BELIEF = 4.0  # in checks: how firmly that is held against the scatter that is seen

# Median and deviation of the logarithm of each before any check; common practice, no source.
# a: 5 % of gas in a skeleton of 1,500 kPa; ps: 7 % of gas at rest, or less that dissolves slowly;
# c: from soft clay (0.0003) to a dense sand or a long line (0.1).
_PRIORS = ((math.log(75.0), 1.7), (math.log(350.0), 0.9), (math.log(0.005), 1.6))
_COARSE = tuple(
    np.linspace(m - w * s, m + w * s, n)
    for (m, s), w, n in zip(_PRIORS, (3.2, 3.0, 3.0), (19, 11, 9), strict=True)
)
_FINE = (17, 11, 11)
_GROWTH = np.array([1.0, 2.0])
_BLUR = 3.0  # of the noise on the coarse grid, so that no soil falls between its points


def b_of_back_pressure(back_pressures_kPa: Array, soils: Array, rise_kPa: float) -> Array:
    """B of every soil at every back pressure.

    Args:
        back_pressures_kPa: (m,) gauge. [kPa]
        soils: (4, n) logarithms of a [kPa], ps [kPa] and c [-]; g [-].
        rise_kPa: of cell pressure in a check. [kPa]

    Returns:
        (n, m) B. [-]
    """
    a, last, rest = np.exp(soils[:3])[:, :, None]
    absolute = _ATMOSPHERE_KPA + back_pressures_kPa
    share = back_pressures_kPa / last
    left = np.maximum(1 - np.where(soils[3][:, None] == 1.0, share, share**2), 0.0)
    gas = a * (_ATMOSPHERE_KPA * left / absolute)
    square = (1 + rest) * rise_kPa
    linear = (1 + rest) * absolute + gas - rise_kPa
    found: Array = 2 * absolute / (linear + np.sqrt(linear**2 + 4 * square * absolute))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Soils:
    """The soils that could be in the cell, each with its weight."""

    weights: Array
    """(n,) their sum is 1. [-]"""
    misfit: float
    """Of the best of them: root mean square of the residuals of B, in its usual noise. [-]"""
    parameters: Array
    """(4, n) as in `b_of_back_pressure`."""
    rise_kPa: float

    def b_at(self, back_pressures_kPa: Array) -> Array:
        """(n, m) B of each soil at each back pressure. [-]"""
        return b_of_back_pressure(back_pressures_kPa, self.parameters, self.rise_kPa)


def _grid(axes: tuple[Array, ...]) -> Array:
    return np.stack([g.ravel() for g in np.meshgrid(*axes, _GROWTH, indexing="ij")])


def _score(
    soils: Array, pressures: Array, b: Array, rise_kPa: float, blur: float
) -> tuple[Array, Array]:
    """Logarithm of prior times likelihood (Student's: the noise is not known); sum of squares."""
    prior = np.zeros(soils.shape[1])
    for values, (middle, deviation) in zip(soils[:3], _PRIORS, strict=True):
        prior -= 0.5 * ((values - middle) / deviation) ** 2
    squares = (((b_of_back_pressure(pressures, soils, rise_kPa) - b) / _NOISE) ** 2).sum(axis=1)
    belief = 0.5 * (_NOISE_BELIEF + len(b))
    return prior - belief * np.log1p(squares / (_NOISE_BELIEF * blur**2)), squares


def likely_soils(back_pressures_kPa: Array, b_values: Array, rise_kPa: float) -> Soils:
    """Weigh soils by how well they explain the checks, on a coarse and then a fitting grid."""
    shape = (*(len(axis) for axis in _COARSE), len(_GROWTH))
    score = _score(_grid(_COARSE), back_pressures_kPa, b_values, rise_kPa, _BLUR)[0].reshape(shape)
    axes = []
    for dimension, (axis, count) in enumerate(zip(_COARSE, _FINE, strict=True)):
        others = tuple(d for d in range(4) if d != dimension)
        along = score.max(axis=others)
        likely = np.flatnonzero(along > along.max() - 4.5)
        low, high = max(likely[0] - 1, 0), min(likely[-1] + 1, len(axis) - 1)
        axes.append(np.linspace(axis[low], axis[high], count))
    soils = _grid(tuple(axes))
    fine, squares = _score(soils, back_pressures_kPa, b_values, rise_kPa, 1.0)
    weights = np.exp(fine - fine.max())
    keep = weights > 1e-3  # the rest weighs next to nothing together and costs time
    misfit = math.sqrt(float(squares.min()) / max(len(b_values), 1))
    return Soils(weights[keep] / weights[keep].sum(), misfit, soils[:, keep], rise_kPa)


_NORMAL_AT = np.linspace(-4.0, 4.0, 161)
_NORMAL = np.array([0.5 * (1 + math.erf(x / math.sqrt(2))) for x in _NORMAL_AT])


def chance_above(expected: Array, target: float) -> Array:
    """Chance that a measured B reaches the target where this one is expected. [-]"""
    return normal_below((expected - target) / _NOISE)


def normal_below(deviations: Array) -> Array:
    """Chance that a normal quantity lies below so many standard deviations. [-]"""
    chance: Array = np.interp(deviations, _NORMAL_AT, _NORMAL)
    return chance
