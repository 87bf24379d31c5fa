"""Which leak it is that has begun, by what flows more through the drainage and through the cell.

Volumes count as in `leaks`: back volume what enters the specimen, cell volume what enters the cell.
"""

from collections.abc import Sequence
from math import inf, isnan

import numpy as np

from tui.bench.alarms.rules.gauge_scatter import scatter_of
from tui.bench.alarms.rules.steady_flow import HOUR_S, Array, Mean
from tui.bench.alarms.rules.sudden_flow import Begins, Sudden
from tui.bench.twins import twin

ALIKE = 0.5
"""Two flows are alike when they differ by less than this share: common practice. [-]"""
CELL_WARMTH = (-0.35, 0.18)
"""What a warmer room does to cell volume, and how surely: 1 L of water 0.207 ml/°C (IAPWS-95; see
soil.md 6) less the cell's own expansion, for cells of a half to several litres. [ml/°C]"""
LINE_WARMTH = (0.0, 0.015)
"""The same of back volume: 10 ml of line 0.002 ml/°C, more for a burette. [ml/°C]"""
LEAST_MEANS, LEAST_BENDS, HOLDS = 3, 6, 12
"""A hold of so many means shows one bend; so many bends of all holds show how the gauges scatter;
so many holds are kept."""
BEGINS = {
    "leak-membrane": "more water leaves through the drainage, and enters the cell",
    "leak-cell": "more water leaves the cell",
    "leak-drainage": "more water leaves the back-pressure line",
}


_Hold = tuple[tuple[Mean, ...], Array, Array]
"""Means of a hold, and what back and cell volume were at each."""


class LeakBegins:
    """Flows that have begun within the last hours, told apart by what agrees with them."""

    def __init__(
        self, limits: dict[str, float], delays_s: dict[str, float], soft_ml_kPa: float
    ) -> None:
        self._limits, self._delays_s, self._soft = limits, delays_s, soft_ml_kPa
        self._scatter = {"back": inf, "cell": inf}
        """Of volumes, as the holds showed it: gauges stay what they are, and a few readings of a
        specimen that drains do not tell it. [ml]"""
        self._holds: tuple[_Hold, ...] = ()
        self._hold: _Hold | None = None
        """Those before and this one, until it is asked for once, when drainage opens."""
        self._begins = {
            kind: Begins(
                limits[kind],
                delays_s[kind],
                CELL_WARMTH if kind == "leak-cell" else LINE_WARMTH,
                soft_ml_kPa,
            )
            for kind in BEGINS
        }

    def anew(self) -> "LeakBegins":
        """The same with nothing found."""
        other = LeakBegins(self._limits, self._delays_s, self._soft)
        own = () if self._hold is None else (self._hold,)
        other._scatter, other._holds = dict(self._scatter), (*self._holds, *own)[-HOLDS:]
        return other

    def copy(self) -> "LeakBegins":
        """Independent of this one, in the same state."""
        other = twin(self)
        other._scatter = self._scatter.copy()
        other._begins = {kind: one.copy() for kind, one in self._begins.items()}
        return other

    def follow(
        self,
        means: Sequence[Mean],
        back: Array,
        cell: Array,
        stress: Array,
        *,
        drained: bool,
        late: bool,
    ) -> dict[str, Sudden | None]:
        """Of each kind that is judged, the flow that goes on.

        Args:
            means: (n,) in order.
            back, cell: (n,) volumes. [ml]
            stress: (n,) effective stress. [kPa]
            drained: whether it is the drained phase, not a hold: its specimen sends through one
                what it draws through the other.
            late: whether primary consolidation is past.
        """

        def drips(found: Sudden) -> bool:
            # What a specimen draws in as it swells, the cell gives.
            came = found.change(means, back + cell) + found.hidden(means, CELL_WARMTH)
            return not (drained and came < 0.5 * self._limits["leak-drainage"])

        def fitting(found: Sudden) -> bool:
            # A specimen that shrinks sends out through the drainage what the cell draws in.
            more, out = found.change(means, cell), found.leaves(means, back)
            own = more if isnan(out) else more - out
            return own > max(self._limits["leak-cell"], ALIKE * more)

        def membrane(found: Sudden) -> bool:
            # Without cell volume it is not judged while drainage is open.
            draws = found.change(means, cell) + found.hidden(means, CELL_WARMTH)
            return draws > ALIKE * (found.per_hour - found.before)

        if not drained and len(means) >= LEAST_MEANS:
            self._hold = tuple(means), back, cell
        elif drained and self._holds:
            self._learn()
        of_back, of_cell = self._scatter["back"], self._scatter["cell"]
        begins = self._begins
        found = {
            "leak-drainage": begins["leak-drainage"].follow(means, back, stress, drips, of_back),
            "leak-cell": begins["leak-cell"].follow(means, cell, stress, fitting, of_cell),
        }
        if drained and late:
            one = begins["leak-membrane"].follow(means, -back, stress, membrane, of_back)
            found["leak-membrane"] = one
        return found

    def _learn(self) -> None:
        for place, gauge in enumerate(("back", "cell")):
            parts = []
            for means, *volumes in self._holds:
                volume = volumes[place]
                known = np.isfinite(volume)
                time = np.array([one.time for one in means]) / HOUR_S
                if np.count_nonzero(known) >= LEAST_MEANS:
                    parts.append((time[known], volume[known]))
            if sum(len(time) - 2 for time, _ in parts) >= LEAST_BENDS:
                self._scatter[gauge] = scatter_of(parts)
        self._holds = ()
