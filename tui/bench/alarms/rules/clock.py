"""Times of the log that go back, or ahead by more than rows lie apart.

That a clock was set back is known to the feed, which counts one time through it and hands on the
stamps beside it: where the two come apart, or together again, the clock was set. Rows that are
missing and a clock that was set ahead look alike, and both are said; where rows come by a schedule
nothing tells an interval, and a row that is missing is a reading missed.
"""

from itertools import pairwise
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.doubts import lasting
from tui.bench.slots import ALIKE

GAPS = 10
"""Gaps before it that must be alike to tell an interval: common practice, no source."""
SET_S = 1.0
"""A clock that is kept by a server moves by less than this. Common practice, no source. [s]"""


class ClockJump(Rule):
    """Raised by the row whose stamp cannot follow from the one before."""

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "clock-jump"
        self._gaps, self._lasts = limits(kind, "gaps"), limits(kind, "lasts")
        self._jump = board.condition(kind, "note")
        self._times: tuple[float, ...] = ()
        self._off = 0.0
        """Stamp less time. [s]"""
        self._until = 0.0
        self._steady = scene.settings.log.rows != "scheduled"

    def add(self, now: Moment) -> None:
        if now.live:
            return
        off = now.gauges.get("time", now.time) - now.time if now.gauges else 0.0
        moved, self._off = off - self._off, off
        said = ""
        if self._times and abs(moved) > SET_S:
            way = "back" if moved < 0.0 or off == 0.0 else "ahead"
            said = f"the logger's clock went {way} by {lasting(abs(moved))}"
        elif self._steady and self._times:
            said = self._ahead(now.time)
        self._times = (*self._times[-GAPS:], now.time)
        if said:
            self._until = now.time + self._lasts
        self.board.tell(self._jump, now.time < self._until, now.time, said)

    def _ahead(self, time: float) -> str:
        gap = time - self._times[-1]
        if len(self._times) <= GAPS or gap <= self._gaps * (self._times[-1] - self._times[-2]):
            return ""
        gaps = [b - a for a, b in pairwise(self._times)]
        usual = median(gaps)
        if usual <= 0.0 or any(abs(one - usual) > ALIKE * usual for one in gaps):
            return ""
        return (
            f"times go ahead by {lasting(gap)} though rows come every {lasting(usual)}: the clock "
            "was set, or rows are missing"
        )
