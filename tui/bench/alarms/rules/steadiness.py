"""Pressures that should stand: drift away from where they were set, and scatter."""

from itertools import pairwise
from math import isnan, sqrt
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import spoken
from tui.bench.alarms.scene import Moment, Rule, Scene

SETTLE_S, SETTLE_ROWS = 300.0, 3
"""The level is the median of so long, and of so many readings at least."""
LEAST_ROWS = 8
"""Fewer readings tell no scatter."""
WATCHED = ("cell_pressure", "back_pressure")
_URGENT = {"cell_pressure": -1.0, "back_pressure": 1.0}
"""The direction in which effective stress is lost."""


class _Level:
    """Where a pressure was set, from its first readings after it stood."""

    def __init__(self) -> None:
        self.value: float | None = None
        self._first: list[tuple[float, float]] = []

    def copy(self) -> "_Level":
        other = _Level()
        other.value, other._first = self.value, list(self._first)
        return other

    def add(self, time: float, value: float) -> None:
        if self.value is not None:
            return
        self._first.append((time, value))
        if len(self._first) >= SETTLE_ROWS and time - self._first[0][0] >= SETTLE_S:
            inside = [v for t, v in self._first if t - self._first[0][0] <= SETTLE_S]
            early = inside if len(inside) >= SETTLE_ROWS else [v for _, v in self._first][:3]
            self.value, self._first = median(early), []


class Drift(Rule):
    """Cell or back pressure that leaves where it was set.

    A pressure that somebody sets anew gets a new level, if it is set towards more effective stress.
    One that falls by itself may settle, too: towards less stress only a new step is a new level.
    """

    every_s = 5.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "pressure-drift"
        self._by, self._share = limits(kind, "by"), limits(kind, "share")
        self._clear = 1.0 - limits(kind, "clear")
        on = limits(kind, "on")
        self._levels = {name: _Level() for name in WATCHED}
        self._lost = {
            name: board.condition(kind, "urgent", about=name, delay_s=on) for name in WATCHED
        }
        self._gained = {
            name: board.condition(kind, "warning", about=name, delay_s=on) for name in WATCHED
        }

    def begin(self, now: Moment) -> None:  # noqa: ARG002
        self._levels = {name: _Level() for name in WATCHED}

    def add(self, now: Moment) -> None:
        if not _stands(now):
            return
        for name in WATCHED:
            value: float = getattr(now.reading, name)
            move = now.told.cell if name == "cell_pressure" else now.told.back
            if isnan(value) or (name == "back_pressure" and not _tells_back(now)):
                continue
            level = self._levels[name]
            if level.value is None:
                if not move.moving:
                    level.add(now.time, value)
                continue
            away = (value - level.value) * _URGENT[name]
            if move.moving and away < 0.0:
                self._levels[name] = _Level()
                self.board.tell(self._gained[name], False, now.time)
                continue
            limit = max(self._by, self._share * abs(level.value))
            for one, so_far in ((self._lost[name], away), (self._gained[name], -away)):
                so = so_far > limit * (self._clear if one.raised else 1.0)
                said = _drifted(name, value, level.value, limit) if so else ""
                self.board.tell(one, so, now.time, said)


class Unsteady(Rule):
    """Cell or back pressure that does not stand still: scatter about the line through its readings.

    Where readings are rarer than the window takes, the last eight of the step tell it.
    """

    every_s = 15.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "pressure-unsteady"
        self._most, self._window = limits(kind, "deviation"), limits(kind, "window")
        self._clear = 1.0 - limits(kind, "clear")
        self._seen: dict[str, tuple[tuple[float, float], ...]] = dict.fromkeys(WATCHED, ())
        self._conditions = {
            name: board.condition(kind, "warning", about=name, delay_s=limits(kind, "on"))
            for name in WATCHED
        }

    def begin(self, now: Moment) -> None:  # noqa: ARG002
        self._seen = dict.fromkeys(WATCHED, ())

    def add(self, now: Moment) -> None:
        if not _stands(now):
            return
        for name in WATCHED:
            value: float = getattr(now.reading, name)
            move = now.told.cell if name == "cell_pressure" else now.told.back
            if isnan(value) or (name == "back_pressure" and not _tells_back(now)):
                continue
            if move.moving and not self._conditions[name].raised and not self._swings(name):
                self._seen[name] = ()
                continue
            seen = self._seen[name]
            cut = now.time - self._window
            kept = [one for one in seen if one[0] >= cut] if len(seen) > LEAST_ROWS else list(seen)
            if len(kept) < LEAST_ROWS:
                kept = list(seen[-LEAST_ROWS + 1 :])
            kept.append((now.time, value))
            self._seen[name] = tuple(kept)
            if len(kept) < LEAST_ROWS:
                continue
            spread = _spread(kept)
            one = self._conditions[name]
            so = spread > self._most * (self._clear if one.raised else 1.0)
            said = (
                f"{spoken(name)} scatters by {spread:.1f} kPa (standard deviation), "
                f"limit {self._most:.1f} kPa"
            )
            self.board.tell(one, so, now.time, said)

    def _swings(self, name: str) -> bool:
        """To and fro is no step: a step goes one way."""
        values = [value for _, value in self._seen[name][-LEAST_ROWS:]]
        turns = [b - a for a, b in pairwise(values) if abs(b - a) > self._most]
        return any(a * b < 0.0 for a, b in pairwise(turns))


def _spread(seen: list[tuple[float, float]]) -> float:
    """Standard deviation about the line through them. [kPa]"""
    count, begin = len(seen), seen[0][0]
    mean_t = sum(t - begin for t, _ in seen) / count
    mean_v = sum(v for _, v in seen) / count
    tt = tv = vv = 0.0
    for time, value in seen:
        t, v = time - begin - mean_t, value - mean_v
        tt, tv, vv = tt + t * t, tv + t * v, vv + v * v
    rest = vv if tt <= 0.0 else vv - tv * tv / tt
    return sqrt(max(rest, 0.0) / (count - 2))


def _stands(now: Moment) -> bool:
    if now.phase == "saturation":
        return now.step == "hold"
    return now.step == "drained" or now.phase == "shear"


def _tells_back(now: Moment) -> bool:
    """A transducer that a valve switches tells back pressure only while drainage is open."""
    return not now.told.aims.one_transducer or now.drains


def _drifted(name: str, value: float, level: float, limit: float) -> str:
    return (
        f"{spoken(name)} {value:.1f} kPa, {value - level:+.1f} kPa from where it was set "
        f"({level:.1f} kPa), limit {limit:.1f} kPa"
    )
