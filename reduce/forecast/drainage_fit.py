"""Drainage theory fitted to volume and pore pressure: every cv weighed, none taken for granted.

    volume out = v0 + v100 U(t) + C U(t) log10(1 + t/t100)

For each cv on a grid the offset v0, the volume v100 of primary consolidation and the creep C follow
from linear least squares; without creep cv would come out up to a fifth too low. A cv's weight is
how well that curve fits (Student's form, as the noise is unknown; never less than 0.2 % of the flow
so far, as no soil follows theory closer) times broad priors on cv and v100. So early, while the
volume still goes with √t and cannot tell cv from v100, the answer stays wide.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from reduce.drainage import (
    DRAINAGES,
    SECONDS_PER_YEAR,
    degree_at_far_point_of_factor,
    degree_at_far_section_of_factor,
    degree_of_factor,
    factor_for,
    lambda_factor,
)
from reduce.forecast.endings import Ending
from reduce.forecast.outcome import Array

_LN_FACTOR = np.linspace(math.log(1e-9), math.log(1e3), 1200)
_SHARES = (0.0, 0.5, 1.0, 1.5, 2.0)
"""What the pore pressure gauge may read: 0 average, 1 farthest section, 2 farthest point."""
_MODEL = 0.002  # of the flow so far: how closely theory can be meant
_RESOLUTION = 3e-5  # of the specimen's volume: what a gauge resolves, common practice, no source
_CREEP = (
    0.08  # deviation of creep per log cycle of time, of the flow so far; C_α / C_c is about 0.04
)
_PORE_MODEL = 0.015  # the same of the measured dissipation
_CV_PRIOR = (3.0, 30.0)  # m²/year: from stiff clay to silt; sands lie at two deviations
_V100_PRIOR = (0.03, 3.0)  # of the specimen's volume, and the factor of one deviation


@lru_cache(maxsize=64)
def _shapes(drainage: str, slenderness: float) -> tuple[Array, ...]:
    """Dissipation over ln(cv t / D²) for each place of the gauge; 2e-5 exact."""
    factor = np.exp(_LN_FACTOR)
    places = [
        curve(drainage, factor, slenderness)
        for curve in (
            degree_of_factor,
            degree_at_far_section_of_factor,
            degree_at_far_point_of_factor,
        )
    ]
    return (
        places[0],
        (places[0] + places[1]) / 2,
        places[1],
        (places[1] + places[2]) / 2,
        places[2],
    )


@dataclass(frozen=True, slots=True)
class Cylinder:
    """The specimen as it drains."""

    drainages: tuple[str, ...]
    """Those that are possible; one if it is known."""
    height_mm: float
    diameter_mm: float
    volume_ml: float

    @property
    def slenderness(self) -> float:
        """H/D. [-]"""
        return self.height_mm / self.diameter_mm

    def per_second(self, ln_cv: Array) -> Array:
        """cv/D², for ln of cv in m²/year. [1/s]"""
        rate: Array = np.exp(ln_cv) * (1e6 / SECONDS_PER_YEAR / self.diameter_mm**2)
        return rate


@dataclass(frozen=True, slots=True, eq=False)
class Means:
    """Readings in equal parts of log time, so that a night of them is not heard as many."""

    times: Array
    """(m,) since drainage opened. [s]"""
    values: Array
    """(m,) volume out [ml] or dissipation [-]."""

    @property
    def flow(self) -> float:
        """What moved since the zero reading, which is 0."""
        return float(np.ptp(np.append(self.values, 0.0)))


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Possible curves, each with its weight."""

    weights: Array
    """(n,) their sum is 1. [-]"""
    ln_cv: Array
    """(n,) cv in m²/year."""
    drainage: tuple[str, ...]
    """(n,)"""
    share: Array
    """(n,) what the pore pressure gauge reads, as `_SHARES`. [-]"""
    v0: Array
    """(n,) offset at the start. [ml]"""
    v100: Array
    """(n,) volume of primary consolidation. [ml]"""
    creep: Array
    """(n,) secondary compression per log cycle of time. [ml]"""
    misfit: float
    """Root mean square residual of the best curve through the volumes. [ml]"""

    def degree_at(self, cylinder: Cylinder, time_s: float) -> Array:
        """(n,) average degree of consolidation of each curve. [-]"""
        ln_factor = np.log(cylinder.per_second(self.ln_cv) * max(time_s, 1e-6))
        found = np.zeros_like(self.ln_cv)
        for name in set(self.drainage):
            mine = np.array([one == name for one in self.drainage])
            shape = _shapes(name, cylinder.slenderness)[0]
            found[mine] = np.interp(ln_factor[mine], _LN_FACTOR, shape)
        return found

    def end_times(self, cylinder: Cylinder, end: Ending, gauged: bool) -> Array:
        """(n,) time since drainage opened at which each curve meets the criterion. [s]"""
        factors: dict[tuple[str, float], float] = {}
        for name, share in set(zip(self.drainage, self.share.tolist(), strict=True)):
            if end.kind == "log cycles":
                factor = math.pi / lambda_factor(name, cylinder.slenderness) * 10**end.value
            elif gauged:
                shape = _shapes(name, cylinder.slenderness)[_SHARES.index(share)]
                factor = math.exp(float(np.interp(end.value, shape, _LN_FACTOR)))
            else:
                factor = factor_for(name, end.value, cylinder.slenderness)
            factors[name, share] = factor
        own = [factors[pair] for pair in zip(self.drainage, self.share.tolist(), strict=True)]
        times: Array = np.array(own) / cylinder.per_second(self.ln_cv)
        return times


