"""How a shear is told step by step: dock, touch, end; and contact that was no shear."""

from math import isnan

from tui.bench.readings import Reading
from tui.bench.shear_end import Sheared, ended_since
from tui.bench.steps import Begun, Steps

CONTACT_S = 1200.0
"""A dock that the frame does not go on with for this long was contact only. [s]"""


class ShearSteps(Steps):
    """The steps of shear; `Inference` knows when to ask for them."""

    def _follow_dissipation(self, reading: Reading) -> bool:
        """Whether only the ram can raise pore pressure by now: of a test sheared undrained.

        Before most of it has gone pore pressure may rise at the base while the rest drains.
        """
        zero = self.zero_consolidation
        if zero is not None and not self._dissipated:
            left = reading.pore_pressure - reading.back_pressure
            self._dissipated = left < 0.5 * (zero.pore_pressure - zero.back_pressure)
        return self._dissipated and self.aims.test == "CU"

    def _may_shear_undrained(self, reading: Reading) -> None:
        """Drainage was not seen to open, but the ram loads the specimen: that is shear."""
        stood = None if self.cell.moving else self.cell.stood_since
        if stood != self._rests_since:
            self._rests_since = stood
            self.ram.at_rest(reading)  # a rise of cell pressure moves the piston and its load
        elif stood is not None and self.ram.load.first is not None:
            self._maybe_shear()

    def _maybe_shear(self) -> None:
        ram = self.ram
        if ram.first is None:
            return
        step = "dock" if ram.approach is not None and ram.load.first is None else "shear"
        self._begin("shear", step, ram.first.time)
        if self.now.name == "shear":
            self._cell_top, self._cell_low = self.cell.value, None
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
        shear = Sheared(
            self.ram, self.cell, self._cell_top, self.zero_strain, self.aims, docking,
            self._cell_low,
        )  # fmt: skip
        if (since := ended_since(shear, reading)) is not None:
            marked = max((one.start for one in self.spans if one.source == "marks"), default=since)
            # Whoever marked a shear knew that its ram stood: the test goes on until something ends.
            self._begin("ended", None, since if since >= marked else reading.time)
        elif not isnan(reading.cell_pressure):
            self._cell_low = shear.falls(reading)

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
            kept = [s for s in self.spans if (s.name, s.step) != ("shear", "shear")]
            if self.now.source != "marks" and kept[-1].name == "shear":
                self.spans = tuple(kept)  # what was taken for the touch was none
            self._begin("shear", "shear", first.time)
        elif not self.step_pinned:
            self._relabel(Begun("shear", "shear", self.now.start, self.now.source))

    def _only_contact(self, reading: Reading) -> bool:
        """Whether the ram was brought to a consolidating specimen and then left: no shear."""
        drained = next((s for s in reversed(self.spans) if s.name != "shear"), None)
        if self.pinned or drained is None or drained.step != "drained":
            return False
        if any(span.name == "shear" and span.source == "marks" for span in self.spans):
            return False
        return self.ram.left_alone(reading, CONTACT_S)
