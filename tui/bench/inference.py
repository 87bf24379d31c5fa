"""Phases and steps told from the readings alone, row by row.

A boundary is often understood some readings after it has passed (a slow rise, an opened valve);
it is then set back to the first reading that belongs to the new phase. The contract, section 4,
says where each phase begins.
"""

import copy
from dataclasses import dataclass
from math import isnan

from tui.bench.aims import Aims
from tui.bench.moves import Moves
from tui.bench.picture import PhaseName, PhaseSource
from tui.bench.ram import Ram
from tui.bench.readings import Reading
from tui.bench.shear_end import Sheared, ended_since
from tui.bench.valve import Valve

RAMP_S = 300.0
"""Cell and back pressure rising together for this long is a ramp, not a set step. [s]"""
CONTACT_S = 1200.0
"""A dock that the frame does not go on with for this long was contact only. [s]"""


@dataclass(frozen=True, slots=True)
class Begun:
    """The beginning of a phase and step."""

    name: PhaseName
    step: str | None
    start: float
    """Time of its first reading. [s]"""
    source: PhaseSource = "inferred"


class Inference:
    """The phase of one cell as its readings tell it; marks and a log column may force it."""

    def __init__(self, aims: Aims) -> None:
        self.aims = aims
        self.cell = Moves("cell_pressure")
        self.back = Moves("back_pressure")
        self.ram = Ram(aims.height_mm, aims.volume_ml, aims.friction_N, aims.uplift_mm2)
        self.valve = Valve()
        self.spans: tuple[Begun, ...] = ()
        self.pinned = False
        """A log column names the phases: only steps are inferred."""
        self.step_pinned = False
        """It names the steps as well: nothing is inferred."""
        self.zero_consolidation: Reading | None = None
        """Last reading before drainage opened."""
        self.zero_first_stage: Reading | None = None
        """The same of the first stage, where consolidation has several."""
        self.zero_strain: Reading | None = None
        """Last reading of the dock, else the first of the shear."""
        self._touched: float | None = None
        """First reading of the shear itself, as far as it was told from the readings. [s]"""
        self._rests_since: float | None = None
        """Cell pressure stands since then while drainage is closed to be loaded. [s]"""
        self._cell_top: float | None = None
        self._last: Reading | None = None
        self._previous: Reading | None = None

    def copy(self) -> "Inference":
        """An independent inference in the same state."""
        other = copy.copy(self)
        other.cell, other.back = self.cell.copy(), self.back.copy()
        other.ram, other.valve = self.ram.copy(), self.valve.copy()
        return other

    @property
    def now(self) -> Begun:
        """The span that lasts."""
        return self.spans[-1]

    def add(self, reading: Reading) -> None:
        """Follow one reading."""
        self._previous, self._last = self._last, reading
        cell_moves = self.cell.add(reading)
        hidden = self.aims.one_transducer and reading.drainage == "closed"
        back_moves = False if hidden else self.back.add(reading)
        self.ram.add(reading)
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

    def force(
        self, name: PhaseName, step: str | None, reading: Reading, source: PhaseSource
    ) -> None:
        """A mark or the log's column says what begins with this reading (already added)."""
        if self.spans and (self.now.name, self.now.step) == (name, step):
            self._relabel(Begun(name, step, self.now.start, source))
            return
        same_phase = bool(self.spans) and self.now.name == name
        if step is None and same_phase:
            self._relabel(Begun(name, self.now.step, self.now.start, source))
            return
        start = reading.time
        if step is None:
            step = self._usual_first_step(name, reading)
            if self.spans and self.now.name == name and self.now.start >= start:
                return
        self.spans = (*(s for s in self.spans if s.start < start), Begun(name, step, start, source))
        before = self._before(reading)
        if name == "consolidation" and step == "drained":
            self._count_from(self.valve.before or before)
        elif name == "consolidation" or (name == "saturation" and step == "b-check"):
            self.valve.closed(before)
        elif name == "shear":
            self._cell_top, self._touched = self.cell.value, None
            self.zero_strain = before if step == "shear" and same_phase else reading

    def _before(self, reading: Reading) -> Reading:
        return self._previous if self._previous is not None else reading

    def _usual_first_step(self, name: PhaseName, reading: Reading) -> str | None:
        if name == "setup":
            return "mount"
        if name == "saturation":
            return "raise" if self.back.moving else "hold"
        if name == "consolidation":
            recent = self.cell.first is not None and self.cell.first.time >= reading.time
            return "build-up" if self.cell.moving and recent else "drained"
        if name == "shear":
            return "shear"
        return None

    def _begin(self, name: PhaseName, step: str | None, start: float) -> None:
        """Begin a span, set back to its first reading; what began later never was."""
        if self.pinned and (self.step_pinned or name != self.now.name):
            return
        source: PhaseSource = self.now.source if self.pinned else "inferred"
        kept = tuple(span for span in self.spans if span.start < start)
        self.spans = (*kept, Begun(name, step, start, source))

    def _relabel(self, begun: Begun) -> None:
        self.spans = (*self.spans[:-1], begun)

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

    def _count_from(self, zero: Reading | None) -> None:
        """A stage of consolidation counts from here; the first one is kept besides."""
        earlier = [span for span in self.spans[:-1] if span.step == "drained"]
        if self.zero_first_stage is None or not earlier:
            self.zero_first_stage = zero
        self.zero_consolidation = zero

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
        if opened:  # the phase was named before the first flow was seen: the flow sets the zero
            self._count_from(self.valve.before)
        if self._new_stage(reading):
            assert self.cell.before is not None
            self._begin("consolidation", "build-up", _time(self.cell.first, reading))
            self.valve.closed(self.cell.before)
            return
        self._maybe_shear()

    def _may_shear_undrained(self, reading: Reading) -> None:
        """Drainage was not seen to open, but the ram loads the specimen: that is shear."""
        stood = None if self.cell.moving else self.cell.stood_since
        if stood != self._rests_since:
            self._rests_since = stood
            self.ram.at_rest(reading)  # a rise of cell pressure moves the piston and its load
        elif stood is not None and self.ram.load.first is not None:
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

    def _relabel_as_check(self) -> None:
        if not self.pinned:
            self._relabel(Begun("saturation", "b-check", self.now.start))

    def _maybe_shear(self) -> None:
        ram = self.ram
        if ram.first is None:
            return
        step = "shear" if ram.load.first is not None else "dock"
        self._begin("shear", step, ram.first.time)
        if self.now.name == "shear":
            self._cell_top = self.cell.value
            self.zero_strain, self._touched = ram.first, None

    def _in_shear(self, reading: Reading) -> None:
        self._follow_touch(reading)
        if self.now.step == "dock" and self._only_contact(reading):
            self.spans = tuple(span for span in self.spans if span.name != "shear")
            self.zero_strain = None
            self.ram.at_rest(reading)
            return
        if self._cell_top is None:
            self._cell_top = self.cell.value
        docking = self.now.step != "shear"
        shear = Sheared(self.ram, self.cell, self._cell_top, self.zero_strain, self.aims, docking)
        if (since := ended_since(shear, reading)) is not None:
            self._begin("ended", None, since)

    def _follow_touch(self, reading: Reading) -> None:
        """Where the dock ends, as far as it is known by now; strain counts from there."""
        told = self.now.step == "shear" and self._touched is None
        if told and (self.now.source == "marks" or self.step_pinned):
            return
        found = self.ram.touch(reading)
        if found is None or found[0].time == self._touched:
            return
        first, zero = found
        docked = next(span.start for span in self.spans if span.name == "shear")
        self._touched = first.time
        if first.time > docked:
            self.zero_strain = zero
            self._begin("shear", "shear", first.time)
        elif not self.step_pinned:
            self._relabel(Begun("shear", "shear", self.now.start, self.now.source))

    def _only_contact(self, reading: Reading) -> bool:
        """Whether the ram was brought to a consolidating specimen and then left: no shear."""
        drained = next((s for s in reversed(self.spans) if s.name != "shear"), None)
        if self.pinned or drained is None or drained.step != "drained":
            return False
        return self.ram.left_alone(reading, CONTACT_S)


def _time(found: Reading | None, otherwise: Reading) -> float:
    return (found or otherwise).time