def floor_of(volume: Means, cylinder: Cylinder) -> float:
    """The least deviation from theory that is believed. [ml]"""
    return math.hypot(_MODEL * volume.flow, _RESOLUTION * cylinder.volume_ml)


def _lines(columns: Array, values: Array, pull: tuple[float, ...]) -> tuple[Array, Array]:
    """Least squares of values on columns (n, m, k), each coefficient pulled towards 0.

    Returns:
        (n, k) coefficients and (n,) sums of squares, what the pull costs included.
    """
    normal = columns.transpose(0, 2, 1) @ columns + np.diag(np.array(pull) + 1e-9)
    right = (columns.transpose(0, 2, 1) @ values)[..., None]
    found: Array = np.asarray(np.linalg.solve(normal, right)[..., 0], dtype=np.float64)
    rest = values - (columns @ found[..., None])[..., 0]
    squares: Array = (rest**2).sum(axis=1) + found**2 @ np.array(pull)
    return found, squares


def _volume_fit(
    degrees: Array, cycles: Array, volume: Means, cylinder: Cylinder
) -> tuple[Array, Array, Array, Array]:
    """v0, v100, creep and sum of squares of the best line for each cv; no creep backwards."""
    floor = floor_of(volume, cylinder)
    bedding = 0.05 * volume.flow + 5e-4 * cylinder.volume_ml
    pull = ((floor / bedding) ** 2, 0.0, (floor / (_CREEP * volume.flow + 1e-12)) ** 2)
    columns = np.stack([np.ones_like(degrees), degrees, degrees * cycles], axis=-1)
    found, squares = _lines(columns, volume.values, pull)
    plain, more = _lines(columns[..., :2], volume.values, pull[:2])
    back = found[:, 2] < 0
    v0, v100 = (np.where(back, plain[:, i], found[:, i]) for i in (0, 1))
    creep, squares = np.where(back, 0.0, found[:, 2]), np.where(back, more, squares)
    wrong = v100 <= 0
    mean = volume.values.mean()
    v0, v100, creep = np.where(wrong, mean, v0), np.where(wrong, 0, v100), np.where(wrong, 0, creep)
    level = ((volume.values - mean) ** 2).sum() + pull[0] * mean**2
    return v0, v100, creep, np.where(wrong, level, squares)


def _log_prior(values: Array, median: float, factor: float) -> Array:
    found: Array = (
        -0.5 * ((np.log(np.maximum(values, 1e-12)) - math.log(median)) / math.log(factor)) ** 2
    )
    return found


