"""Whether drainage has just been opened: from the log's word, else from what flows out.

Common practice, no source: what counts as flow is taken well above the resolution of the usual
volume gauges (0.01 ml) and below the first reading of a consolidation curve.
"""

import copy
from math import isnan

from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading

QUIET_ML, FLOW_ML = 0.03, 0.10
"""Outflow that is noise, and outflow that is flow, of a specimen of any size: it is the gauge that
is noisy, and a large specimen of clay gives its first tenth of a millilitre slowly. [ml]"""
QUIET_KPA, FALL_KPA = 1.0, 4.0
"""The same for a fall of pore pressure where no volume is measured. [kPa]"""
CREEP_S = 1800.0
"""Between the two for this long is creep (temperature, tubes), not an opened valve. [s]"""


class Valve:
    """Follows one closed stretch; `first` is set once drainage is seen to open."""

    __slots__ = (
        "_away",
        "_gauged",
        "_level",
        "_quiet",
        "_word",
        "before",
        "first",
    )

    def __init__(self) -> None:
        self._level: float | None = None
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self._word: str | None = None
        self._gauged = False
        self.before: Reading | None = None
        """Last reading before drainage opened."""
        self.first: Reading | None = None
        """First reading after it."""

    def copy(self) -> "Valve":
        """An independent valve in the same state."""
        return copy.copy(self)

    def closed(self, reading: Reading) -> None:
        """Begin a new closed stretch at this reading."""
        self.before = self.first = self._away = None
        self._level, self._quiet = None, reading
        self._word = reading.drainage

    def add(self, reading: Reading, *, cell_stands: bool) -> bool:
        """Follow one reading; True when drainage is recognised as opened by it."""
        if self.first is not None:
            return False
        if reading.drainage is not None:
            opened = reading.drainage == "open" and self._word == "closed"
            self._word = reading.drainage
            if opened:
                self.before, self.first = self._quiet, reading
            self._quiet = reading
            return opened
        if not isnan(reading.back_volume):
            if not self._gauged:  # what pore pressure told so far is no level of a volume
                self._gauged, self._level, self._away = True, None, None
            return self._fell(reading, reading.back_volume, QUIET_ML, FLOW_ML)
        # A single volume that is missing is not told by pore pressure instead.
        if cell_stands and not self._gauged and not isnan(reading.pore_pressure):
            return self._fell(reading, reading.pore_pressure, QUIET_KPA, FALL_KPA)
        return False

    def _fell(self, reading: Reading, value: float, quiet: float, flow: float) -> bool:
        if self._level is None or value > self._level + quiet:
            self._level, self._quiet, self._away = value, reading, None
            return False
        out = self._level - value
        if out <= quiet:
            since = MINUTE_S if self._quiet is None else reading.time - self._quiet.time
            self._level += followed(0.2, since) * (value - self._level)
            self._quiet, self._away = reading, None
            return False
        if self._away is None:
            self._away = reading
        if out > flow:
            self.before, self.first = self._quiet, self._away
            return True
        if reading.time - self._away.time > CREEP_S:
            self._level, self._quiet, self._away = value, reading, None
        return False
