"""When a specimen begins to take load, from the load itself or from what it does to pore pressure.

Thresholds are common practice, no source.
"""

from dataclasses import dataclass
from math import inf, isnan

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading
from tui.bench.twins import twin

CREEP_S = 3600.0
"""Between noise and load for this long, with a frame at rest, is creep of the gauge. [s]"""
FAR = 3.0
"""So many times what is taken for sure is load, however slowly it came, if the frame went on."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a channel shows without load and with it."""

    noise: float
    """Noise or seating."""
    taken: float
    """What the specimen takes for sure."""
    drift_per_s: float
    """A gauge that gets warmer, or a slow leak, gains about so much. [1/s]"""


LOAD = Bounds(3.0, 8.0, 1.0 / 3600.0)
"""Of axial load. [N]"""
PORE = Bounds(1.0, 4.0, 2.0 / 3600.0)
"""Of pore pressure with drainage closed: secondary compression and leaks raise it as well, but
slowly. [kPa]"""


class Taken:
    """One channel of a ram at rest or on its way, until the specimen takes load."""

    __slots__ = (
        "_away",
        "_bounds",
        "_lowest",
        "_quiet",
        "before",
        "first",
        "known",
        "level",
        "newest",
    )

    def __init__(self, bounds: Bounds) -> None:
        self._bounds = bounds
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self._lowest = inf
        self.level: float | None = None
        """Before the specimen took any."""
        self.newest = float("nan")
        """Of the newest reading; NaN: not read."""
        self.first: Reading | None = None
        """First reading at which the specimen took load."""
        self.before: Reading | None = None
        """Last reading before."""
        self.known: float | None = None
        """Time of the reading by which that was understood. [s]"""

    def copy(self) -> "Taken":
        """An independent one in the same state."""
        return twin(self)

    @property
    def is_far(self) -> bool:
        """Whether it is so much more than at rest that nothing but the frame can have loaded it."""
        return self.newest - self._lowest > FAR * self._bounds.taken

    def at_rest(self, reading: Reading) -> None:
        """Begin to look for load from this reading on."""
        self.first = self.before = self._away = self.known = None
        self._quiet, self.level, self._lowest = reading, None, inf

    def add(self, reading: Reading, value: float, *, frame_rests: bool, gone: bool = False) -> None:
        """Follow one reading.

        Args:
            reading: the next one.
            value: of the channel in it; NaN: not read.
            frame_rests: whether the frame is not known to have moved.
            gone: whether travel shows that it may have gone on all the same.
        """
        self.newest = value
        if isnan(value) or self.first is not None:
            return
        if self.level is None:
            self.level, self._quiet = value, reading
            return
        self._lowest = min(self._lowest, self.level)
        if gone and self.is_far:
            self.first, self.before = self._away or reading, self._quiet
            self.known = reading.time
            return
        away = value - self.level
        if away <= self._bounds.noise:
            self._follow_level(reading, away)
            return
        if self._away is None:
            self._away = reading
        if away > self._bounds.taken:
            self.first, self.before, self.known = self._away, self._quiet, reading.time
        elif reading.time - self._away.time > CREEP_S and frame_rests:
            self.level, self._quiet, self._away = value, reading, None

    def _follow_level(self, reading: Reading, away: float) -> None:
        if self._away is not None and away >= 0.5 * self._bounds.noise:
            return
        assert self.level is not None
        since = MINUTE_S if self._quiet is None else reading.time - self._quiet.time
        # A slow shear adds up: the level must not rise with it.
        rise = self._bounds.drift_per_s * max(since, 0.0)
        self.level += min(followed(0.1, since) * away, rise)
        self._quiet, self._away = reading, None
