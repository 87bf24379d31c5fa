"""Gauges that fail: no number, beyond the range, about and back, the same number again and again.

A real step of pressure, a refill, the ram that docks, load that is let off, are no faults: they go
one way and stay. What each channel cannot do from one reading to the next and back again is common
practice, no source, but for the twenty identical readings, which are the contract's.
"""

from math import inf, isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import PRESSURES, spoken
from tui.bench.alarms.scene import LIVE_TELLS, Moment, Rule, Scene
from tui.bench.readings import NAN
from tui.settings.cell_toml import NUMERIC_CHANNELS

ABOUT = {
    "cell_pressure": 60.0, "back_pressure": 60.0, "pore_pressure": 60.0,
    "axial_displacement": 5.0, "axial_load": 500.0, "temperature": 5.0,
}  # fmt: skip
"""Farther than this and back within three readings nothing goes. A volume gauge that jumps was
refilled. [kPa], [mm], [N], [°C]"""
FLOWING = ("back_volume", "cell_volume", "axial_displacement")
"""Flow and travel come to rest, and a gauge that stands then is well."""
NEAR = 5.0
"""A step below this is within every limit of `ABOUT`."""
NO_PRESSURE = -100.0
"""Below the vacuum: no gauge pressure at all. [kPa]"""
BEYOND = 0.01
"""Of its range, beyond its end: a gauge of volume, travel or load that stops there has its own
alarm before. [-]"""
CONTINUOUS = 3
"""Readings in a row until a channel without one is missed: some are read now and then only."""
OFTEN = 2.0
"""Times its longest gap so far: a pattern of empty fields is no fault. [-]"""
LOOKED = 400
"""Rows of a phase in which is told whether a channel has noise."""
CALM = 2
"""Readings near to each other after a jump: it was a step."""
TURNS = 12
"""Reversals by more than one count that show noise."""


class _Channel:
    """One gauge, and what is known of how it behaves."""

    __slots__ = (
        "alike", "alike_since", "base", "calm", "count", "drop", "jumps", "least", "logged",
        "longest", "most", "name", "run", "turned", "turns", "value", "way", "without",
    )  # fmt: skip

    def __init__(self, name: str, least: float, most: float) -> None:
        self.name, self.least, self.most = name, least, most
        self.value = NAN
        """The newest one."""
        self.logged = NAN
        """The newest one of the log: a live file may show another zero."""
        self.run = 0
        """Readings in a row."""
        self.without = self.longest = 0
        """Rows without one by now, and at most until there was one again."""
        self.alike, self.alike_since = 1, 0.0
        self.jumps: tuple[float, ...] = ()
        """Times of rows since it began to jump about. [s]"""
        self.way = 0.0
        """Where its last jump went, and where the first one came from."""
        self.base, self.calm, self.turned = 0.0, 0, False
        self.forget()

    def forget(self) -> None:
        """A new phase: what noise it has is told anew."""
        self.count, self.turns, self.drop = inf, 0, 0.0

    def copy(self) -> "_Channel":
        other = object.__new__(_Channel)
        for name in self.__slots__:
            setattr(other, name, getattr(self, name))
        return other

    def learn(self, value: float) -> None:
        """Count reversals by more than one count of the gauge."""
        step = value - self.value
        if step == 0.0 or isnan(step):
            return
        self.count = min(self.count, abs(step))
        if step * self.drop < 0.0 and min(abs(step), abs(self.drop)) > 1.5 * self.count:
            self.turns += 1
        self.drop = step


