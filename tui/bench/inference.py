"""Phases and steps told from the readings alone, row by row.

A boundary is often understood some readings after it has passed (a slow rise, an opened valve);
it is then set back to the first reading that belongs to the new phase. The contract, section 4,
says where each phase begins.
"""

from math import isnan

from tui.bench.readings import Reading
from tui.bench.shear_steps import ShearSteps
from tui.bench.steps import Begun

RAMP_S = 300.0
"""Cell and back pressure rising together for this long is a ramp, not a set step. [s]"""


class Inference(ShearSteps):
    """The phase of one cell as its readings tell it; marks and a log column may force it."""

    def add(self, reading: Reading) -> None:
        """Follow one reading."""
        self._previous, self._last = self._last, reading
        cell_moves = self.cell.add(reading)
        hidden = self.aims.one_transducer and reading.drainage == "closed"
        back_moves = False if hidden else self.back.add(reading)
        stand = not (self.cell.moving or self.back.moving)
        self.ram.add(reading, pressures_stand=stand, undrained=self._follow_dissipation(reading))
        opened = self.valve.add(reading, cell_stands=not self.cell.moving)
        if not self.spans:
            self._begin_log(reading)
        elif self.now.name == "setup":
            self._in_setup(reading, cell_moves, back_moves)
        elif self.now.name == "saturation":
            self._in_saturation(reading, cell_moves, back_moves, opened)
        elif self.now.name == "consolidation":
            self._in_consolidation(reading, back_moves, opened)
        elif self.now.name == "shear":
            self._in_shear(reading)

    def _begin_log(self, reading: Reading) -> None:
        cell, back = reading.cell_pressure, reading.back_pressure
        if not isnan(back) and back > 10.0 and cell > back:  # the log begins under pressure
            self.spans = (Begun("saturation", "hold", reading.time),)
        else:
            step = "hold" if not isnan(cell) and cell > 5.0 else "mount"
            self.spans = (Begun("setup", step, reading.time),)
        self.valve.closed(reading)
        self.ram.at_rest(reading)

    def _in_setup(self, reading: Reading, cell_moves: bool, back_moves: bool) -> None:
        if self.aims.test == "UU":
            if cell_moves and self.cell.rise > 0 and self.now.step == "mount":
                self._begin("setup", "hold", _time(self.cell.first, reading))
                self.ram.at_rest(reading)
            else:
                self._maybe_shear()
            return
        if back_moves and self.back.rise > 0:
            self._begin("saturation", "raise", self._both_began(reading))
        elif cell_moves and self.cell.rise > 0 and self.now.step == "mount":
            self._begin("setup", "hold", _time(self.cell.first, reading))

    def _both_began(self, reading: Reading) -> float:
        """First reading of a raise, cell pressure counted in when it rose just before."""
        back = _time(self.back.first, reading)
        if self.cell.moving and self.cell.rise > 0 and self.now.name == "saturation":
            return min(back, _time(self.cell.first, reading))
        return back

    def _in_saturation(
        self, reading: Reading, cell_moves: bool, back_moves: bool, opened: bool
    ) -> None:
        if back_moves and self.back.rise > 0:
            self._begin("saturation", "raise", self._both_began(reading))
            return
        if (
            cell_moves
            and self.cell.rise > 0
            and not self.back.moving
            and reading.drainage != "open"
        ):
            assert self.cell.before is not None
            self._begin("saturation", "b-check", _time(self.cell.first, reading))
            self.valve.closed(self.cell.before)
            return
        if reading.drainage == "open" and self._loads_drained():
            return
        if self.now.step == "raise" and not self.step_pinned and self._ramps(reading):
            self._relabel(Begun("saturation", "ramp", self.now.start, self.now.source))
        if self.now.step in ("raise", "ramp") and not (self.back.moving or self.cell.moving):
            stood = max(self.back.stood_since or 0.0, self.cell.stood_since or 0.0)
            # A raise that one reading shows whole still is a step of its own.
            self._begin("saturation", "hold", stood if stood > self.now.start else reading.time)
        elif self.now.step == "b-check":
            self._towards_consolidation(opened)
            if opened and self.now.step == "b-check" and reading.drainage == "open":
                # The log says that drainage was opened without a raise: the check is over.
                self._begin("saturation", "hold", reading.time)

    def _ramps(self, reading: Reading) -> bool:
        cell, back = self.cell, self.back
        if not (cell.moving and back.moving and cell.rise > 0 and back.rise > 0):
            return False
        assert cell.first is not None
        assert back.first is not None
        return reading.time - max(cell.first.time, back.first.time) >= RAMP_S

    def _loads_drained(self) -> bool:
        """Loading to the consolidation stress with drainage open is drained from its begin."""
        cell, beyond = self.cell, self.aims.build_up_above_kPa
        if not (cell.moving and cell.rise > 0 and cell.first and cell.value is not None):
            return False
        if beyond is None or self.back.value is None or cell.value - self.back.value <= beyond:
            return False
        self._begin("consolidation", "drained", cell.first.time)
        if self.now.name == "consolidation":
            self._count_from(cell.before)
            self.ram.at_rest(cell.first)
        return True

    def _towards_consolidation(self, opened: bool) -> None:
        if self.cell.value is None or self.back.value is None:
            return
        difference = self.cell.value - self.back.value
        beyond = self.aims.build_up_above_kPa
        wanted = self.aims.effective_stress_kPa
        if beyond is not None and difference > beyond:
            self._begin("consolidation", "build-up", self.now.start)
        elif (
            opened
            and beyond is None
            and wanted is not None
            and abs(difference - wanted) <= max(3.0, 0.05 * wanted)
        ):
            self._drained()

    def _drained(self) -> None:
        assert self.valve.first is not None
        self._begin("consolidation", "drained", self.valve.first.time)
        if self.now.name == "consolidation":
            self._count_from(self.valve.before)
            self.ram.at_rest(self.valve.first)

    def _in_consolidation(self, reading: Reading, back_moves: bool, opened: bool) -> None:
        if self.now.step != "drained":
            if opened:
                self._drained()
            elif back_moves and self.back.rise > 5.0 and self.now.step == "build-up":
                # It was a large check after all: back pressure follows.
                self._relabel_as_check()
                self._begin("saturation", "raise", _time(self.back.first, reading))
            else:
                self._may_shear_undrained(reading)
            return
        if back_moves and self.back.rise > 5.0 and self._drained_from_check():
            self._relabel_as_check()
            self._begin("saturation", "raise", _time(self.back.first, reading))
            return
        if opened:  # the phase was named before the first flow was seen: the flow sets the zero
            self._count_from(self.valve.before)
        if self._new_stage(reading):
            assert self.cell.before is not None
            self._begin("consolidation", "build-up", _time(self.cell.first, reading))
            self.valve.closed(self.cell.before)
            return
        self._maybe_shear()

    def _new_stage(self, reading: Reading) -> bool:
        """Whether cell pressure is raised with drainage closed after this stage began to drain."""
        cell = self.cell
        return (
            cell.moving
            and cell.first is not None
            and cell.first.time > self.now.start
            and cell.rise > self.aims.new_stage_above_kPa
            and reading.drainage != "open"
        )

    def _drained_from_check(self) -> bool:
        """Whether drainage seemed to open after a usual check: what flowed was gas dissolving."""
        before = self.spans[-2] if len(self.spans) > 1 else self.now
        return (before.name, before.step) == ("saturation", "b-check") and not self.valve.is_gauged

    def _relabel_as_check(self) -> None:
        """Back pressure follows: it was a check after all."""
        if self.pinned or self.now.source == "marks":
            return
        if self.now.step == "drained":
            self.spans = self.spans[:-1]
            self.zero_consolidation = self.zero_first_stage = None
        else:
            self._relabel(Begun("saturation", "b-check", self.now.start))


def _time(found: Reading | None, otherwise: Reading) -> float:
    return (found or otherwise).time
