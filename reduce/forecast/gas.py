"""B against back pressure: what gas in the pores leaves of it, and what the checks say of the gas.

A rise of cell pressure Δσ at back pressure p squeezes skeleton, gas, water and lines alike, so that

    B (1 + c) + B m(p) / (pa + p + B Δσ) = 1,   m = a pa (1 − p/ps) / (pa + p), 0 beyond ps

a is the share of gas at atmospheric pressure times the stiffness of the skeleton, k = porosity over
its compressibility; ps the back pressure at which the last gas dissolves: pa (1 − S0)(1 − H)/H at
rest, more where gas has had no time to dissolve; c what stays without gas: k times the
compressibility of water, and lines that swell. The three are told apart by the checks so far.

Source:
    Skempton (1954), Géotechnique 4(4), for B; Lowe & Johnson (1960) for the gas by Boyle and Henry,
    written here with the gas left over. B is the secant over Δσ, as it is measured.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.outcome import Array

_ATMOSPHERE_KPA = 101.325
_NOISE = 0.01  # of a B value: pressures to 0.3 kPa in 50 kPa, and what the formula leaves out

# Median and deviation of the logarithm of each before any check; common practice, no source.
# a: 5 % of gas in a skeleton of 1,500 kPa; ps: 4 % of gas at rest, or less that dissolves slowly;
# c: from soft clay (0.0003) to a dense sand or a long line (0.1).
_PRIORS = ((math.log(75.0), 1.7), (math.log(250.0), 0.9), (math.log(0.005), 1.6))
_COARSE = tuple(
    np.linspace(m - w * s, m + w * s, n)
    for (m, s), w, n in zip(_PRIORS, (3.2, 3.0, 3.0), (23, 13, 11), strict=True)
)
_FINE = (21, 13, 13)
_BLUR = 3.0  # of the noise on the coarse grid, so that no soil falls between its points


def b_of_back_pressure(back_pressures_kPa: Array, soils: Array, rise_kPa: float) -> Array:
    """B of every soil at every back pressure.

    Args:
        back_pressures_kPa: (m,) gauge. [kPa]
        soils: (3, n) logarithms of a [kPa], ps [kPa] and c [-].
        rise_kPa: of cell pressure in a check. [kPa]

    Returns:
        (n, m) B. [-]
    """
    a, last, rest = np.exp(soils)[:, :, None]
    absolute = _ATMOSPHERE_KPA + back_pressures_kPa
    gas = a * (_ATMOSPHERE_KPA * np.maximum(1 - back_pressures_kPa / last, 0.0) / absolute)
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
    """(3, n) as in `b_of_back_pressure`."""
    rise_kPa: float

    def b_at(self, back_pressures_kPa: Array) -> Array:
        """(n, m) B of each soil at each back pressure. [-]"""
        return b_of_back_pressure(back_pressures_kPa, self.parameters, self.rise_kPa)


def _grid(axes: tuple[Array, ...]) -> Array:
    return np.stack([g.ravel() for g in np.meshgrid(*axes, indexing="ij")])


def _score(soils: Array, pressures: Array, b: Array, rise_kPa: float) -> tuple[Array, Array]:
    """Logarithms of prior and likelihood."""
    prior = np.zeros(soils.shape[1])
    for values, (middle, deviation) in zip(soils, _PRIORS, strict=True):
        prior -= 0.5 * ((values - middle) / deviation) ** 2
    off = (b_of_back_pressure(pressures, soils, rise_kPa) - b) / _NOISE
    return prior, -0.5 * (off**2).sum(axis=1)


def likely_soils(back_pressures_kPa: Array, b_values: Array, rise_kPa: float) -> Soils:
    """Weigh soils by how well they explain the checks, on a coarse and then a fitting grid."""
    shape = tuple(len(axis) for axis in _COARSE)
    prior, fit = _score(_grid(_COARSE), back_pressures_kPa, b_values, rise_kPa)
    score = (prior + fit / _BLUR**2).reshape(shape)
    axes = []
    for dimension, (axis, count) in enumerate(zip(_COARSE, _FINE, strict=True)):
        others = tuple(d for d in range(3) if d != dimension)
        along = score.max(axis=others)
        likely = np.flatnonzero(along > along.max() - 4.5)
        low, high = max(likely[0] - 1, 0), min(likely[-1] + 1, len(axis) - 1)
        axes.append(np.linspace(axis[low], axis[high], count))
    soils = _grid(tuple(axes))
    prior, fit = _score(soils, back_pressures_kPa, b_values, rise_kPa)
    weights = np.exp(prior + fit - (prior + fit).max())
    keep = weights > 1e-3  # the rest weighs next to nothing together and costs time
    misfit = math.sqrt(-2 * float(fit.max()) / max(len(b_values), 1))
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
