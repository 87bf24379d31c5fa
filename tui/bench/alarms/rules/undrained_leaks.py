"""A membrane that leaks while drainage is closed: pore pressure shows it long before volume does.

0.01 ml/h raises pore pressure by 0.2 … 2.3 kPa/h in a specimen of 38 × 76 mm (soil.md 7).
"""

import numpy as np

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.steady_flow import Means, steady
from tui.bench.alarms.scene import Moment, Rule, Scene

KIND = "leak-membrane"
CLOSED = ("b-check", "build-up")
LOOK_S = 10.0
WARMTH = (1.0, 0.9)
"""What a warmer room does to the pore pressure of a closed specimen, and how surely: 0.1 to 2.7
kPa/°C from soft to stiff (soil.md 6, after Campanella & Mitchell 1968). [kPa/°C]"""
NOISE_KPA = 0.03
"""Least scatter of a mean of pore pressure. [kPa]"""


class UndrainedLeak(Rule):
    """Pore pressure that goes on climbing past its settling, and a B that cannot be."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._most, self._climb = limits(KIND, "B"), limits(KIND, "climb")
        self._beyond = board.condition(KIND, "urgent", reason="B", delay_s=limits(KIND, "on"))
        self._climbs = board.condition(KIND, "urgent", reason="climb", delay_s=limits(KIND, "on"))
        self._means: Means | None = None
        self._seen = 0
        self._looked = 0.0

    def begin(self, now: Moment) -> None:
        self._means = None
        if not _closed(now):
            self.board.tell(self._climbs, False, now.time)
        if now.step == "drained" or now.phase not in ("saturation", "consolidation"):
            self.board.tell(self._beyond, False, now.time)  # judged by its flow from here on

    def add(self, now: Moment) -> None:
        finished = now.checks.finished
        if len(finished) != self._seen:
            self._seen = len(finished)
            last = finished[-1] if finished else None
            if last is not None and last.settled:
                self._judge_b(now, last.B, last.at)
        if now.live or not _closed(now) or now.time - self._looked < LOOK_S:
            return
        self._looked = now.time
        cell = now.told.cell
        if cell.moving or cell.stood_since is None:
            self._means = None
            return
        if self._means is None:
            self._means = Means(cell.stood_since)
        reading = now.reading
        value = (reading.pore_pressure, reading.cell_pressure)
        if self._means.add(now.time, value, reading.temperature):
            self._judge(now, self._means)

    def _judge(self, now: Moment, means: Means) -> None:
        check = now.checks.all[-1] if now.checks.all else None
        if check is None or not check.settled or check.at < means.since:
            return
        self._judge_b(now, check.B, check.at)
        window = [
            one for one in means.kept if one.time >= check.at and np.isfinite(one.value).all()
        ]
        if not window:
            return
        pore = np.array([one.value[0] for one in window])
        cell = np.array([one.value[1] for one in window])
        since = np.log(np.array([one.time for one in window]) - means.since + 1.0)
        # What the regulator does goes into the pores as well, nearly whole.
        rate = steady(
            window, pore - (cell - cell[0]), shapes=[since], warmth=WARMTH, noise=NOISE_KPA
        )
        if rate is None:
            return
        goes_on = rate.recent > 0.5 * self._climb
        so = goes_on if self._climbs.raised else rate.surely_above(self._climb)
        said = (
            f"pore pressure goes on climbing at {rate.per_hour:.1f} kPa/h with drainage closed, "
            f"past its settling (now {pore[-1]:.1f} kPa, cell pressure {cell[-1]:.1f} kPa); "
            f"limit {self._climb:g} kPa/h"
        )
        self.board.tell(self._climbs, so, now.time, said)

    def _judge_b(self, now: Moment, b: float, since: float) -> None:
        so = b > self._most
        said = f"B {b:.3f}, limit {self._most:g}: pore pressure rose by more than cell pressure"
        quiet = self._beyond.quiet
        self.board.tell(self._beyond, so, since if so and quiet else now.time, said)


def _closed(now: Moment) -> bool:
    return now.step in CLOSED
