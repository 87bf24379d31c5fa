"""The temperature of the room, which moves volumes and pore pressure alike."""

from math import isnan
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene

KIND = "temperature-swing"
HOUR_S = 3600.0
LOOK_S = 60.0
"""Readings nearer to each other than this tell nothing more of a room. [s]"""
NEAR_S = 600.0
"""Of readings this near to each other the median of three counts, so that a spike is none. [s]"""


class TemperatureSwing(Rule):
    """More than a room may change within an hour, or since the phase began.

    Source of the limits: BS 1377-8 ±2 °C, ASTM D4767 ±4 °C, both from memory (soil.md 1.2).
    """

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._hour, self._phase = limits(KIND, "hour"), limits(KIND, "phase")
        self._clear = 1.0 - limits(KIND, "clear")
        self._swings = board.condition(KIND, "warning", delay_s=limits(KIND, "on"))
        self._seen: tuple[tuple[float, float], ...] = ()
        """(time, °C) of the last hour."""
        self._raw: tuple[tuple[float, float], ...] = ()
        """The newest readings."""
        self._first: float | None = None
        """At the begin of the phase. [°C]"""
        self._name = ""

    def begin(self, now: Moment) -> None:
        if now.phase != self._name:
            self._name, self._first = now.phase, None

    def add(self, now: Moment) -> None:
        warm, time = now.reading.temperature, now.time
        if isnan(warm) or (self._raw and time - self._raw[-1][0] < LOOK_S):
            return
        self._raw = (*self._raw[-2:], (time, warm))
        if len(self._raw) == 3 and time - self._raw[0][0] <= NEAR_S:
            warm = median(value for _, value in self._raw)
        cut = time - HOUR_S
        seen = self._seen
        if seen and seen[0][0] < cut:
            seen = tuple(one for one in seen if one[0] >= cut)
        self._seen = (*seen, (time, warm))
        if self._first is None:
            self._first = warm
        values = [value for _, value in self._seen]
        swing = max(warm - min(values), max(values) - warm)
        away = abs(warm - self._first)
        share = self._clear if self._swings.raised else 1.0
        fast, far = swing > share * self._hour, away > share * self._phase
        if not (fast or far):
            self.board.tell(self._swings, False, time)
            return
        said = (
            f"temperature {warm:.1f} °C, changed by {swing:.1f} °C within an hour, "
            f"limit {self._hour:g} °C"
            if fast
            else f"temperature {warm:.1f} °C, {warm - self._first:+.1f} °C since {self._name} "
            f"began, limit {self._phase:g} °C"
        )
        # The middle of three readings lags: it is so since the first of them that shows it.
        low, high = min(values), max(values)
        since = next(
            (
                at
                for at, value in self._raw
                if max(value - low, high - value) > share * self._hour
                or abs(value - self._first) > share * self._phase
            ),
            time,
        )
        self.board.tell(self._swings, True, time, said, since)
