"""B checks: each rise of cell pressure with drainage closed, from the readings around it.

Works on the steps that `phases` tells, so that marks and a log column count here as well.
"""

from math import isnan

import numpy as np

from reduce.saturation import settled_index
from tui.bench.moves import Moves
from tui.bench.picture import BCheck
from tui.bench.readings import Reading
from tui.bench.steps import Begun
from tui.bench.twins import twin

HELD_S = 120.0
"""Cell pressure must have held this long before a reading can count as settled. [s]"""
SEEN_KPA = 4.0
"""A rise of cell pressure below this is no check. [kPa]"""
KEPT = 64
"""Readings kept after the settled one."""
LOOKED_BACK = 8
"""Readings before a rise of which one may serve where the last lacks a pressure."""
PATIENCE = 0.02
"""While unsettled, looked at again when this share of its duration has passed."""


class Checks:
    """The B checks of one cell; the last may still run."""

    def __init__(self) -> None:
        self._finished: tuple[BCheck, ...] = ()
        self._running: _Running | None = None
        self._whole: tuple[Reading, ...] = ()
        """The newest readings that have both pressures."""

    def copy(self) -> "Checks":
        """An independent fold in the same state."""
        other = twin(self)
        other._running = self._running.copy() if self._running else None
        return other

    def add(self, reading: Reading, span: Begun, cell: Moves, previous: Reading | None) -> None:
        """Follow one reading.

        Args:
            reading: it.
            span: the step that it belongs to.
            cell: how cell pressure moves, as of this reading.
            previous: the reading before it.
        """
        if not (isnan(reading.cell_pressure) or isnan(reading.pore_pressure)):
            self._whole = (*self._whole[-LOOKED_BACK:], reading)
        closed = (span.name, span.step) in (
            ("saturation", "b-check"),
            ("consolidation", "build-up"),
        )
        running = self._running
        if running is not None and not closed:
            self._finish(before=span.start)
            running = None
        elif running is not None and self._moves_anew(running, cell):
            self._finish(before=cell.first.time if cell.first else None)
            running = None
        if not closed or (running is None and cell.moving and cell.rise < 0):
            return
        if running is None:
            before = self._last_before(cell, previous, reading)
            running = self._running = _Running(self._whole_at(before))
        if cell.moving and cell.first is not None and cell.before is not None:
            if running.move is None:
                running.begin(self._whole_at(cell.before))
            running.move = cell.first
        running.add(reading, None if cell.moving else cell.stood_since)

    def _whole_at(self, before: Reading) -> Reading:
        """The last reading up to one that has both pressures; itself if none has."""
        return next((one for one in reversed(self._whole) if one.time <= before.time), before)

    @staticmethod
    def _moves_anew(running: "_Running", cell: Moves) -> bool:
        """Another rise is another check; a fall to the old pressure ends this one."""
        return (
            cell.moving
            and cell.first is not None
            and running.move is not None
            and cell.first.time > running.move.time
        )

    @staticmethod
    def _last_before(cell: Moves, previous: Reading | None, reading: Reading) -> Reading:
        if cell.moving and cell.before is not None:
            return cell.before
        return previous or reading

    def _finish(self, before: float | None) -> None:
        assert self._running is not None
        if before is not None:
            self._running.cut(before)
        check = self._running.check(finished=True)
        if check is not None:
            self._finished = (*self._finished, check)
        self._running = None

    @property
    def finished(self) -> tuple[BCheck, ...]:
        """Every check that is over, in order."""
        return self._finished

    @property
    def all(self) -> tuple[BCheck, ...]:
        """Every check in order, the running one last."""
        check = self._running.check(finished=False) if self._running else None
        return self._finished if check is None else (*self._finished, check)


class _Running:
    """The check that is being made."""

    def __init__(self, before: Reading) -> None:
        self.before = before
        self.move: Reading | None = None
        self._rows: list[Reading] = []
        self._held_since: float | None = None
        self._settled: int | None = None
        self._looked_at = -np.inf

    def copy(self) -> "_Running":
        other = twin(self)
        other._rows = self._rows.copy()
        return other

    def begin(self, before: Reading) -> None:
        """Cell pressure has begun to move: what came before is no part of the check."""
        self.before = before
        self._rows = [row for row in self._rows if row.time > before.time]
        self._settled, self._looked_at = None, -np.inf

    def add(self, reading: Reading, held_since: float | None) -> None:
        if isnan(reading.pore_pressure) or isnan(reading.cell_pressure):
            return
        if held_since != self._held_since:
            self._held_since, self._settled = held_since, None
        self._rows.append(reading)
        if self._settled is not None and len(self._rows) > self._settled + KEPT:
            # Once settled only the last matters; some before it too, for a cut understood late.
            del self._rows[self._settled + 1]
        passed = reading.time - self.before.time
        if reading.time - self._looked_at >= PATIENCE * passed:
            self._look()

    def cut(self, before: float) -> None:
        """Leave out readings that belong to what came after, as was understood later."""
        if self._rows and self._rows[-1].time >= before:
            self._rows = [row for row in self._rows if row.time < before]
            self._settled = None
            self._looked_at = -np.inf

    def _look(self) -> None:
        if self._held_since is None or self._settled is not None or not self._rows:
            return
        self._looked_at = self._rows[-1].time
        times = np.array([row.time for row in self._rows])
        pore = np.array([row.pore_pressure for row in self._rows])
        self._settled = settled_index(times, pore, self._held_since)

    def check(self, *, finished: bool) -> BCheck | None:
        if not self._rows:
            return None
        self._look()
        last = self._rows[-1]
        settled = self._rows[self._settled] if self._settled is not None else last
        rise = settled.cell_pressure - self.before.cell_pressure
        rise_last = last.cell_pressure - self.before.cell_pressure
        pore = settled.pore_pressure - self.before.pore_pressure
        pore_last = last.pore_pressure - self.before.pore_pressure
        if not (rise >= SEEN_KPA and rise_last >= SEEN_KPA and not isnan(pore)):
            return None
        back = self.before.back_pressure
        return BCheck(
            at=settled.time,
            began=self.before.time,
            back_pressure_kPa=back if not isnan(back) else None,
            delta_cell_kPa=rise,
            delta_pore_kPa=pore,
            B=pore / rise,
            B_last=pore_last / rise_last,
            settled=self._settled is not None,
            finished=finished,
        )
