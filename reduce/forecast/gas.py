"""B against back pressure: gas in the pores that dissolves, and what the checks say of it.

Each part of the voids holds free gas N and dissolved gas D, both as volume at one atmosphere pa.
While back pressure p holds, gas dissolves towards what the water can take (Henry), with a time τ:

    g = N pa / (pa + p)        dD/dt = (H (1 − g) (pa + p)/pa − D) / τ = −dN/dt

A rise of cell pressure Δσ with drainage closed squeezes skeleton, gas, water and lines alike:

    s (Δσ − Δu) = g − g' + c s Δu,    B = Δu / Δσ,    1/B − 1 = (g − g') / (s Δu) + c

g' is what gas is left of it under pa + p + Δu once the check has settled, as it dissolves
meanwhile. N at the begin is 1 − S0, s the compressibility of the skeleton over the porosity, c what
gives way besides over s: water, lines. S0, s and τ are unknown; every combination is weighed by the
checks so far, in the order and after the waits in which they were made, so that a night at one
pressure counts. c follows from them by least squares, as 1/B is linear in it.

Source:
    Skempton (1954), Géotechnique 4(4), for B; Lowe & Johnson (1960) for saturation by back pressure
    with the laws of Boyle and Henry, here with a time. Henry's 0.02 is air in water at 20 °C. That
    gas dissolves at one rate, and the sizes of priors and noise, are common practice, no source.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.outcome import Array

_ATMOSPHERE_KPA = 101.325
_HENRY = 0.02
_HOUR_S = 3600.0
_NOISE = 0.010  # of a B value: pressures to 0.2 kPa in 50 kPa, and what the model leaves out
_AHEAD = 0.015  # the same of a check to come: the model leaves out more the further it goes
_NOISE_BELIEF = 5.0  # in checks: how firmly that is held against the scatter that is seen

_PRIORS = (
    (math.log(0.04), 0.9),  # 1 − S0: 1.3 … 13 % of gas
    (math.log(2.5e-4), 1.0),  # s: from dense sand and stiff clay to soft clay [1/kPa]
    (math.log(4.0), 1.4),  # τ [h]
)
"""Median and deviation of the logarithm of each before any check."""
_GIVES = 0.02  # c is expected to be: water in soft clay (0.002) to long lines (0.05)
_GRID = (19, 19, 11)
_WIDE = 2.6  # deviations that the grids reach to each side
_BLUR = 3.0  # of the noise on the coarse grid, so that no soil falls between its points
_KEPT = 1e-3  # of the greatest weight: the rest weighs little together and costs time
_SPREAD = ((-1.22, 0.0, 1.22), (1 / 3, 1 / 3, 1 / 3))  # points of a normal distribution, weights


@dataclass(frozen=True, slots=True)
class Pores:
    """Gas in the voids of many possible soils at one moment; volumes over that of the voids."""

    free: Array
    """(n,) free gas, as volume at one atmosphere. [-]"""
    dissolved: Array
    """(n,) the same of the dissolved gas. [-]"""

    @classmethod
    def at_rest(cls, soils: Array) -> "Pores":
        """Under no pressure, before saturation."""
        free = np.exp(soils[0])
        return cls(free, _HENRY * (1.0 - free))

    def gas(self, back_kPa: float | Array) -> Array:
        """(n,) free gas at its pressure. [-]"""
        found: Array = self.free * (_ATMOSPHERE_KPA / (_ATMOSPHERE_KPA + back_kPa))
        return found

    def held(self, seconds: float, back_kPa: float | Array, soils: Array) -> "Pores":
        """After so long at a pressure of the pores."""
        room = _HENRY * (1.0 - self.gas(back_kPa)) * (1.0 + back_kPa / _ATMOSPHERE_KPA)
        part = -np.expm1(-seconds / _HOUR_S / np.exp(soils[2]))
        moved = np.minimum((room - self.dissolved) * part, self.free)
        return Pores(self.free - moved, self.dissolved + moved)

    def yields(self, then: "Pores", back_kPa: float, rise_kPa: float, soils: Array) -> Array:
        """(n,) what gas gives way for a rise of pore pressure, over what the skeleton does. [-]"""
        left = then.gas(back_kPa + rise_kPa)
        found: Array = (self.gas(back_kPa) - left) / (np.exp(soils[1]) * rise_kPa)
        return found

    def b(
        self, back_kPa: float, rise_kPa: float, seconds: float, soils: Array, c: Array
    ) -> tuple[Array, "Pores"]:
        """(n,) B of a check that settles in so long, and the pores then."""
        at_once = self._risen(self, back_kPa, rise_kPa, soils, c)
        then = self.held(seconds, back_kPa + at_once, soils)
        return self._risen(then, back_kPa, rise_kPa, soils, c) / rise_kPa, then

    def _risen(
        self, then: "Pores", back_kPa: float, rise_kPa: float, soils: Array, c: Array
    ) -> Array:
        """(n,) the rise of pore pressure Δu that closes the balance. [kPa]"""
        skeleton = np.exp(soils[1])
        absolute = _ATMOSPHERE_KPA + back_kPa
        square = skeleton * (1.0 + c)
        level = skeleton * rise_kPa - self.gas(back_kPa)
        linear = square * absolute - level
        constant = level * absolute + then.free * _ATMOSPHERE_KPA
        found: Array = 2.0 * constant / (linear + np.sqrt(linear**2 + 4.0 * square * constant))
        return np.maximum(found, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Checked:
    """The checks that were made."""

    holds_s: tuple[float, ...]
    """How long back pressure had held before each. [s]"""
    pressures_kPa: tuple[float, ...]
    b: tuple[float, ...]
    settles_s: tuple[float, ...]
    """From the rise of cell pressure to the reading that gave B. [s]"""
    rise_kPa: float
    """Of cell pressure in a check."""


@dataclass(frozen=True, slots=True, eq=False)
class Soils:
    """The soils that could be in the cell, each with its weight."""

    weights: Array
    """(n,) their sum is 1. [-]"""
    misfit: float
    """Of the best of them: root mean square of the residuals of B, in its usual noise. [-]"""
    parameters: Array
    """(3, n) logarithms of 1 − S0 [-], s [1/kPa], τ [h]."""
    c: Array
    """(n,) what gives way besides skeleton and gas, over the skeleton. [-]"""
    pores: Pores
    """After the last check."""
    b_told: tuple[float, ...]
    """B of the checks so far as the soils let expect it. [-]"""
    rise_kPa: float

    def b_ahead(self, holds_s: Array, back_pressures_kPa: Array, settles_s: float) -> Array:
        """B of each soil at checks to come.

        Args:
            holds_s: (m,) how long each back pressure will have held. [s]
            back_pressures_kPa: (m,) one after the other. [kPa]
            settles_s: how long each check takes. [s]

        Returns:
            (n, m) B. [-]
        """
        pores, found = self.pores, np.empty((len(self.weights), len(holds_s)))
        for k, (held, back) in enumerate(zip(holds_s, back_pressures_kPa, strict=True)):
            pores = pores.held(float(held), float(back), self.parameters)
            found[:, k], pores = pores.b(
                float(back), self.rise_kPa, settles_s, self.parameters, self.c
            )
        return found


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """How well soils explain the checks."""

    score: Array
    """(n,) logarithm of prior times likelihood (Student's: the noise is not known)."""
    squares: Array
    """(n,) of the residuals of B, in its noise."""
    c: Array
    """(n,) of the best line."""
    doubt: float
    """Deviation of c. [-]"""
    yields: tuple[Array, ...]
    """(n,) of each check, see `Pores.yields`."""
    pores: Pores


def _fit(soils: Array, checked: Checked, blur: float) -> _Fit:
    prior = np.zeros(soils.shape[1])
    for values, (middle, deviation) in zip(soils, _PRIORS, strict=True):
        prior -= 0.5 * ((values - middle) / deviation) ** 2
    pores, yields = Pores.at_rest(soils), []
    for held, back, b, settles in zip(
        checked.holds_s, checked.pressures_kPa, checked.b, checked.settles_s, strict=True
    ):
        risen = max(b, 0.01) * checked.rise_kPa
        pores = pores.held(held, back, soils)
        then = pores.held(settles, back + risen, soils)
        yields.append(pores.yields(then, back, risen, soils))
        pores = then
    b = np.maximum(np.array(checked.b), 0.01)
    weight = (b**2 / _NOISE) ** 2  # 1/B has the noise of B over B²
    rest = (1.0 / b - 1.0) - np.column_stack(yields) if yields else np.empty((len(prior), 0))
    total = max(float(weight.sum()), 1e-12)
    c = np.maximum((rest @ weight - 1.0 / _GIVES) / total, 0.0)
    squares = ((rest - c[:, None]) ** 2) @ weight
    belief = 0.5 * (_NOISE_BELIEF + len(b))
    score = prior - c / _GIVES - belief * np.log1p(squares / (_NOISE_BELIEF * blur**2))
    return _Fit(score, squares, c, 1.0 / math.sqrt(total), tuple(yields), pores)


def _grid(axes: tuple[Array, ...]) -> Array:
    return np.stack([g.ravel() for g in np.meshgrid(*axes, indexing="ij")])


def likely_soils(checked: Checked) -> Soils:
    """Weigh soils by how well they explain the checks, on a coarse and then a fitting grid."""
    coarse = tuple(
        np.linspace(middle - _WIDE * deviation, middle + _WIDE * deviation, count)
        for (middle, deviation), count in zip(_PRIORS, _GRID, strict=True)
    )
    score = _fit(_grid(coarse), checked, _BLUR).score.reshape(_GRID)
    axes = []
    for dimension, axis in enumerate(coarse):
        along = score.max(axis=tuple(d for d in range(3) if d != dimension))
        likely = np.flatnonzero(along > along.max() - 4.5)
        low, high = max(likely[0] - 1, 0), min(likely[-1] + 1, len(axis) - 1)
        axes.append(np.linspace(axis[low], axis[high], len(axis)))
    soils = _grid(tuple(axes))
    fit = _fit(soils, checked, 1.0)
    weights = np.exp(fit.score - fit.score.max())
    keep = weights > _KEPT
    weights = weights[keep] / weights[keep].sum()
    told = tuple(float(weights @ (1.0 / (1.0 + (y + fit.c)[keep]))) for y in fit.yields)
    # c is known only so far, the less the fewer checks there are; without any it is exponential.
    spread = min(fit.doubt, _GIVES)
    shifts, shares = _SPREAD
    c = np.concatenate([np.maximum(fit.c[keep] + shift * spread, 0.0) for shift in shifts])
    if not checked.b:
        c = _GIVES * np.repeat(-np.log([5 / 6, 1 / 2, 1 / 6]), len(weights))
    return Soils(
        np.concatenate([share * weights for share in shares]),
        math.sqrt(float(fit.squares.min()) / max(len(checked.b), 1)),
        np.tile(soils[:, keep], len(shifts)),
        c,
        Pores(np.tile(fit.pores.free[keep], 3), np.tile(fit.pores.dissolved[keep], 3)),
        told,
        checked.rise_kPa,
    )


_NORMAL_AT = np.linspace(-4.0, 4.0, 161)
_NORMAL = np.array([0.5 * (1 + math.erf(x / math.sqrt(2))) for x in _NORMAL_AT])


def chance_above(expected: Array, target: float) -> Array:
    """Chance that a measured B reaches the target where this one is expected. [-]"""
    return normal_below((expected - target) / _AHEAD)


def normal_below(deviations: Array) -> Array:
    """Chance that a normal quantity lies below so many standard deviations. [-]"""
    chance: Array = np.interp(deviations, _NORMAL_AT, _NORMAL)
    return chance
