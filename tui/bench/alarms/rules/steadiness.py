"""Pressures that should stand: drift away from where they were set, and scatter."""

from math import isnan, sqrt
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import spoken, unanswered
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.moves import Moves

SETTLE_S, SETTLE_ROWS = 300.0, 3
"""The level is the median of so long, and of so many readings at least."""
SET_S = 240.0
"""Who sets a pressure does it within this time: common practice, no source. [s]"""
HELD_S, HELD_KPA = 180.0, 0.8
"""What was set keeps for so long within this of where it came to stand; what creeps in bounds, as a
tracker of moves sees it, does not: common practice, no source. [s], [kPa]"""
GOES_ON = 0.5
"""Nor does what goes on by this share of what it would have at the pace at which it came. [-]"""
LEAST_APART_S, UNEVEN_S, GOLDEN = 15.0, 20.0, 0.618
"""Scatter is looked at so far apart, and by up to so much more, never alike. [s], [s], [-]"""
LEAST_ROWS = 8
"""Fewer readings tell no scatter."""
TO_AND_FRO, TURNS = 2.0, 3
"""Turns that are this many times the limit, and so many of them, are no steps."""
WATCHED = ("cell_pressure", "back_pressure")
_URGENT = {"cell_pressure": -1.0, "back_pressure": 1.0}
"""The direction in which effective stress is lost."""


class _Level:
    """Where a pressure was set, from its first readings after it stood."""

    def __init__(self) -> None:
        self.value: float | None = None
        self.since = 0.0
        """The first reading that it rests on. [s]"""
        self._first: list[tuple[float, float]] = []

    def copy(self) -> "_Level":
        other = _Level()
        other.value, other.since, other._first = self.value, self.since, list(self._first)
        return other

    def add(self, time: float, value: float) -> None:
        if self.value is not None:
            return
        self._first.append((time, value))
        if len(self._first) >= SETTLE_ROWS and time - self._first[0][0] >= SETTLE_S:
            inside = [v for t, v in self._first if t - self._first[0][0] <= SETTLE_S]
            early = inside if len(inside) >= SETTLE_ROWS else [v for _, v in self._first][:3]
            self.value, self.since, self._first = median(early), self._first[0][0], []


class Drift(Rule):
    """Cell or back pressure that leaves where it was set.

    What somebody sets anew, at once and towards more effective stress, gets a new level. One that
    creeps keeps its level, and so does one that falls by itself and settles.
    """

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "pressure-drift"
        self._by, self._share = limits(kind, "by"), limits(kind, "share")
        self._clear = 1.0 - limits(kind, "clear")
        on = limits(kind, "on")
        self._levels = {name: _Level() for name in WATCHED}
        self._stood: dict[str, tuple[float, float, float]] = {}
        """By channel, since when it stands as it does, when that was seen, and at what. [s], [s],
        [kPa]"""
        self._lost = {
            name: board.condition(kind, "urgent", about=name, delay_s=on) for name in WATCHED
        }
        self._gained = {
            name: board.condition(kind, "warning", about=name, delay_s=on) for name in WATCHED
        }

    def begin(self, now: Moment) -> None:
        if now.step != "b-check":  # a creep that is taken for one began in the hold before
            self._levels = {name: _Level() for name in WATCHED}

    def add(self, now: Moment) -> None:
        in_check = now.step == "b-check"
        if not (_stands(now) or in_check):
            return
        for name in WATCHED:
            value: float = getattr(now.reading, name)
            if isnan(value) or (name == "back_pressure" and not _tells_back(now)):
                continue
            if in_check and not (name == "cell_pressure" and unanswered(now)):
                for one in (self._lost[name], self._gained[name]):
                    self.board.tell(one, False, now.time)
                continue
            self._follow(name, value, now)

    def _follow(self, name: str, value: float, now: Moment) -> None:
        move = now.told.cell if name == "cell_pressure" else now.told.back
        level = self._levels[name]
        if level.value is None:
            if not move.moving:
                level.add(now.time, value)
            return
        since, stood = move.stood_since, self._stood.get(name)
        if not move.moving and since is not None and (stood is None or stood[0] != since):
            self._stood[name] = since, now.time, value
        away = (value - level.value) * _URGENT[name]
        limit = max(self._by, self._share * abs(level.value))
        if away < -limit and _set_anew(move, level.since) and self._holds(name, value, now):
            self._levels[name] = _Level()
            for one in (self._lost[name], self._gained[name]):
                self.board.tell(one, False, now.time)
            return
        for one, so_far in ((self._lost[name], away), (self._gained[name], -away)):
            so = so_far > limit * (self._clear if one.raised else 1.0)
            said = _drifted(name, value, level.value, limit) if so else ""
            self.board.tell(one, so, now.time, said)

    def _holds(self, name: str, value: float, now: Moment) -> bool:
        since, seen, stood_at = self._stood[name]
        most = HELD_KPA
        if seen - since < HELD_S:  # else it was seen to stand for long enough already
            most = min(most, GOES_ON * self._pace(name, now) * (now.time - seen))
        return now.time - since >= HELD_S and abs(value - stood_at) < most

    def _pace(self, name: str, now: Moment) -> float:
        """At which it came to where it stands, since it was last seen where it was. [kPa/s]"""
        before = (now.told.cell if name == "cell_pressure" else now.told.back).before
        _, seen, stood_at = self._stood[name]
        assert before is not None
        return abs(stood_at - float(getattr(before, name))) / (seen - before.time)


