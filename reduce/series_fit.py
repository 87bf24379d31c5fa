"""Least squares on the exact series for the drainage: cv from all readings at once.

    change = v0 + v100 U(t) + C U(t) log10(1 + t/t100)

v0 is what moved as drainage opened (bedding, air), v100 primary consolidation, C secondary
compression per log cycle of time, never below 0; without it cv would come out up to a fifth too
low. For every cv the other three follow from linear least squares, so only cv is searched.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import Column
from reduce.consolidation_curve import ConsolidationCurve, consolidation_curve
from reduce.drainage import (
    SECONDS_PER_YEAR,
    degree_of_factor,
    factor_for,
    lambda_factor,
    slenderness_of,
)
from reduce.errors import UntoldError

_LN_FACTOR = np.linspace(math.log(1e-9), math.log(1e4), 800)
_LAST_FACTORS = np.geomspace(0.02, 2000.0, 64)
"""t of the last reading over t100, of every cv that is tried at first."""
_UNTOLD_ABOVE = 0.5
"""Relative standard uncertainty of cv above which it is not told. [-]"""
_DRAWN = 80


@dataclass(frozen=True, slots=True)
class SeriesFit:
    """The curve of theory that fits best; None where nothing could be told."""

    drainage: str
    """The surfaces assumed to drain."""
    cv_m2_per_year: float | None = None
    start: float | None = None
    """v0: moved as drainage opened. [as given]"""
    primary: float | None = None
    """v100: primary consolidation. [as given]"""
    creep: float | None = None
    """Secondary compression per log cycle of time. [as given]"""
    t50_min: float | None = None
    """Of the primary curve."""
    t90_min: float | None = None
    """Of the primary curve."""
    t100_min: float | None = None
    """Where the tangent at the start, on √t, meets start + primary."""
    standard_uncertainty: Mapping[str, float] = field(default_factory=dict)
    """By field, in its unit: from the covariance, with the scatter that the residuals show. It
    knows nothing of soil that does not follow the theory."""
    misfit: float | None = None
    """Root mean square of the residuals. [as given]"""
    curve: tuple[tuple[float, float], ...] = ()
    """(min, change) of the fit, from the first reading to the last."""
    why: str | None = None
    """In words: why nothing could be told."""


@lru_cache(maxsize=64)
def _table(drainage: str, slenderness: float) -> Column:
    """U over `_LN_FACTOR`, exact to 1e-4: enough for a first guess."""
    return degree_of_factor(drainage, np.exp(_LN_FACTOR), slenderness)


@dataclass(frozen=True, slots=True, eq=False)
class _Model:
    """The curve as a function of ln(cv/D² · 1 min)."""

    drainage: str
    slenderness: float
    times: Column
    change: Column

    @property
    def f100(self) -> float:
        """cv t100 / D²."""
        return math.pi / lambda_factor(self.drainage, self.slenderness)

    def shapes(self, ln_rate: float, times: Column | None = None) -> Column:
        """(n, 3): what v0, v100 and the creep are multiplied by."""
        factor = (self.times if times is None else times) * math.exp(ln_rate)
        degree = degree_of_factor(self.drainage, factor, self.slenderness)
        return np.stack(
            [np.ones_like(factor), degree, degree * np.log10(1.0 + factor / self.f100)], axis=1
        )

    def solve(self, ln_rate: float) -> tuple[Column, float]:
        """v0, v100, creep ≥ 0 and the sum of squares for one cv."""
        shapes = self.shapes(ln_rate)
        found = _least_squares(shapes, self.change)
        if found[2] < 0.0:
            found = np.append(_least_squares(shapes[:, :2], self.change), 0.0)
        rest = self.change - shapes @ found
        return found, float(rest @ rest)

    def first_guess(self) -> tuple[float, float]:
        """Bounds around the best of a grid of cv."""
        ln_rates = np.log(_LAST_FACTORS * self.f100 / self.times[-1])
        ln_factor = ln_rates[:, None] + np.log(self.times)
        degree = np.interp(ln_factor, _LN_FACTOR, _table(self.drainage, self.slenderness))
        cycles = np.log10(1.0 + np.exp(ln_factor) / self.f100)
        shapes = np.stack([np.ones_like(degree), degree, degree * cycles], axis=-1)
        full, full_squares = _all_least_squares(shapes, self.change)
        plain, plain_squares = _all_least_squares(shapes[..., :2], self.change)
        squares = np.where(full[:, 2] < 0.0, plain_squares, full_squares)
        v100 = np.where(full[:, 2] < 0.0, plain[:, 1], full[:, 1])
        squares = np.where(v100 > 0.0, squares, math.inf)
        best = int(squares.argmin())
        if not math.isfinite(squares[best]) or best in {0, len(squares) - 1}:
            raise UntoldError(
                "no curve of theory fits: the readings lie too early or too late in consolidation "
                "to tell one cv from another"
            )
        return float(ln_rates[best - 1]), float(ln_rates[best + 1])


def _least_squares(shapes: Column, change: Column) -> Column:
    return np.asarray(np.linalg.lstsq(shapes, change, rcond=None)[0], dtype=np.float64)


def _all_least_squares(shapes: Column, change: Column) -> tuple[Column, Column]:
    """The same for a stack of shapes, by the normal equations: enough to compare."""
    turned = shapes.transpose(0, 2, 1)
    normal = turned @ shapes + 1e-12 * len(change) * np.eye(shapes.shape[-1])
    found = np.linalg.solve(normal, (turned @ change)[..., None])
    rest = change - (shapes @ found)[..., 0]
    squares: Column = (rest**2).sum(axis=1)
    return np.asarray(found[..., 0], dtype=np.float64), squares


def _covariance(model: _Model, ln_rate: float, found: Column, squares: float) -> Column:
    """Of ln cv, v0, v100 and the creep, which counts as unknown also where it came out as 0."""
    step = 1e-4
    shapes = model.shapes(ln_rate)
    slope = (model.shapes(ln_rate + step) - model.shapes(ln_rate - step)) @ found / (2 * step)
    jacobian = np.column_stack([slope, shapes])
    free = len(model.times) - jacobian.shape[1]
    # By singular values: a variance so found is never below 0, however alike the columns are.
    _, sizes, turned = np.linalg.svd(jacobian, full_matrices=False)
    if sizes[-1] <= 1e-9 * sizes[0]:
        raise UntoldError("the readings do not tell cv from the change still to come")
    root = turned.T / sizes
    return np.asarray(root @ root.T * (squares / max(free, 1)), dtype=np.float64)


def fit_series(
    times_min: ArrayLike,
    change: ArrayLike,
    *,
    drainage: str,
    height_mm: float,
    diameter_mm: float,
) -> SeriesFit:
    """cv, primary and secondary change by least squares on the exact series for the drainage.

    Readings closer together than a fortieth of a tenfold time are averaged first, so that steady
    rows through a night do not drown the first minutes. The reading at 0 min is no part of the fit.

    Args:
        times_min: (n,) since drainage opened; rows with NaN are left out. [min]
        change: (n,) positive when the specimen shrinks. [ml or mm]
        drainage: one of `reduce.drainage.DRAINAGES`.
        height_mm: of the specimen. [mm]
        diameter_mm: of the specimen. [mm]

    Returns:
        The fit, or `why` not.

    Raises:
        ReductionError: columns of unequal length, time that runs backwards, an unknown drainage or
            a dimension that is not above zero.

    Source:
        The series: see `reduce.drainage`. Secondary compression from t100 on with log time is
        common practice, no source; U times it lets it begin softly.

    Example:
        >>> from reduce.drainage import degree
        >>> t = [0.25, 1, 2.25, 4, 9, 16, 25, 36, 49, 64, 100, 200, 400]
        >>> out = 0.2 + 4 * degree("radial + both ends", [60 * m for m in t], cv_m2_year=3,
        ...                        height_mm=76, diameter_mm=38)
        >>> fit = fit_series(t, out, drainage="radial + both ends", height_mm=76, diameter_mm=38)
        >>> round(fit.cv_m2_per_year, 4), round(fit.start, 4), round(fit.primary, 4)
        (3.0, 0.2, 4.0)
    """
    slenderness = slenderness_of(drainage, height_mm, diameter_mm)
    try:
        curve = consolidation_curve(times_min, change)
        return _fit(curve, drainage, slenderness, diameter_mm)
    except UntoldError as untold:
        return SeriesFit(drainage, why=str(untold))


def _fit(
    curve: ConsolidationCurve, drainage: str, slenderness: float, diameter_mm: float
) -> SeriesFit:
    from scipy.optimize import minimize_scalar  # noqa: PLC0415  (heavy: only where it is needed)

    # Scaled, so that no tolerance depends on the unit.
    origin, scale = float(curve.change[0]), curve.reach
    model = _Model(drainage, slenderness, curve.times, (curve.change - origin) / scale)
    bounds = model.first_guess()
    search = minimize_scalar(
        lambda ln_rate: model.solve(ln_rate)[1], bounds=bounds, method="bounded",
        options={"xatol": 1e-7},
    )  # fmt: skip
    ln_rate = float(search.x)
    found, squares = model.solve(ln_rate)
    if found[1] <= 0.0:
        raise UntoldError("no curve of theory with a primary consolidation fits")
    deviation = np.sqrt(np.diag(_covariance(model, ln_rate, found, squares)))
    if not deviation[0] < _UNTOLD_ABOVE:
        end = float(degree_of_factor(drainage, curve.times[-1] * math.exp(ln_rate), slenderness))
        raise UntoldError(
            f"the best curve of theory ends at {100 * end:.0f} % of primary consolidation with the "
            f"last reading; its cv is uncertain by {100 * deviation[0]:.0f} %"
        )
    rate = math.exp(ln_rate)  # cv/D² per min
    cv = rate * diameter_mm**2 / 60.0 * SECONDS_PER_YEAR / 1e6
    times = {
        "t50_min": factor_for(drainage, 0.5, slenderness) / rate,
        "t90_min": factor_for(drainage, 0.9, slenderness) / rate,
        "t100_min": model.f100 / rate,
    }
    uncertain = {name: value * float(deviation[0]) for name, value in times.items()}
    uncertain["cv_m2_per_year"] = cv * float(deviation[0])
    for name, value in zip(("start", "primary", "creep"), deviation[1:], strict=True):
        uncertain[name] = scale * float(value)
    drawn = np.geomspace(curve.times[0], curve.times[-1], _DRAWN)
    values = origin + scale * (model.shapes(ln_rate, drawn) @ found)
    return SeriesFit(
        drainage=drainage,
        cv_m2_per_year=cv,
        start=origin + scale * float(found[0]),
        primary=scale * float(found[1]),
        creep=scale * float(found[2]),
        t50_min=times["t50_min"],
        t90_min=times["t90_min"],
        t100_min=times["t100_min"],
        standard_uncertainty=uncertain,
        misfit=scale * math.sqrt(squares / len(curve.times)),
        curve=tuple(zip(drawn.tolist(), values.tolist(), strict=True)),
    )
