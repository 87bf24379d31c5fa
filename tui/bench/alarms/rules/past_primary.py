"""Whether a consolidation is far beyond its primary part, told row by row and without a fit.

With pore pressure at an undrained end: 95 % of its excess has gone. Else by volume: what flows per
e-fold of time is greatest at t95/2.8 whatever the drainage, and has fallen to half since (one term
of the series, U = 1 − c e^−λT: greatest at T = 1/λ, and T95 = ln(c/0.05)/λ with c = 0.81 of
ends, 0.69 of a cylinder's side).
"""

from math import isnan, log
from typing import Self

from tui.bench.alarms.scene import Scene
from tui.bench.readings import Reading
from tui.bench.twins import twin

GRID = 1.15
"""Readings are kept when time has grown by this factor."""
SOONEST_S = 30.0
LAST_FROM_PEAK = 2.8
FELL = 0.5
"""Flow by log time has passed its greatest when it is below this share of it. [-]"""
LEAST_ML = 0.3
"""A volume below this is too little to tell its course. [ml]"""
LEVEL = 0.93
"""So much had left at a third of the time: U = 0.93 at T95/1.14, so three times t95 nearly. [-]"""
LEFT, LEAST_HEAD_KPA, NEAR_KPA = 0.05, 5.0, 0.5
"""What is left at t95 of the undrained end, of an excess that is known to half a kilopascal."""
MEAN_FIRST = 0.86
"""t95 of the whole specimen over that of its undrained end: T 1.129 and 1.31 (soil.md 4). [-]"""


class PastPrimary:
    """One stage of consolidation; it begins anew with another zero."""

    def __init__(self, factor: float) -> None:
        self.factor = factor
        """So many times t95 have to have passed."""
        self.at: float | None = None
        """The first moment beyond. [s]"""
        self._zero: float | None = None
        self._out: tuple[tuple[float, float], ...] = ()
        """(seconds since zero, ml that left)."""
        self._by_pore = False
        self._dissipated: float | None = None

    def copy(self) -> Self:
        """An independent one in the same state."""
        return twin(self)

    @property
    def is_past(self) -> bool:
        """Whether primary consolidation lies far behind."""
        return self.at is not None

    def add(self, reading: Reading, zero: Reading, scene: Scene) -> None:
        """Follow one reading of the drained step."""
        if zero.time != self._zero:
            self._zero, self.at, self._out = zero.time, None, ()
            self._by_pore, self._dissipated = False, None
        passed = reading.time - zero.time
        if self.at is not None or passed < SOONEST_S:
            return
        self._follow_pore(reading, zero, scene, passed)
        if self._out and passed < GRID * self._out[-1][0]:
            return
        out = zero.back_volume - reading.back_volume
        if not isnan(out):
            self._out = (*self._out, (passed, out))
        if (t95 := self._t95()) is not None and passed >= self.factor * t95:
            self.at = reading.time

    def _follow_pore(self, reading: Reading, zero: Reading, scene: Scene, passed: float) -> None:
        drainage = scene.settings.specimen.drainage
        head = zero.pore_pressure - zero.back_pressure
        if scene.aims.one_transducer or drainage is None or "both ends" in drainage:
            return
        if head > LEAST_HEAD_KPA:
            left = (reading.pore_pressure - reading.back_pressure) / head
            self._by_pore = self._by_pore or not isnan(left)
            if left < LEFT + NEAR_KPA / head and self._dissipated is None:
                self._dissipated = passed
            elif left > 2.0 * (LEFT + NEAR_KPA / head):
                self._dissipated = None

    def _t95(self) -> float | None:
        """As far as it is seen by now. [s]"""
        if self._by_pore:  # a clogged stone makes flow fall, and pore pressure stay
            return None if self._dissipated is None else MEAN_FIRST * self._dissipated
        points = self._out
        if len(points) < 5 or points[-1][1] < LEAST_ML:
            return None
        last_s, last_ml = points[-1]
        third = [ml for s, ml in points if s <= last_s / 3.0]
        if third and third[-1] >= LEVEL * last_ml and last_s > 600.0:
            return last_s / self.factor
        # Per e-fold of time, over three steps of the grid.
        flows = [
            (b[0], (c[1] - a[1]) / max(log(c[0] / a[0]), 1e-9))
            for a, b, c in zip(points, points[1:], points[2:], strict=False)
        ]
        peak_s, peak = max(flows, key=lambda one: one[1])
        fell = min(flow for s, flow in flows if s >= peak_s) < FELL * peak
        return LAST_FROM_PEAK * peak_s if fell else None