class SensorFault(Rule):
    """Each channel on its own."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "sensor-fault"
        self._rows, good = int(limits(kind, "rows")), limits(kind, "good")
        self._alike = int(limits(kind, "alike"))
        self._channels = [_Channel(name, *_span(name, scene)) for name in NUMERIC_CHANNELS]
        self._places = {one.name: k for k, one in enumerate(self._channels, start=1)}
        self._faults = {
            name: board.condition(kind, "warning", about=name, rows=self._rows, good_rows=good)
            for name in NUMERIC_CHANNELS
        }
        self._shared = scene.aims.one_transducer
        self._step_kPa = scene.aims.cell_step_kPa
        self._phase = ""
        self._looked = 0
        self._live_has: frozenset[str] = frozenset()
        self._doubtful: frozenset[str] = frozenset()
        """Channels of which more is asked than whether they are within their range."""

    def copy(self, board: Board) -> "SensorFault":
        other = super().copy(board)
        other._channels = [one.copy() for one in self._channels]
        return other

    def begin(self, now: Moment) -> None:
        if now.phase != self._phase:
            self._phase, self._looked = now.phase, 0
            for one in self._channels:
                one.forget()

    def add(self, now: Moment) -> None:
        reading, gauges, doubtful = now.reading, now.gauges, self._doubtful
        learns = self._looked < LOOKED
        self._looked += 1
        for place, one in enumerate(self._channels, start=1):
            value = reading[place]
            step = value - one.value  # type: ignore[operator]
            if learns:
                one.learn(value)  # type: ignore[arg-type]
            if step == 0.0:
                # One that has no noise to show may stand.
                calm = one.turns < TURNS and one.least < value < one.most  # type: ignore[operator]
            elif -NEAR < step < NEAR:
                calm = one.least < value < one.most and one.alike == 1  # type: ignore[operator]
            elif isnan(value) and one.run == one.without == 0:  # type: ignore[arg-type]
                continue  # it never showed anything
            else:
                calm = False
            if calm and not gauges and one.name not in doubtful:
                one.value = value  # type: ignore[assignment]
                if not now.live:
                    one.logged = value  # type: ignore[assignment]
                one.run += 1
                continue
            self._look_at(one, now)

    def _look_at(self, one: _Channel, now: Moment) -> None:
        value: float = getattr(now.reading, one.name)
        fault = self._faults[one.name]
        if isnan(value):
            self._without(one, now)
        else:
            if now.live:
                self._live_has |= {one.name}
            one.longest, one.without = max(one.longest, one.without), 0
            one.run += 1
            beyond, stands = self._out_of_range(one, now), self._stands(one, value, now)
            # A jump beyond the range is one as well.
            about = None
            if not now.live:
                about = self._jumps_about(one, value, now)
                one.logged = value
            said = beyond or stands or about
            one.value = value
            if said is not None or not fault.quiet:
                self.board.tell(fault, said is not None, now.time, said or "")
        quiet = fault.quiet and not one.jumps and one.without == 0 and one.alike == 1
        settled = one.name in self._doubtful
        if quiet == settled:
            self._doubtful = self._doubtful - {one.name} if quiet else self._doubtful | {one.name}

    def _without(self, one: _Channel, now: Moment) -> None:
        if one.run == 0 and one.without == 0:
            return  # it never showed anything
        if now.live and (one.name not in LIVE_TELLS or one.name not in self._live_has):
            return
        one.without += 1
        if one.run < CONTINUOUS and self._faults[one.name].quiet:
            one.run = 0
            return
        if one.without <= OFTEN * one.longest:
            return
        said = f"{spoken(one.name)} shows no number"
        self.board.tell(self._faults[one.name], True, now.time, said)

    def _out_of_range(self, one: _Channel, now: Moment) -> str | None:
        shown = now.gauge(one.name)
        if one.least < shown < one.most:
            return None
        unit = NUMERIC_CHANNELS[one.name]
        end = one.most if shown >= one.most else one.least
        return f"{spoken(one.name)} {shown:.4g} {unit}, beyond what it can show ({end:.4g} {unit})"

    def _stands(self, one: _Channel, value: float, now: Moment) -> str | None:
        """The same number again and again, of a channel that had noise, while others move."""
        if value != one.value or one.name in FLOWING:
            one.alike = 1
            return None
        if one.alike == 1:
            one.alike_since = now.time
        one.alike += 1
        if one.alike < self._alike or one.turns < TURNS or value == 0.0:
            return None
        others = [o for o in self._channels if o is not one and o.turns >= TURNS]
        if 2 * sum(o.alike < self._alike // 4 for o in others) < max(len(others), 1):
            return None
        fault = self._faults[one.name]
        said = (
            f"{spoken(one.name)} {value:.4g} {NUMERIC_CHANNELS[one.name]} in {one.alike} readings "
            f"in a row, limit {self._alike}, while other channels move"
        )
        if fault.quiet:
            for _ in range(self._rows - 1):
                self.board.tell(fault, True, one.alike_since, said)
        return said

    def _jumps_about(self, one: _Channel, value: float, now: Moment) -> str | None:
        """Far, and back again, within three readings; there and further is a step."""
        far = ABOUT.get(one.name)
        if far is None or (self._shared and one.name in ("back_pressure", "pore_pressure")):
            return None
        if one.name in PRESSURES:
            far = max(far, 1.2 * self._step_kPa)
        fault, step = self._faults[one.name], value - one.logged
        if not one.jumps:
            if abs(step) > far:
                one.jumps, one.base, one.way = (now.time,), one.logged, step
                one.calm, one.turned = 0, False
            return None
        jumped = abs(step) > far
        one.calm = 0 if jumped else one.calm + 1
        if jumped:
            one.turned, one.way = one.turned or step * one.way < 0.0, step
        # Back where it was it was a spike; two readings that agree are a level.
        if abs(value - one.base) <= 0.5 * far or one.calm >= CALM:
            one.jumps = ()
            return None
        one.jumps = (*one.jumps[-self._rows + 1 :], now.time)
        if not (jumped and one.turned and len(one.jumps) >= self._rows):
            return None
        said = (
            f"{spoken(one.name)} jumps about, to {value:.4g} {NUMERIC_CHANNELS[one.name]}, by more "
            f"than {far:.4g} {NUMERIC_CHANNELS[one.name]} and back from one reading to the next"
        )
        if not fault.raised:
            for moment in one.jumps[:-1]:
                self.board.tell(fault, True, now.time, said, since=moment)
        return said


def _span(name: str, scene: Scene) -> tuple[float, float]:
    """Between which values a gauge can be right; its end counts for a pressure alone."""
    low, high = scene.ends.get(name, (-inf, inf))
    if name in PRESSURES:
        return max(low, NO_PRESSURE), high
    if name == "temperature":
        return max(low, -40.0), min(high, 100.0)
    wide = BEYOND * (high - low if high < inf and low > -inf else max(abs(high), 0.0))
    return low - (wide if low > -inf else 0.0), high + (wide if high < inf else 0.0)
