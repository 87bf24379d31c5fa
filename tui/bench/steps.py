"""The steps of one cell that have begun, and what follows the readings to tell the next.

Who says what counts here: a mark or a word of the log's column forces a step; what the readings
tell begins one only where neither forbids it.
"""

from dataclasses import dataclass
from typing import Self

from tui.bench.aims import Aims
from tui.bench.moves import Moves
from tui.bench.picture import PhaseName, PhaseSource
from tui.bench.ram import Ram
from tui.bench.readings import Reading
from tui.bench.twins import twin
from tui.bench.valve import Valve


@dataclass(frozen=True, slots=True)
class Begun:
    """The beginning of a phase and step."""

    name: PhaseName
    step: str | None
    start: float
    """Time of its first reading. [s]"""
    source: PhaseSource = "inferred"


class Steps:
    """What has begun; marks and a log column may force it."""

    def __init__(self, aims: Aims) -> None:
        self.aims = aims
        self.cell = Moves("cell_pressure")
        self.back = Moves("back_pressure")
        self.ram = Ram(aims.height_mm, aims.volume_ml, aims.friction_N, aims.uplift_mm2)
        self.valve = Valve(aims.draining_due_s)
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
        self._dissipated = False
        """Half of the excess pore pressure has gone since drainage opened."""
        self._rests_since: float | None = None
        """Cell pressure stands since then while drainage is closed to be loaded. [s]"""
        self._cell_top: float | None = None
        self._cell_low: Reading | None = None
        """First reading of a fall of cell pressure in shear, which its newest reading shows."""
        self._last: Reading | None = None
        self._previous: Reading | None = None

    def copy(self) -> Self:
        """An independent inference in the same state."""
        other = twin(self)
        other.cell, other.back = self.cell.copy(), self.back.copy()
        other.ram, other.valve = self.ram.copy(), self.valve.copy()
        return other

    @property
    def now(self) -> Begun:
        """The span that lasts."""
        return self.spans[-1]

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
            self._cell_top, self._cell_low, self._touched = self.cell.value, None, None
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
        """Begin a span, set back to its first reading; what began later never was.

        A mark stands: what happened before it is no news to who made it. Only a step of the same
        phase may still be told from it, and then it begins with the mark.
        """
        if self.pinned and (self.step_pinned or name != self.now.name):
            return
        marked = next((span for span in reversed(self.spans) if span.source == "marks"), None)
        if marked is not None and start <= marked.start:
            if name == marked.name and self.now == marked:
                self._relabel(Begun(name, step, marked.start, "marks"))
            return
        source: PhaseSource = self.now.source if self.pinned else "inferred"
        kept = tuple(span for span in self.spans if span.start < start)
        self.spans = (*kept, Begun(name, step, start, source))

    def _relabel(self, begun: Begun) -> None:
        self.spans = (*self.spans[:-1], begun)

    def _count_from(self, zero: Reading | None) -> None:
        """A stage of consolidation counts from here; the first one is kept besides."""
        earlier = [span for span in self.spans[:-1] if span.step == "drained"]
        if self.zero_first_stage is None or not earlier:
            self.zero_first_stage = zero
        self.zero_consolidation, self._dissipated = zero, False
