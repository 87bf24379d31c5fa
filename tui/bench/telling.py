"""Phases and checks told row by row, and not misled by a single reading that cannot be right.

Whether a reading was a spike shows with the next one, which is back where the one before was. Until
then it counts; then the row is told again without it. So nothing waits, and a real step, which
stays, is told at once.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tui.bench.aims import Aims
from tui.bench.checks import Checks
from tui.bench.phases import Mark, Phases
from tui.bench.readings import NAN, Reading
from tui.bench.twins import twin
from tui.feed.rows import Rows

JUMPS = {
    "cell_pressure": 4.0,
    "back_pressure": 4.0,
    "pore_pressure": 4.0,
    "back_volume": 0.1,
    "axial_displacement": 0.05,
    "axial_load": 5.0,
}
"""From one reading to the next less than this is no spike worth a look: common practice, no source.
[kPa], [ml], [mm], [N]"""
BACK = 0.25
"""A spike is back where it came from within this share of its size, or beyond. [-]"""
_SHARED = ("back_pressure", "pore_pressure")


@dataclass(frozen=True, slots=True, eq=False)
class _Doubt:
    """A row that jumped, and how things stood before it."""

    before: Reading
    row: Reading
    channels: tuple[str, ...]
    phases: Phases
    checks: Checks

    def without_spikes(self, after: Reading) -> Reading | None:
        """The row without the readings that were spikes; None if none was."""
        spikes = [name for name in self.channels if self._came_back(name, after)]
        without: dict[str, Any] = dict.fromkeys(spikes, NAN)
        return self.row._replace(**without) if spikes else None

    def _came_back(self, name: str, after: Reading) -> bool:
        was, jumped, now = (float(getattr(r, name)) for r in (self.before, self.row, after))
        # Beyond: where a channel goes on its way, a reading against it is behind with the next.
        return (now - was) / (jumped - was) <= BACK


class Telling:
    """What the readings of one cell tell."""

    def __init__(self, aims: Aims, marks: tuple[Mark, ...]) -> None:
        self.phases = Phases(aims, marks)
        self.checks = Checks()
        # A valve that switches one transducer makes its readings jump there and back.
        self._watched = tuple(
            name for name in JUMPS if not (aims.one_transducer and name in _SHARED)
        )
        self._last: Reading | None = None
        self._doubt: _Doubt | None = None

    def copy(self) -> "Telling":
        """An independent fold in the same state."""
        other = twin(self)
        other.phases, other.checks = self.phases.copy(), self.checks.copy()
        return other

    def with_marks(self, marks: tuple[Mark, ...], until: float) -> "Telling":
        """The same under other marks, see `Phases.with_marks`."""
        other = twin(self)
        other.phases, other.checks = self.phases.with_marks(marks, until), self.checks.copy()
        if (doubt := self._doubt) is not None:
            phases = doubt.phases.with_marks(marks, doubt.before.time)
            other._doubt = _Doubt(doubt.before, doubt.row, doubt.channels, phases, doubt.checks)
        return other

    def jumps_in(self, rows: Rows) -> list[bool]:
        """(n,) whether each row lies far from the one before; the first has to be looked at."""
        if len(rows) == 1:
            return [True]
        jumped = np.zeros(len(rows), np.bool_)
        jumped[:1] = True
        for name in self._watched:
            if name in rows.channels:
                jumped[1:] |= np.abs(np.diff(rows.channels[name])) > JUMPS[name]
        found: list[bool] = jumped.tolist()
        return found

    def add(self, reading: Reading, *, may_be_spike: bool = True) -> None:
        """Follow one reading.

        Args:
            reading: the next one.
            may_be_spike: whether it may lie far from the one before, see `jumps_in`.
        """
        doubt, self._doubt = self._doubt, None
        clean = None if doubt is None else doubt.without_spikes(reading)
        if doubt is not None and clean is not None:
            self.phases, self.checks = doubt.phases.copy(), doubt.checks.copy()
            self._last = doubt.before
            self._tell(clean)
            self._last = doubt.before  # what comes next is compared with a reading that was right
        last = self._last
        jumped = self._jumped(last, reading) if may_be_spike and last is not None else ()
        if last is not None and jumped:
            self._doubt = _Doubt(last, reading, jumped, self.phases.copy(), self.checks.copy())
        self._tell(reading)

    def _jumped(self, last: Reading, reading: Reading) -> tuple[str, ...]:
        return tuple(
            name
            for name in self._watched
            if abs(getattr(reading, name) - getattr(last, name)) > JUMPS[name]
        )

    def _tell(self, reading: Reading) -> None:
        self.phases.add(reading)
        told = self.phases.told
        self.checks.add(reading, told.now, told.cell, self._last)
        self._last = reading