def _set_anew(move: Moves, since: float) -> bool:
    """Whether somebody has set it since its level was taken: at once, and it stands again."""
    if move.moving or move.first is None or move.stood_since is None or move.first.time <= since:
        return False
    return move.stood_since - move.first.time < SET_S


class Unsteady(Rule):
    """Cell or back pressure that does not stand still: scatter about the line through its readings.

    Where readings are rarer than the window takes, the last eight of the step tell it. Of those
    that come often some are enough, unevenly: what swings in step with them would seem to stand.
    """

    every_s = LEAST_APART_S

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "pressure-unsteady"
        self._most, self._window = limits(kind, "deviation"), limits(kind, "window")
        self._clear = 1.0 - limits(kind, "clear")
        self._seen: dict[str, tuple[tuple[float, float], ...]] = dict.fromkeys(WATCHED, ())
        self._phase = ""
        self._looks = 0
        self._conditions = {
            name: board.condition(kind, "warning", about=name, delay_s=limits(kind, "on"))
            for name in WATCHED
        }

    def begin(self, now: Moment) -> None:
        if now.phase != self._phase:  # a regulator that hunts is taken for steps at times
            self._phase, self._seen = now.phase, dict.fromkeys(WATCHED, ())

    def add(self, now: Moment) -> None:
        self._looks += 1
        self.next_at += (GOLDEN * self._looks**2 % 1.0) * UNEVEN_S
        for name in WATCHED:
            value: float = getattr(now.reading, name)
            if isnan(value) or (name == "back_pressure" and not _tells_back(now)):
                continue
            seen, cut = self._seen[name], now.time - self._window
            kept = [one for one in seen if one[0] >= cut]
            if len(kept) < LEAST_ROWS:
                kept = list(seen[-LEAST_ROWS + 1 :])
            kept.append((now.time, value))
            self._seen[name] = tuple(kept)
            if len(kept) < LEAST_ROWS:
                continue
            spread = _spread(kept)
            one = self._conditions[name]
            so = spread > self._most * (self._clear if one.raised else 1.0)
            so = so and (not one.quiet or _swings(kept, TO_AND_FRO * self._most))
            said = (
                f"{spoken(name)} scatters by {spread:.1f} kPa (standard deviation), "
                f"limit {self._most:.1f} kPa"
            )
            self.board.tell(one, so, now.time, said if so else "")


def _swings(seen: list[tuple[float, float]], by_kPa: float) -> bool:
    """Whether it goes to and fro: a step goes one way, and a drift does."""
    low = high = seen[0][1]
    turns, upward = 0, None
    for _, value in seen:
        low, high = min(low, value), max(high, value)
        if upward is not True and value - low > by_kPa:
            turns, upward, high = turns + 1, True, value
        elif upward is not False and high - value > by_kPa:
            turns, upward, low = turns + 1, False, value
    return turns >= TURNS


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
