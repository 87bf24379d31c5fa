"""Drainage theory fitted to volume and pore pressure: every curve weighed, none taken for granted.

Each curve of `consolidation_curves`, for every t50 and every moment at which drainage may have been
opened, is weighed by how well it explains the readings (`drainage_evidence`) times what is expected
of cv, v100, shapes and creep. With few readings the expectation is all there is, and the answer
stays wide.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.drainage import DRAINAGES
from reduce.forecast.consolidation_curves import (
    CREEP,
    LAW_OF,
    LOG_CREEP_CHANCE,
    LOG_PLACE_CHANCE,
    Family,
    at_each,
    slope,
)
from reduce.forecast.drainage_evidence import (
    Cylinder,
    Evidence,
    Witness,
    ln_time,
    pore_score,
    since_opened,
    volume_score,
    witnesses,
)
from reduce.forecast.outcome import Array

POSSIBLE = DRAINAGES
"""All drainages, where the specimen's is not stated."""
_LN_T50 = (-8.0, 22.5)
_COARSE, _FEW, _FINE = 56, 14, 26  # of t50
_OPENED = np.array([1 / 6, 1 / 2, 5 / 6])
"""Of the time from the zero reading to the next: any moment of it is as likely. [-]"""
_DRAWN = 1000
_UNLIKELY = 10.0  # in ln of a weight


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Curves of one drainage, drawn evenly from all that explain the readings; arrays (n,)."""

    drainage: str
    family: Family
    ln_t50: Array
    """t50 since drainage was opened, in s."""
    ln_cv: Array
    """cv in m²/year."""
    opened_s: Array
    """When drainage was opened, since the zero reading. [s]"""
    shape: Array
    """Which shape of the family."""
    place: Array
    """Which place of the gauge."""
    creep: Array
    """Which creep."""
    v100: Array
    """Volume of primary consolidation; NaN where no volume was read. [ml]"""
    volume: Witness | None
    pore: Witness | None

    def ln_time(self, times_s: Array) -> Array:
        """(n, k) ln(t/t50) at times (k,) since the zero reading. [-]"""
        found: Array = since_opened(times_s, self.opened_s) - self.ln_t50[:, None]
        return found

    def rests(self) -> tuple[Array, Array]:
        """What each curve leaves of the volumes, `given_back` apart.

        Returns:
            (n, m) in ml, and (n,) their squares within the covariance, summed. [-]
        """
        seen = self.volume
        if seen is None:
            return np.zeros((len(self.v100), 0)), np.zeros(len(self.v100))
        shapes, ln_time = self.family.shapes, self.ln_time(seen.times)
        creeping = at_each(shapes, (self.shape, 1 + LAW_OF[self.creep]), ln_time)
        curves = at_each(shapes, (self.shape, np.zeros_like(self.shape)), ln_time)
        curves = curves + CREEP[self.creep][:, None] * creeping
        rest = seen.values - self.v100[:, None] * curves
        return rest, ((rest @ seen.whitening) ** 2).sum(axis=1)

    def degree_at(self, time_s: float) -> Array:
        """(n,) average degree of consolidation. [-]"""
        ln_time = self.ln_time(np.array([time_s]))
        return at_each(self.family.shapes[:, 0], (self.shape,), ln_time)[:, 0]


def _weigh(
    cylinder: Cylinder,
    mine: Family,
    evidence: Evidence,
    seen: tuple[Witness | None, Witness | None],
    ln_t50: Array,
    opened: Array,
    shapes: slice | list[int],
) -> tuple[Array, Array]:
    """Score of each (t50, opened, shape, place, creep), and v100 without the place."""
    volume, pore = seen
    prior = evidence.prior
    away = mine.ln_cv(ln_t50, cylinder.diameter_mm) - math.log(prior.median_m2_year)
    score = -0.5 * (away / math.log(prior.factor)).reshape(-1, 1, 1, 1, 1) ** 2
    score = score + mine.log_chance[shapes][:, None, None] + LOG_CREEP_CHANCE
    score = np.repeat(score, len(opened), axis=1)
    v100 = np.full((*score.shape[:3], len(CREEP)), np.nan)
    if volume is not None:
        places = ln_time(volume.times, opened, ln_t50)
        more, v100 = volume_score(mine.shapes[shapes], places, volume, cylinder.volume_ml)
        score = score + more[:, :, :, None, :]
    if pore is not None:
        places = ln_time(pore.times, opened, ln_t50)
        more = pore_score(mine.bases[shapes], places, pore) + LOG_PLACE_CHANCE
        score = score + more[..., None]
    return score, v100


def _slopes(
    mine: Family, evidence: Evidence, best: tuple[float, float, int, int, float]
) -> tuple[Array, Array]:
    """d/d ln t of volume and dissipation on the best curve so far."""
    ln_t50, opened, shape, place, v100 = best
    volume, pore = (
        since_opened(means.times, np.array([opened]))[0] - ln_t50
        for means in (evidence.volume, evidence.pore)
    )
    v100 = 0.0 if math.isnan(v100) else v100
    return v100 * slope(mine.shapes[shape, 0], volume), slope(mine.bases[shape, place], pore)


def _likely(ln_t50: Array, score: Array, count: int) -> Array:
    """A finer grid over what is not unlikely."""
    best = score.max(axis=(1, 2, 3, 4))
    kept = np.flatnonzero(best > best.max() - _UNLIKELY)
    step = ln_t50[1] - ln_t50[0]
    return np.linspace(ln_t50[kept[0]] - step, ln_t50[kept[-1]] + step, count)


def _best(
    ln_t50: Array, opened: Array, shapes: list[int], found: tuple[Array, Array]
) -> tuple[float, float, int, int, float]:
    t, o, s, p, c = np.unravel_index(int(np.argmax(found[0])), found[0].shape)
    v100 = float(found[1][t, o, s, c])
    return float(ln_t50[t]), float(opened[o]), shapes[s], int(p), v100


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """All curves of one drainage, weighed."""

    family: Family
    ln_t50: Array
    opened: Array
    score: Array
    v100: Array
    seen: tuple[Witness | None, Witness | None]

    @property
    def log_mass(self) -> float:
        """ln of the summed weights, each for its share of ln t50."""
        top = float(self.score.max())
        step = float(self.ln_t50[1] - self.ln_t50[0])
        return top + math.log(step * float(np.exp(self.score - top).sum()) / len(self.opened))


def _grid(cylinder: Cylinder, mine: Family, evidence: Evidence, many: bool) -> _Grid:
    """Weigh: a coarse grid of t50 by plain theory, one by a few shapes, then all."""
    by_s = evidence.opened_by_s
    volume, pore = evidence.volume, evidence.pore
    first = 0.3 * np.maximum(volume.values, 0.0), 0.3 * (1.02 - np.clip(pore.values, 0.0, 1.0))
    middle = np.array([by_s / 2])
    seen = witnesses(cylinder, evidence, first, 0.29 * by_s)
    ln_t50 = np.linspace(*_LN_T50, _COARSE)
    for shapes, count in ((mine.plain, _FEW), (mine.sample, _FINE if many else _FEW)):
        found = _weigh(cylinder, mine, evidence, seen, ln_t50, middle, shapes)
        slopes = _slopes(mine, evidence, _best(ln_t50, middle, shapes, found))
        seen = witnesses(cylinder, evidence, slopes, 0.29 * by_s)
        ln_t50 = _likely(ln_t50, found[0], count)
    opened = by_s * _OPENED if many else middle
    seen = witnesses(cylinder, evidence, slopes, by_s * (0.1 if many else 0.29))
    score, v100 = _weigh(cylinder, mine, evidence, seen, ln_t50, opened, slice(None))
    return _Grid(mine, ln_t50, opened, score, v100, seen)


def _drawn(cylinder: Cylinder, name: str, grid: _Grid, count: int) -> Posterior:
    """So many curves, spread evenly over the summed weight: t50 first."""
    sums = np.cumsum(np.exp(grid.score - grid.score.max()).ravel())
    even = (np.arange(count) + 0.5) / count * sums[-1]
    which = np.searchsorted(sums, even)
    t, o, s, p, c = np.unravel_index(which, grid.score.shape)
    ln_t50 = grid.ln_t50[t]
    return Posterior(
        name, grid.family, ln_t50, grid.family.ln_cv(ln_t50, cylinder.diameter_mm),
        grid.opened[o], s, p, c, grid.v100[t, o, s, c], *grid.seen,
    )  # fmt: skip


def weigh_curves(cylinder: Cylinder, evidence: Evidence) -> tuple[Posterior, ...]:
    """The curves that explain what was read, by drainage: the likeliest first.

    Each holds as many curves as its drainage is likely, so that all of them weigh the same.
    """
    pairs = list(zip(cylinder.drainages, cylinder.families, strict=True))
    grids = [(name, _grid(cylinder, one, evidence, len(pairs) == 1)) for name, one in pairs]
    top = max(grid.log_mass for _, grid in grids)
    shares = np.exp([grid.log_mass - top for _, grid in grids])
    numbers = np.rint(_DRAWN * shares / shares.sum()).astype(int)
    found = [
        _drawn(cylinder, name, grid, int(number))
        for (name, grid), number in zip(grids, numbers, strict=True)
        if number > 0
    ]
    return tuple(sorted(found, key=lambda one: -len(one.ln_t50)))
