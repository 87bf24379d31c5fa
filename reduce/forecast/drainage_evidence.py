"""What was read while a specimen drains, and how well curves explain it.

A score is the logarithm of a weight: Student's form of the squares that a curve leaves, within the
covariance of the readings, as no noise is known well. v100 follows in closed form for each curve.
"""

import math
from dataclasses import dataclass

import numpy as np

from reduce.forecast.consolidation_curves import CREEP, LAW_OF, LAWS, Family, at, family
from reduce.forecast.cv_prior import CvPrior
from reduce.forecast.outcome import Array
from reduce.forecast.reading_doubts import Means, given_back, pore_doubt, volume_doubt

_V100_PRIOR = (0.028, 2.3)  # of the specimen's volume, and the factor of one deviation
_FREEDOM = 12.0


@dataclass(frozen=True, slots=True)
class Cylinder:
    """The specimen as it drains."""

    drainages: tuple[str, ...]
    """Those that are possible; one if it is known."""
    height_mm: float
    diameter_mm: float
    volume_ml: float

    @property
    def families(self) -> tuple[Family, ...]:
        """Its curves, for each possible drainage."""
        return tuple(family(name, self.height_mm / self.diameter_mm) for name in self.drainages)


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What was read."""

    volume: Means
    """Volume that left [ml]; may be empty."""
    pore: Means
    """Measured dissipation [-]; may be empty."""
    head_kPa: float
    """Pore pressure that dissipates."""
    opened_by_s: float
    """First reading after the zero reading: drainage was opened between them. [s]"""
    prior: CvPrior


@dataclass(frozen=True, slots=True, eq=False)
class Witness:
    """Readings made independent of each other, for one choice of slopes."""

    times: Array
    """(m,) [s]"""
    values: Array
    """(m,) without what is expected to come at once. [ml or -]"""
    whitening: Array
    """(m, m) A with A Aᵀ the inverse of the covariance."""
    doubt: Array
    """(m, m) the covariance."""
    slopes: Array
    """(m,) d/d ln t."""


def _independent(times: Array, values: Array, doubt: Array, slopes: Array) -> Witness:
    factor = np.linalg.cholesky(doubt)
    return Witness(times, values, np.linalg.inv(factor).T, doubt, slopes)


def witnesses(
    cylinder: Cylinder, evidence: Evidence, slopes: tuple[Array, Array], late_s: float
) -> tuple[Witness | None, Witness | None]:
    """Volume and pore pressure; None where nothing was read.

    Args:
        cylinder: the specimen.
        evidence: the readings.
        slopes: (m,) each, d/d ln t of a curve near them. [ml, -]
        late_s: deviation of the moment at which drainage was opened. [s]
    """
    volume, pore = evidence.volume, evidence.pore
    found: list[Witness | None] = [None, None]
    if len(volume.times):
        doubt = volume_doubt(volume, slopes[0], cylinder.volume_ml, late_s)
        values = volume.values - given_back(volume.times)
        found[0] = _independent(volume.times, values, doubt, slopes[0])
    if len(pore.times):
        doubt = pore_doubt(pore, slopes[1], evidence.head_kPa, late_s)
        found[1] = _independent(pore.times, pore.values, doubt, slopes[1])
    return found[0], found[1]


def since_opened(times: Array, opened: Array) -> Array:
    """(opened, m) ln of the time since; a reading before the opening counts as just after it."""
    found: Array = np.log(np.maximum(times - opened[:, None], 0.02 * times + 1e-9))
    return found


def ln_time(times: Array, opened: Array, ln_t50: Array) -> Array:
    """(t50, opened, m) ln(t/t50)."""
    found: Array = since_opened(times, opened) - ln_t50[:, None, None]
    return found


def _student(squares: Array, count: int) -> Array:
    found: Array = -0.5 * (_FREEDOM + count) * np.log1p(squares / _FREEDOM)
    return found


def volume_score(
    shapes: Array, ln_time: Array, seen: Witness, volume_ml: float
) -> tuple[Array, Array]:
    """Score and v100 of each (opened, t50, shape, creep)."""
    curves = at(shapes, ln_time) @ seen.whitening  # (s, 1 + laws, opened, t50, m)
    values = seen.values @ seen.whitening
    U, laws = curves[:, 0], curves[:, 1:]
    dots = [np.einsum("s...m,s...m->s...", U, U)]
    dots += [np.einsum("s...m,s...m->s...", U, laws[:, i]) for i in range(len(LAWS))]
    squares = [np.einsum("s...m,s...m->s...", laws[:, i], laws[:, i]) for i in range(len(LAWS))]
    along = curves @ values
    cross, square, law = np.stack(dots[1:], -1), np.stack(squares, -1), LAW_OF
    size = dots[0][..., None] + 2 * CREEP * cross[..., law] + CREEP**2 * square[..., law]
    reach = along[:, 0][..., None] + CREEP * np.moveaxis(along[:, 1:], 1, -1)[..., law]
    size = np.maximum(size, 1e-30)
    deviation = 1 / np.sqrt(size)
    v100 = np.maximum(reach / size, 0.3 * deviation)
    rest = np.maximum(values @ values - 2 * reach * v100 + size * v100**2, 0.0)
    expected, spread = math.log(_V100_PRIOR[0] * volume_ml), math.log(_V100_PRIOR[1])
    score = _student(rest, len(values)) - 0.5 * ((np.log(v100) - expected) / spread) ** 2
    score -= 0.5 * np.log((v100 / deviation) ** 2 + 1 / spread**2)
    order = (1, 2, 0, 3)
    return score.transpose(order), v100.transpose(order)


def pore_score(bases: Array, ln_time: Array, seen: Witness) -> Array:
    """Score of each (opened, t50, shape, place)."""
    off = (seen.values - at(bases, ln_time)) @ seen.whitening
    return _student((off**2).sum(axis=-1), off.shape[-1]).transpose(2, 3, 0, 1)
