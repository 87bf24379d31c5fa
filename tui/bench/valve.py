"""Whether drainage has just been opened: from the log's word, else from what flows out, or from
how the log is read.

Common practice, no source: what counts as flow is taken well above the resolution of the usual
volume gauges (0.01 ml) and below the first reading of a consolidation curve.
"""

from math import isnan

from tui.bench.outflow import Outflow, Sunk
from tui.bench.read_as_draining import ReadAsDraining
from tui.bench.readings import Reading
from tui.bench.twins import twin

QUIET_ML, FLOW_ML = 0.03, 0.10
"""Outflow that is noise, and outflow that is flow, of a specimen of any size: it is the gauge that
is noisy, and a large specimen of clay gives its first tenth of a millilitre slowly. [ml]"""
CELL_QUIET_ML, CELL_FLOW_ML = 0.06, 0.20
"""The same of the water that a shrinking specimen draws into the cell. [ml]"""
QUIET_KPA, FALL_KPA = 0.7, 3.0
"""The same for a fall of pore pressure. [kPa]"""
SOON_S = 400.0
"""Gas that dissolves makes a specimen shrink and its pore pressure fall as well, but slower: what
needs longer than this for such a flow is none. [s]"""


class Valve:
    """Follows one closed stretch; `first` is set once drainage is seen to open."""

    __slots__ = (
        "_back",
        "_cell",
        "_gauged",
        "_pore",
        "_quiet",
        "_read",
        "_sunk",
        "_word",
        "before",
        "first",
    )

    def __init__(self, draining_due_s: tuple[float, ...] = ()) -> None:
        """Nothing has been read.

        Args:
            draining_due_s: slots by which rows tell that drainage was opened; see
                `read_as_draining`. [s]
        """
        self._read = ReadAsDraining(draining_due_s)
        self._back = Outflow(QUIET_ML, FLOW_ML)
        self._cell = Outflow(CELL_QUIET_ML, CELL_FLOW_ML, SOON_S, drifts=True)
        self._pore = Outflow(QUIET_KPA, FALL_KPA, SOON_S, drifts=True)
        self._sunk = Sunk()
        self._word: str | None = None
        self._quiet: Reading | None = None
        self._gauged = False
        self.before: Reading | None = None
        """Last reading before drainage opened."""
        self.first: Reading | None = None
        """First reading after it."""

    def copy(self) -> "Valve":
        """An independent valve in the same state."""
        other = twin(self)
        other._back, other._cell = self._back.copy(), self._cell.copy()
        other._pore, other._sunk = self._pore.copy(), self._sunk.copy()
        other._read = self._read.copy()
        return other

    @property
    def is_gauged(self) -> bool:
        """Whether the volume that leaves is measured."""
        return self._gauged

    def closed(self, reading: Reading) -> None:
        """Begin a new closed stretch at this reading."""
        self.before = self.first = None
        self._quiet = reading
        for one in (self._back, self._cell, self._pore, self._sunk, self._read):
            one.closed(reading)
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
        if self._read.add(reading) and cell_stands:
            self.before, self.first = self._read.before, self._read.first
            return True
        if not isnan(reading.back_volume):
            self._gauged = True
            return self._tells(self._back, reading, reading.back_volume)
        # A single volume that is missing is not told by pore pressure instead.
        if self._gauged:
            return False
        if not cell_stands:  # a cell gives way to its pressure, and pores follow it
            for flow in (self._cell, self._pore, self._sunk):
                flow.closed(reading)
            return False
        return (
            self._tells(self._cell, reading, -reading.cell_volume)
            or self._tells(self._pore, reading, reading.pore_pressure)
            or self._tells(self._sunk, reading, reading.pore_pressure)
        )

    def _tells(self, flow: Outflow | Sunk, reading: Reading, value: float) -> bool:
        if isnan(value) or not flow.add(reading, value):
            return False
        self.before, self.first = flow.before, flow.first
        return True
