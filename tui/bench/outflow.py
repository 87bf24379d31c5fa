"""When something that stood begins to fall: water in a burette, or pore pressure.

What falls slowly and steadily before (gas that dissolves, a cell wall that creeps) is a drift; only
what falls faster than that has begun to flow.
"""

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading
from tui.bench.twins import twin

CREEP_S = 1800.0
"""Between noise and flow for this long is creep (temperature, tubes), not an opened valve. [s]"""
SUDDEN = 5.0
"""So many times faster than what crept away before, a fall begins with its first reading. [-]"""
SUNK = 0.3
"""Gas that dissolves costs pore pressure less than this share of its excess. [-]"""
SUNK_KPA = 1.0
"""A fall from its highest that is no noise. [kPa]"""


class Outflow:
    """One channel through one closed stretch."""

    __slots__ = (
        *("_away", "_drift", "_drifts", "_flow", "_level", "_newest", "_out", "_quiet_at"),
        "_within_s",
        *("before", "first"),
    )

    def __init__(
        self, quiet: float, flow: float, within_s: float = CREEP_S, *, drifts: bool = False
    ) -> None:
        """Nothing has been read.

        Args:
            quiet: a fall that is noise.
            flow: a fall that is flow.
            within_s: what needs longer from the one to the other is creep. [s]
            drifts: whether what falls steadily is to be told from flow.
        """
        self._quiet_at, self._flow, self._drifts = quiet, flow, drifts
        self._within_s = within_s
        self._level: float | None = None
        self._drift = 0.0
        self._away: Reading | None = None
        self._newest: Reading | None = None
        self._out = 0.0
        self.before: Reading | None = None
        """Last reading before it fell."""
        self.first: Reading | None = None
        """First reading of the fall."""

    def copy(self) -> "Outflow":
        """An independent one in the same state."""
        return twin(self)

    def closed(self, reading: Reading) -> None:
        """Begin anew at this reading."""
        self._level, self._drift, self._away = None, 0.0, None
        self.before, self.first = reading, None

    def add(self, reading: Reading, value: float) -> bool:
        """Follow one reading; True when flow is recognised by it."""
        since = MINUTE_S if self.before is None else reading.time - self.before.time
        level = None if self._level is None else self._level - self._drift * since
        if self._level is None or level is None or value > self._level + self._quiet_at:
            self._level, self.before, self._away, self._drift = value, reading, None, 0.0
            return False
        out = level - value
        if out <= self._quiet_at:
            self._level = level - followed(0.2, since) * out
            if self._drifts and since > 0.0:
                gain = 0.02 * min(since, MINUTE_S) / MINUTE_S / max(since, MINUTE_S)
                self._drift = max(0.0, self._drift + gain * out)
            self.before, self._away = reading, None
            return False
        if self._away is None:
            self._away = self._newest = reading
        elif self._fell_at_once(reading, out):
            self.before, self._away = self._newest, reading
        self._newest, self._out = reading, out
        if out > self._flow:
            self.first = self._away
            return True
        if reading.time - self._away.time > self._within_s:
            self._level, self.before, self._away = value, reading, None
        return False

    def _fell_at_once(self, reading: Reading, out: float) -> bool:
        """Whether what fell so far was the creep before the fall."""
        assert self._newest is not None
        assert self.before is not None
        crept = self._out / max(self._newest.time - self.before.time, 1.0)
        fell = (out - self._out) / max(reading.time - self._newest.time, 1.0)
        return self._drifts and out > self._flow and fell > SUDDEN * crept


class Sunk:
    """Pore pressure that has lost so much of its excess that water must have left, if slowly."""

    __slots__ = ("_fell", "_top", "before", "first")

    def __init__(self) -> None:
        self._top = float("-inf")
        self._fell: Reading | None = None
        self.before: Reading | None = None
        """Last reading near its highest."""
        self.first: Reading | None = None
        """First reading of the fall."""

    def copy(self) -> "Sunk":
        """An independent one in the same state."""
        return twin(self)

    def closed(self, reading: Reading) -> None:
        """Begin anew at this reading."""
        self._top, self._fell = float("-inf"), None
        self.before, self.first = reading, None

    def add(self, reading: Reading, value: float) -> bool:
        """Follow pore pressure; True once it has sunk."""
        self._top = max(self._top, value)
        sunk = self._top - value
        if sunk < SUNK_KPA:
            self.before, self._fell = reading, None
            return False
        self._fell = self._fell or reading
        if sunk > max(4.0 * SUNK_KPA, SUNK * (self._top - reading.back_pressure)):
            self.first = self._fell
            return True
        return False
