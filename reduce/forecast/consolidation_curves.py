"""The curves that a consolidating specimen may follow: drainage theory, and smooth ways off it.

    volume out = v0 + v100 (U + c G),   U = theory at the time t50 τ/τ(t50)
    ln τ = 2 ln(√(t/t50 + ρ²) − ρ) + κ ½ tanh(ln(t/t50) / 1.2)

Theory is the exact series for the drainage. ρ is what stones, filter paper and slow valves keep
back of √t; κ makes the specimen consolidate faster late than early, or slower, as cv changes with
stress. Whatever they are, U is ½ at t50. c is secondary compression per log cycle of time over
v100, by one of three laws G = Uᵖ log10(1 + k t/t100): begun early, with the stress, or late. t100
is that of theory with the same t50.

Source:
    Terzaghi's and Carrillo's series as in `reduce.drainage`; creep with C_α / C_c near 0.04 after
    Mesri (from memory). The ways off theory and their chances are common practice, no source:
    smooth, general, and about as large as specimens are known to show.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from reduce.drainage import (
    SECONDS_PER_YEAR,
    degree_at_far_point_of_factor,
    degree_at_far_section_of_factor,
    degree_of_factor,
    factor_for,
    lambda_factor,
)
from reduce.forecast.outcome import Array

_LATE = np.linspace(-0.6, 0.6, 7)
_LATE_CHANCE = np.exp(-0.5 * (_LATE / 0.25) ** 2)
_LOST = np.array([0.0, 0.08, 0.2])
_LOST_CHANCE = np.array([0.4, 0.35, 0.25])
_BEND = 1.2
LAWS = ((0.3, 25.0), (1.0, 1.0), (5.0, 1.0))
"""p and k of each law of creep. [-]"""
_RATES, _RATE_CHANCE = (0.03, 0.08, 0.16, 0.32), (0.30, 0.25, 0.12, 0.05)
LAW_OF = np.array([0, *(law for law in range(len(LAWS)) for _ in _RATES)])
"""(c,) which law a creep goes by."""
CREEP = np.array([0.0, *_RATES * len(LAWS)])
"""(c,) secondary compression per log cycle of time over v100. [-]"""
_CREEP_CHANCE = np.array([0.2, *_RATE_CHANCE * len(LAWS)])
LOG_CREEP_CHANCE = np.log(_CREEP_CHANCE / _CREEP_CHANCE.sum())
"""(c,)"""
LOG_PLACE_CHANCE = np.log([0.25, 0.5, 0.25])

LN_TIME = np.linspace(-12.0, 7.0, 381)
"""(x,) the grid of ln(t/t50) on which the curves are kept; 2e-4 exact. [-]"""
_STEP = float(LN_TIME[1] - LN_TIME[0])


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """All curves of one drainage and H/D, over `LN_TIME`."""

    t50_factor: float
    """cv t50 / D². [-]"""
    ln_t100: float
    """ln(t100/t50). [-]"""
    shapes: Array
    """(s, 1 + laws, x) U, then G of each law, for each κ and ρ. [-]"""
    bases: Array
    """(s, place, x) dissipation that the pore pressure gauge reads: in its place between the
    average and the farthest section, there, between there and the farthest point. [-]"""
    log_chance: Array
    """(s,) of the shapes."""
    plain: list[int]
    """Which shape is theory itself."""
    sample: list[int]
    """A few shapes that lie far apart."""

    def volume(self, shape: int, creep: int) -> Array:
        """(x,) volume out over v100. [-]"""
        mine = self.shapes[shape]
        found: Array = mine[0] + CREEP[creep] * mine[1 + LAW_OF[creep]]
        return found

    def degree_reached(self, U: float) -> Array:
        """(s,) ln(t/t50) at which the average degree is U. [-]"""
        return np.array([np.interp(U, row, LN_TIME) for row in self.shapes[:, 0]])

    def base_reached(self, U: float) -> Array:
        """(s, place) ln(t/t50) at which the gauge reads U. [-]"""
        return np.array([[np.interp(U, row, LN_TIME) for row in rows] for rows in self.bases])

    def ln_cv(self, ln_t50: Array, diameter_mm: float) -> Array:
        """ln of cv [m²/year] by t50 [s]."""
        scale = self.t50_factor * diameter_mm**2 * SECONDS_PER_YEAR / 1e6
        found: Array = math.log(scale) - ln_t50
        return found


def _number(late: int, lost: int) -> int:
    """Which shape has this κ and this ρ."""
    return late * len(_LOST) + lost


@lru_cache(maxsize=64)
def family(drainage: str, slenderness: float) -> Family:
    """The curves for a drainage of `reduce.drainage.DRAINAGES` and H/D."""
    t50 = factor_for(drainage, 0.5, slenderness)
    ln_t100 = math.log(math.pi / lambda_factor(drainage, slenderness) / t50)
    late, lost = (one.ravel()[:, None] for one in np.meshgrid(_LATE, _LOST, indexing="ij"))
    roots = np.sqrt(np.exp(LN_TIME) + lost**2) - lost
    roots = roots / (np.sqrt(1 + lost**2) - lost)
    ln_tau = 2 * np.log(roots) + late * 0.5 * np.tanh(LN_TIME / _BEND)
    fine = np.linspace(-24.0, 9.0, 3300)
    theory = [
        curve(drainage, t50 * np.exp(fine), slenderness)
        for curve in (
            degree_of_factor,
            degree_at_far_section_of_factor,
            degree_at_far_point_of_factor,
        )
    ]
    U, section, point = (np.interp(ln_tau, fine, values) for values in theory)
    times = np.exp(LN_TIME - ln_t100)
    laws = [U**p * np.log10(1 + k * times) for p, k in LAWS]
    chance = np.outer(_LATE_CHANCE, _LOST_CHANCE).ravel()
    return Family(
        t50,
        ln_t100,
        np.stack([U, *laws], axis=1),
        np.stack([(U + section) / 2, section, (section + point) / 2], axis=1),
        np.log(chance / chance.sum()),
        [_number(3, 0)],
        [_number(1, 1), _number(3, 0), _number(3, 1), _number(3, 2), _number(5, 1)],
    )


def at(table: Array, ln_time: Array) -> Array:
    """Values of a table (…, x) at ln(t/t50) of any shape: (…, *shape), linear between."""
    place = np.clip((ln_time - LN_TIME[0]) / _STEP, 0.0, len(LN_TIME) - 1.000001)
    low = place.astype(np.intp)
    part = place - low
    below = table[..., low]
    found: Array = below + part * (table[..., low + 1] - below)
    return found


def at_each(table: Array, rows: tuple[Array, ...], ln_time: Array) -> Array:
    """Values of n rows of a table, each at its own ln(t/t50): (n, k), linear between.

    Args:
        table: (…, x).
        rows: an index (n,) for each axis but the last.
        ln_time: (n, k).
    """
    place = np.clip((ln_time - LN_TIME[0]) / _STEP, 0.0, len(LN_TIME) - 1.000001)
    low = place.astype(np.intp)
    mine = tuple(row[:, None] for row in rows)
    below = table[(*mine, low)]
    found: Array = below + (place - low) * (table[(*mine, low + 1)] - below)
    return found


def slope(table: Array, ln_time: Array) -> Array:
    """d/d ln t of a row (x,) at ln(t/t50), for how much a shift in time matters."""
    return (at(table, ln_time + 0.05) - at(table, ln_time - 0.05)) / 0.1
