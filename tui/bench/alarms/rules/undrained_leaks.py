"""A membrane that leaks while drainage is closed: pore pressure shows it long before volume does.

0.01 ml/h raises pore pressure by 0.2 … 2.3 kPa/h in a specimen of 38 × 76 mm (soil.md 7).
"""

from collections.abc import Sequence

import numpy as np

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.steady_flow import Array, Mean, Means, steady
from tui.bench.alarms.rules.sudden_flow import Begins, Sudden
from tui.bench.alarms.scene import Moment, Rule, Scene

KIND = "leak-membrane"
CLOSED = ("b-check", "build-up")
LOOK_S = 10.0
WARMTH = (1.0, 0.9)
"""What a warmer room does to the pore pressure of a closed specimen, and how surely: 0.1 to 2.7
kPa/°C from soft to stiff (soil.md 6, after Campanella & Mitchell 1968). [kPa/°C]"""
WIDTH_S, KEPT = 120.0, 120
"""Means that tell what begins to climb, and how many are kept: checks are short. [s]"""
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
        self._begins = Begins(self._climb, limits(KIND, "on"), WARMTH, 0.0)
        self._means: Means | None = None
        self._fine: Means | None = None
        self._steady: float | None = None
        """What climbs ever since the check has settled. [kPa/h]"""
        self._since = 0.0
        """From where it climbs at this rate, at the earliest. [s]"""
        self._sudden: Sudden | None = None
        """What has begun to climb since."""
        self._seen = 0
        self._looked = 0.0

    def begin(self, now: Moment) -> None:
        self._anew()
        if not _closed(now):
            self.board.tell(self._climbs, False, now.time)
        if now.step == "drained" or now.phase not in ("saturation", "consolidation"):
            self.board.tell(self._beyond, False, now.time)  # judged by its flow from here on

    def _anew(self) -> None:
        self._means = self._fine = None
        self._begins, self._steady, self._sudden = self._begins.anew(), None, None

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
            self._anew()
            return
        if self._means is None or self._fine is None:
            self._means = Means(cell.stood_since)
            self._fine = Means(cell.stood_since, width=0.0, narrowest_s=WIDTH_S, kept=KEPT)
        reading = now.reading
        value = (reading.pore_pressure, reading.cell_pressure)
        if self._means.add(now.time, value, reading.temperature):
            self._judge(now, self._means)
        if self._fine.add(now.time, value, reading.temperature):
            self._judge_begins(now, self._fine)

    def _judge(self, now: Moment, means: Means) -> None:
        """What climbs ever since the check has settled."""
        check = now.checks.all[-1] if now.checks.all else None
        if check is None or not check.settled or check.at < means.since:
            return
        self._judge_b(now, check.B, check.at)
        window, climbed = _settled(means.kept, check.at)
        if not window:
            return
        since = np.log(np.array([one.time for one in window]) - means.since + 1.0)
        rate = steady(window, climbed, shapes=[since], warmth=WARMTH, noise=NOISE_KPA)
        if rate is None:
            return
        goes_on = rate.recent > 0.5 * self._climb
        so = goes_on if self._climbs.raised else rate.surely_above(self._climb)
        self._steady = rate.per_hour if so else None
        self._since = max(check.at, _began(window, climbed, rate.per_hour))
        self._say(now)

    def _judge_begins(self, now: Moment, means: Means) -> None:
        """What has begun to climb, where it stood or fell or climbed more slowly before.

        No settling does so: it goes ever slower. Of a check that is not settled yet it is told too.
        """
        window, climbed = _settled(means.newest, means.since)
        if not window:
            return
        found = self._begins.follow(window, climbed, 0.0 * climbed, lambda _: True)
        if found is not None and found is not self._sudden:
            after = [place for place, one in enumerate(window) if one.time >= found.turned[0]]
            time = np.array([one.time for one in window])
            more = (climbed - found.before * (time - time[-1]) / 3600.0)[after]
            met = _began([window[place] for place in after], more, found.per_hour - found.before)
            # A mean stands in the middle of its readings: it may have begun with the first of them.
            self._since = min(found.since - WIDTH_S, met)
        self._sudden = found
        self._say(now)

    def _say(self, now: Moment) -> None:
        sudden, steady = self._sudden, self._steady
        per_hour = sudden.per_hour if sudden is not None else steady
        if per_hour is None:
            self.board.tell(self._climbs, False, now.time)
            return
        said = (
            f"pore pressure goes on climbing at {per_hour:.1f} kPa/h with drainage closed, "
            f"past its settling (now {now.reading.pore_pressure:.1f} kPa, cell pressure "
            f"{now.reading.cell_pressure:.1f} kPa); limit {self._climb:g} kPa/h"
        )
        self.board.tell(self._climbs, True, now.time, said, self._since)

    def _judge_b(self, now: Moment, b: float, since: float) -> None:
        so = b > self._most
        said = f"B {b:.3f}, limit {self._most:g}: pore pressure rose by more than cell pressure"
        quiet = self._beyond.quiet
        self.board.tell(self._beyond, so, since if so and quiet else now.time, said)


def _closed(now: Moment) -> bool:
    return now.step in CLOSED


def _settled(means: Sequence[Mean], since: float) -> tuple[list[Mean], Array]:
    """Means past the settling, and by how much pore pressure has climbed in each. (n,) [kPa]

    What the regulator does goes into the pores as well, nearly whole.
    """
    window = [one for one in means if one.time >= since and np.isfinite(one.value).all()]
    pore, cell = np.array([one.value for one in window]).reshape(-1, 2).T
    return window, pore - (cell - cell[:1])


def _began(window: Sequence[Mean], climbed: Array, per_hour: float) -> float:
    """When a climb at a rate left the lowest level: about its begin, at the earliest. [s]"""
    hours = float(climbed[-1] - climbed.min()) / max(per_hour, 0.1)
    return window[-1].time - 3600.0 * hours
