"""The ram of a cell without axial gauges: its piston drives water out of the cell.

Only the fast approach shows: what a slow shear displaces is lost in what the specimen gives and in
the warmth of the water. Thresholds are common practice, no source.
"""

from math import isnan

from tui.bench.approach import DISPLACED, Approach
from tui.bench.pace import MINUTE_S, followed
from tui.bench.readings import Reading
from tui.bench.twins import twin

QUIET_ML, ENTERED_ML = 0.08, 0.25
"""Water that is noise, and water that a piston drives out: 20 mm wide, it needs 0.8 mm. [ml]"""
SLOW_S = 900.0
"""Between the two for longer is the warmth of the water: 1 °C in a litre is 0.2 ml. [s]"""


class Piston:
    """The volume of the cell's water followed row by row while its pressure stands."""

    __slots__ = ("_away", "_level", "_quiet", "approach", "before", "first")

    def __init__(self) -> None:
        self._level: float | None = None
        self._quiet: Reading | None = None
        self._away: Reading | None = None
        self.first: Reading | None = None
        """First reading at which the piston went in."""
        self.before: Reading | None = None
        """Last reading before."""
        self.approach: Approach | None = None
        """Its way to the specimen."""

    def copy(self) -> "Piston":
        """An independent one in the same state."""
        other = twin(self)
        other.approach = self.approach and self.approach.copy()
        return other

    @property
    def is_gauged(self) -> bool:
        """Whether the water of the cell is measured."""
        return self._quiet is not None

    def at_rest(self) -> None:
        """Begin to look for a piston that goes in."""
        self.first = self.before = self.approach = None
        self._level = self._quiet = self._away = None

    def add(self, reading: Reading, *, cell_stands: bool) -> None:
        """Follow one reading.

        Args:
            reading: the next one.
            cell_stands: a cell gives way to pressure, and takes or gives water.
        """
        if isnan(reading.cell_volume):
            return
        if self.approach is not None:
            if cell_stands:
                self.approach.add(reading)
            return
        if not cell_stands or self._level is None:
            self._level = reading.cell_volume if cell_stands else None
            self._quiet, self._away = reading, None
            return
        self._follow(reading, reading.cell_volume)

    def _follow(self, reading: Reading, value: float) -> None:
        assert self._level is not None
        assert self._quiet is not None
        out = self._level - value
        if out <= QUIET_ML:
            # A specimen that drains draws water into the cell: the level rises at once with it.
            share = 1.0 if out < -QUIET_ML else followed(0.2, reading.time - self._quiet.time)
            self._level -= share * out
            self._quiet, self._away = reading, None
            return
        if self._away is None:
            self._away = reading
        if reading.time - self._quiet.time > SLOW_S + MINUTE_S:
            self._level, self._quiet, self._away = value, reading, None
        elif out > ENTERED_ML:
            self.first, self.before = self._away, self._quiet
            self.approach = Approach(DISPLACED, self._quiet, self._away, reading)
