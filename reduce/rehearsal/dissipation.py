"""Drained consolidation of a cylinder by finite volumes in z and r.

The equation cv ∇²u = ∂u/∂t with a uniform excess pressure at the start separates (Carrillo):
what is left is the product of what is left by the ends and by the curved surface. Each direction
is solved on a graded grid of its own and exactly in time, by the eigenvalues of its matrix; no
series of anybody's is used, so that a reduction that uses series can be checked against it.
"""

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
DrainageName = Literal["one end", "both ends", "radial", "radial + one end", "radial + both ends"]

SECONDS_PER_YEAR = 365.0 * 86400.0
"""The year of the usual factor 0.5256 from mm²/min to m²/year. [s]"""
_CELLS = 90


class _Direction:
    """Decay of a uniform excess in one direction: modes of u on the grid, in scaled time T."""

    def __init__(
        self,
        edges: Column,
        radial: bool,
        drained_low: bool,
        drained_high: bool,
        resistance: float = 0.0,
    ) -> None:
        middles = 0.5 * (edges[1:] + edges[:-1])
        sizes = 0.5 * (edges[1:] ** 2 - edges[:-1] ** 2) if radial else np.diff(edges)
        faces = edges if radial else np.ones_like(edges)
        between = faces[1:-1] / np.diff(middles)
        low = faces[0] / (middles[0] - edges[0] + resistance) if drained_low else 0.0
        high = faces[-1] / (edges[-1] - middles[-1] + resistance) if drained_high else 0.0
        flow = np.diag(np.concatenate(([low], between)) + np.concatenate((between, [high])))
        index = np.arange(len(between))
        flow[index, index + 1] = flow[index + 1, index] = -between
        root = np.sqrt(sizes)
        self.rates, vectors = np.linalg.eigh(flow / np.outer(root, root))
        self.rates = np.maximum(self.rates, 0.0)
        weights = vectors.T @ root
        self.mean_weights = weights**2 / sizes.sum()
        self.low_weights = (vectors[0] / root[0]) * weights

    def mean(self, scaled_time: Column) -> Column:
        """What is left on average. (n,) [-]"""
        return np.asarray(np.exp(-np.outer(scaled_time, self.rates)) @ self.mean_weights)

    def low(self, scaled_time: Column) -> Column:
        """What is left at the low edge. (n,) [-]"""
        return np.asarray(np.exp(-np.outer(scaled_time, self.rates)) @ self.low_weights)


class Dissipation:
    """Consolidation of one specimen after drainage opens."""

    def __init__(
        self,
        height_mm: float,
        diameter_mm: float,
        drainage: DrainageName,
        cv_m2_year: float,
        resistance: float = 0.0,
    ) -> None:
        """Set up the grids.

        Args:
            height_mm: of the specimen when drainage opens.
            diameter_mm: likewise.
            drainage: where water leaves; "one end" is the top.
            cv_m2_year: coefficient of consolidation. [m²/year]
            resistance: of stones and filter paper, as soil of this part of the drainage path. [-]
        """
        self.drainage = drainage
        self.base_is_drained = "both" in drainage
        cv_mm2_s = cv_m2_year * 1e6 / SECONDS_PER_YEAR
        self._per_height = cv_mm2_s / height_mm**2
        self._per_radius = cv_mm2_s / (diameter_mm / 2.0) ** 2
        even = np.linspace(0.0, 1.0, _CELLS + 1)
        toward_high = np.sin(0.5 * math.pi * even)
        self._ends: _Direction | None = None
        if self.base_is_drained:
            both = 0.5 * (1.0 - np.cos(math.pi * even))
            self._ends = _Direction(both, False, True, True, 0.5 * resistance)
        elif "one end" in drainage:
            self._ends = _Direction(toward_high, False, False, True, resistance)
        self._side = (
            _Direction(toward_high, True, False, True, resistance) if "radial" in drainage else None
        )
        surface = (4.0 / diameter_mm if self._side is not None else 0.0) + (
            (2.0 if self.base_is_drained else 1.0) / height_mm if self._ends is not None else 0.0
        )
        self.t100_s = math.pi / 4.0 / surface**2 / cv_mm2_s
        """Where the early root-time line meets the final volume. [s]"""

    @property
    def first_rate_per_s(self) -> float:
        """Rate of the slowest mode. [1/s]"""
        rate = 0.0
        if self._ends is not None:
            rate += float(self._ends.rates[0]) * self._per_height
        if self._side is not None:
            rate += float(self._side.rates[0]) * self._per_radius
        return rate

    def degree(self, seconds: Column) -> Column:
        """Average degree of consolidation.

        Args:
            seconds: (n,) time since drainage opened. [s]

        Returns:
            (n,) U. [-]

        Example:
            >>> clay = Dissipation(76.0, 38.0, "both ends", 5.2596)  # 10 mm²/min
            >>> float(clay.degree(np.array([28.408 * 60.0]))[0].round(3))
            0.5
        """
        seconds = np.asarray(seconds, dtype=float)
        left = np.ones_like(seconds)
        if self._ends is not None:
            left = left * self._ends.mean(seconds * self._per_height)
        if self._side is not None:
            left = left * self._side.mean(seconds * self._per_radius)
        return 1.0 - left

    def base(self, seconds: Column) -> Column:
        """Excess pressure left under the base disc, which feels the whole section; (n,) [-]."""
        seconds = np.asarray(seconds, dtype=float)
        if self.base_is_drained:
            return np.where(seconds > 0.0, 0.0, 1.0)
        left = np.ones_like(seconds)
        if self._ends is not None:
            left = left * self._ends.low(seconds * self._per_height)
        if self._side is not None:
            left = left * self._side.mean(seconds * self._per_radius)
        return left

    def creep_cycles(self, seconds: Column) -> Column:
        """Log cycles of time that secondary compression counts; (n,) [-].

        It goes with the effective stress, and is timed by the end of primary consolidation.
        """
        seconds = np.asarray(seconds, dtype=float)
        return np.asarray(self.degree(seconds) * np.log10(1.0 + seconds / self.t100_s))

    def time_of(self, degree: float) -> float:
        """Time at which the average degree of consolidation is reached. [s]"""
        low, high = 0.0, 40.0 / self.first_rate_per_s
        for _ in range(80):
            middle = 0.5 * (low + high)
            if float(self.degree(np.array([middle]))[0]) < degree:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)