def _student(squares: Array, count: int, floor: float) -> Array:
    found: Array = -0.5 * count * np.log1p(squares / (count * floor**2))
    return found


def _places(cylinder: Cylinder, pore: Means) -> tuple[int, ...]:
    """Which of `_SHARES` are weighed; fewer where every drainage is, to keep a call short."""
    if len(pore.times) == 0:
        return (0,)
    return (0, 1, 2, 3, 4) if len(cylinder.drainages) == 1 else (0, 2, 4)


def _weigh(
    ln_cv: Array,
    cylinder: Cylinder,
    volume: Means,
    pore: Means,
    cv_prior: tuple[float, float],
) -> tuple[Array, Array, Array, Array, Array]:
    """Score, v0, v100, creep and sum of squares, each (drainage, share, cv)."""
    places = _places(cylinder, pore)
    shape = (len(cylinder.drainages), len(places), len(ln_cv))
    score = np.broadcast_to(_log_prior(np.exp(ln_cv), *cv_prior), shape).copy()
    v0, v100, creep, squares = (np.zeros(shape) for _ in range(4))
    per_second = cylinder.per_second(ln_cv)
    floor = floor_of(volume, cylinder)
    ln_volume = np.log(per_second[:, None] * volume.times)
    ln_pore = np.log(per_second[:, None] * pore.times)
    for d, name in enumerate(cylinder.drainages):
        curves = _shapes(name, cylinder.slenderness)
        if len(volume.times):
            degrees = np.interp(ln_volume, _LN_FACTOR, curves[0])
            t100 = math.pi / lambda_factor(name, cylinder.slenderness)
            cycles = np.log10(1 + np.exp(ln_volume) / t100)
            fitted = _volume_fit(degrees, cycles, volume, cylinder)
            v0[d], v100[d], creep[d], squares[d] = fitted
            score[d] += _student(squares[d], len(volume.times), floor)
            score[d] += _log_prior(v100[d], _V100_PRIOR[0] * cylinder.volume_ml, _V100_PRIOR[1])
        for s, place in enumerate(places if len(pore.times) else ()):
            off = np.interp(ln_pore, _LN_FACTOR, curves[place]) - pore.values
            score[d, s] += _student((off**2).sum(axis=1), len(pore.times), _PORE_MODEL)
    return score, v0, v100, creep, squares


def weigh_curves(
    cylinder: Cylinder,
    volume: Means,
    pore: Means,
    cv_prior_m2_year: tuple[float, float] | None = None,
) -> Posterior:
    """All curves that explain the readings, weighed: a coarse grid of cv, then a fine one.

    Args:
        cylinder: the specimen.
        volume: volume that left, by log time; may be empty.
        pore: measured dissipation, by log time; may be empty, not both.
        cv_prior_m2_year: median and factor of one deviation of cv. [m²/year, -]
    """
    prior = cv_prior_m2_year or _CV_PRIOR
    ln_cv = np.linspace(math.log(1e-4), math.log(1e7), 64)
    score = _weigh(ln_cv, cylinder, volume, pore, prior)[0].max(axis=(0, 1))
    likely = np.flatnonzero(score > score.max() - 12)
    step = ln_cv[1] - ln_cv[0]
    ln_cv = np.linspace(ln_cv[likely[0]] - step, ln_cv[likely[-1]] + step, 64)
    found, v0, v100, creep, squares = _weigh(ln_cv, cylinder, volume, pore, prior)
    weights = np.exp(found - found.max()).ravel()
    kept = np.flatnonzero(weights > 1e-5)
    d, s, c = np.unravel_index(kept, found.shape)
    return Posterior(
        weights=weights[kept] / weights[kept].sum(),
        ln_cv=ln_cv[c],
        drainage=tuple(cylinder.drainages[i] for i in d),
        share=np.array(_SHARES)[list(_places(cylinder, pore))][s],
        v0=v0.ravel()[kept],
        v100=v100.ravel()[kept],
        creep=creep.ravel()[kept],
        misfit=math.sqrt(float(squares.min()) / max(len(volume.times), 1)),
    )


POSSIBLE = DRAINAGES
"""All drainages, where the specimen's is not stated."""
