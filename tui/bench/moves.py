"""When a pressure stands, when it moves, and from where: one regulator followed row by row.

Common practice, no source: a regulator that stands wanders by less than 1 kPa; one that is being
set moves by more than 2.5 kPa.
"""

from math import isnan

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading
from tui.bench.twins import twin

QUIET_KPA = 0.8
"""A reading this near to the level is at the level. [kPa]"""
MOVED_KPA = 2.5
"""A reading farther than this from the level has left it. [kPa]"""
SURE_KPA = 8.0
"""Farther than this one reading is enough; nearer, a second one has to say the same. [kPa]"""
CREEP_S = 300.0
"""A reading between the two for this long is a new level, not a move. [s]"""
STAND_KPA = 1.0
"""A pressure that has changed less than this … [kPa]"""
STAND_S = 40.0
"""… for this long stands. [s]"""


class Moves:
    """One pressure: the level at which it stands, or the move that it is in."""

    __slots__ = (
        "_anchor",
        "_away",
        "_beyond",
        "_channel",
        "_quiet",
        "before",
        "first",
        "from_level",
        "level",
        "moving",
        "stood_since",
        "value",
    )

    def __init__(self, channel: str) -> None:
        self._channel = channel
        self.value: float | None = None
        """The newest value. [kPa]"""
        self.level: float | None = None
        """Where it stands or stood before the present move. [kPa]"""
        self.moving = False
        self.first: Reading | None = None
        """First reading of the present or latest move."""
        self.before: Reading | None = None
        """Last reading before that move."""
        self.from_level = 0.0
        """Where that move began. [kPa]"""
        self.stood_since: float | None = None
        """Time of the first reading at the present level. [s]"""
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self._beyond = 0
        self._anchor: Reading | None = None

    def copy(self) -> "Moves":
        """An independent tracker in the same state."""
        return twin(self)

    @property
    def rise(self) -> float:
        """How far the present or latest move has come, upward positive. [kPa]"""
        return 0.0 if self.value is None else self.value - self.from_level

    def add(self, reading: Reading) -> bool:
        """Follow one reading; True when a move is recognised by it."""
        value: float = getattr(reading, self._channel)
        if isnan(value):
            return False
        self.value = value
        if self.level is None:
            self.level, self.stood_since, self._quiet = value, reading.time, reading
            return False
        if self.moving:
            self._follow_move(reading, value)
            return False
        return self._leaves(reading, value)

    def _leaves(self, reading: Reading, value: float) -> bool:
        assert self.level is not None
        away = value - self.level
        if abs(away) <= QUIET_KPA:
            since = MINUTE_S if self._quiet is None else reading.time - self._quiet.time
            self.level += followed(0.1, since) * away
            self._quiet, self._away = reading, None
            return False
        if self._away is None:
            self._away, self._beyond = reading, 0
        self._beyond += 1 if abs(away) > MOVED_KPA else 0
        if abs(away) <= MOVED_KPA or (abs(away) <= SURE_KPA and self._beyond < 2):
            if reading.time - self._away.time > CREEP_S:
                self.level, self._quiet, self._away = value, reading, None
            return False
        self.moving = True
        self.from_level = self.level
        self.first, self.before = self._away, self._quiet
        self._away, self._anchor = None, reading
        return True

    def _follow_move(self, reading: Reading, value: float) -> None:
        assert self._anchor is not None
        if abs(value - getattr(self._anchor, self._channel)) > STAND_KPA:
            self._anchor = reading
        elif reading.time - self._anchor.time >= STAND_S:
            self.moving = False
            self.level, self.stood_since, self._quiet = value, self._anchor.time, reading
