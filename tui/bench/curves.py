"""The curves that a phase is judged by, thinned as they grow: pressures, consolidation, shear.

A curve begins at the zero reading of its phase. Because a boundary may be understood late, a
curve whose beginning or end has moved is built anew from the readings, or from how it stood where
they begin to be kept; else it only grows.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from tui.bench.aims import aims_of
from tui.bench.gauges import ends_of, within
from tui.bench.phases import Phases
from tui.bench.pyramid import Pyramid
from tui.bench.readings import OldRowsNeededError, Reading, Readings
from tui.bench.rig import at_set_up
from tui.bench.trace import Trace
from tui.bench.twins import twin
from tui.feed.rows import Column
from tui.settings.cell_toml import CellToml

if TYPE_CHECKING:
    from reduce.reduction.dimensions import Cylinder
    from reduce.shearing.setting import ShearSetting

STRESS_LOST_KPA, STRESS_LOST = 5.0, 0.03
"""Cell or back pressure this far from where it was set is another stress: common practice. [kPa]"""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """From the zero reading to the first reading that no longer belongs; what a curve rests on."""

    zero: Reading
    end: float | None

    def goes_on(self, before: "_Stretch | None", until: float) -> bool:
        """Whether what an earlier stretch held up to a moment is the beginning of this one."""
        if before is None or before.zero.time != self.zero.time:
            return False
        return self.end == before.end or (
            before.end is None and (self.end is None or self.end > until)
        )


_CONSOLIDATION = ("volume", "pore", "stress_kept", "_cell_top", "newest_volume_out")
_SHEAR = (
    *("strain", "deviator", "pore_in_shear", "volumetric", "centre", "top", "newest_shear"),
    *("consolidated", "_setting"),
)
"""What is told of each stretch."""
_TRACES = ("volume", "pore", "strain", "deviator", "pore_in_shear", "volumetric", "centre")


class Curves:
    """All curves of one cell."""

    def __init__(self, settings: CellToml) -> None:
        self._settings = settings
        self._one_transducer = aims_of(settings).one_transducer
        self.ends = ends_of(settings.log)
        """Where the gauges end; readings there enter no curve."""
        self.set_up = at_set_up(settings)
        """The specimen before the test."""
        self.consolidated: Cylinder = self.set_up
        """The specimen at the begin of shear."""
        self._setting: ShearSetting | None = None
        self.pressures = {name: Pyramid() for name in ("cell", "back", "pore")}
        """(time, kPa)."""
        self._drained: _Stretch | None = None
        self._shear: _Stretch | None = None
        self._seen = 0
        self._until = -np.inf
        self._earlier_ml = 0.0
        self._begin_consolidation()
        self._begin_shear()

    def _begin_consolidation(self) -> None:
        self.volume = Trace()
        """(√minutes since zero, ml out of the specimen)."""
        self.pore = Trace()
        """(√minutes since zero, kPa)."""
        self.stress_kept = True
        """Whether cell and back pressure stand where they stood when drainage opened."""
        self._cell_top = float("nan")
        self.newest_volume_out: float | None = None
        """Since zero, whether or not the stress is kept. [ml]"""

    def _begin_shear(self) -> None:
        self.strain = Trace()
        """(time, axial strain)."""
        self.deviator = Trace()
        """(axial strain, kPa)."""
        self.pore_in_shear = Trace()
        """(axial strain, kPa)."""
        self.volumetric = Trace()
        """(axial strain, volumetric strain)."""
        self.centre = Trace()
        """(axial strain, s′ in kPa)."""
        self.top: tuple[float, float, float] | None = None
        """Axial strain, deviator and s′ [kPa] at the greatest deviator up to the strain limit."""
        self.newest_shear: tuple[float, float, float] | None = None
        """Axial strain, deviator [kPa] and volumetric strain of the newest reading."""

    def copy(self) -> "Curves":
        """Independent curves with the same points."""
        other = twin(self)
        other.pressures = {name: trace.copy() for name, trace in self.pressures.items()}
        for name in _TRACES:
            setattr(other, name, getattr(self, name).copy())
        return other

    @property
    def strain_since_set_up(self) -> float | None:
        """Volumetric strain of all stages of consolidation so far. [-]"""
        if self.newest_volume_out is None or isnan(self.newest_volume_out):
            return None
        return (self._earlier_ml + self.newest_volume_out) / self.set_up.volume_ml

    @property
    def zero_consolidation(self) -> Reading | None:
        """The reading from which consolidation is counted."""
        return self._drained.zero if self._drained else None

    @property
    def zero_strain(self) -> Reading | None:
        """The reading from which strain is counted."""
        return self._shear.zero if self._shear else None

    def follow(
        self, readings: Readings, phases: Phases, before: "Callable[[], Curves | None]"
    ) -> None:
        """Take in the readings that have come since the last call.

        Args:
            readings: those that are kept.
            phases: folded from all of them.
            before: tells how the curves stood at the last reading that is not kept.

        Raises:
            OldRowsNeededError: a curve that has moved begins before what is kept.
        """
        since, self._seen = self._seen - readings.passed, readings.total
        self._follow_pressures(readings, since)
        drained = _stretch(phases, "consolidation", phases.told.zero_consolidation)
        first = phases.told.zero_first_stage
        from_row = since
        if drained != self._drained:
            self._drained = drained
            self._begin_consolidation()
            from_row = self._from_row(readings, drained, before, "_drained", _CONSOLIDATION)
        self._follow_consolidation(readings, from_row, first)
        shear = _stretch(phases, "shear", phases.told.zero_strain)
        from_row = since
        if shear != self._shear:
            self._shear = shear
            self._begin_shear()
            from_row = self._from_row(readings, shear, before, "_shear", _SHEAR)
            if from_row == 0:
                self._measure_specimen(readings, phases)
        self._follow_shear(readings, from_row)
        self._until = float(readings.times[-1])

    def _from_row(
        self,
        readings: Readings,
        stretch: _Stretch | None,
        before: "Callable[[], Curves | None]",
        name_before: Literal["_drained", "_shear"],
        told: tuple[str, ...],
    ) -> int:
        """The row from which a curve is built anew; what it was before that is taken over."""
        if stretch is None or stretch.zero.time >= readings.exact_from:
            return 0
        stood = before()
        if stood is None or not stretch.goes_on(getattr(stood, name_before), stood._until):
            raise OldRowsNeededError
        for name in told:
            setattr(self, name, getattr(stood, name))
        return stood._seen - readings.passed

    def _follow_pressures(self, readings: Readings, since: int) -> None:
        columns = readings.as_columns()
        for name, trace in self.pressures.items():
            trace.extend(readings.times[since:], columns[f"{name}_pressure"][since:])

    def _follow_consolidation(self, readings: Readings, since: int, first: Reading | None) -> None:
        if self._drained is None:
            return
        zero = self._drained.zero
        self._earlier_ml = 0.0
        if first is not None and not isnan(first.back_volume - zero.back_volume):
            self._earlier_ml = first.back_volume - zero.back_volume
        span = _span(readings, since, zero.time, self._drained.end)
        if span.start == span.stop:
            return
        columns = self._measured(readings, span)
        roots = np.sqrt((readings.times[span] - zero.time) / 60.0).tolist()
        out = (zero.back_volume - columns["back_volume"]).tolist()
        stands = self._stress_stands(zero, columns["cell_pressure"], columns["back_pressure"])
        for root, volume, pore, stressed in zip(
            roots, out, columns["pore_pressure"].tolist(), stands.tolist(), strict=True
        ):
            self.stress_kept = stressed
            self.newest_volume_out = volume
            if stressed:  # what flows after pressure is lost is no consolidation
                self.volume.add(root, volume)
                self.pore.add(root, pore)

    def _measured(self, readings: Readings, span: slice) -> dict[str, Column]:
        """Some rows without what was read at the end of a gauge."""
        columns = {name: column[span] for name, column in readings.as_columns().items()}
        shown = {name: column[span] for name, column in readings.as_shown().items()}
        return within(columns, shown, self.ends)

    def _stress_stands(self, zero: Reading, cell: Column, back: Column) -> NDArray[np.bool_]:
        """Where cell pressure has not sunk and back pressure is where drainage was opened. (n,)

        Pressures that were not read pass; a transducer shared with pore pressure tells no back
        pressure. Loading with drainage open raises cell pressure after the zero: that is no loss.
        """
        tops = np.fmax.accumulate(np.concatenate([[self._cell_top], cell]))[1:]
        if len(tops):
            self._cell_top = float(tops[-1])
        lost = cell < tops - np.fmax(STRESS_LOST_KPA, STRESS_LOST * tops)
        if not self._one_transducer and not isnan(zero.back_pressure):
            allowed = max(STRESS_LOST_KPA, STRESS_LOST * zero.back_pressure)
            lost |= np.abs(back - zero.back_pressure) > allowed
        return np.logical_not(lost)

    def _measure_specimen(self, readings: Readings, phases: Phases) -> None:
        """Dimensions after consolidation, from its last reading before the ram moved."""
        self.consolidated, self._setting = self.set_up, None
        if self._shear is not None:
            # The reduction of a whole test; one look at cells that are not sheared needs none.
            from tui.bench.specimen_now import sheared_specimen  # noqa: PLC0415

            self.consolidated, self._setting = sheared_specimen(self._settings, readings, phases)

    def _follow_shear(self, readings: Readings, since: int) -> None:
        if self._shear is None or self._setting is None:
            return
        from reduce.shearing.table import shear_table  # noqa: PLC0415 (see _measure_specimen)

        span = _span(readings, since, self._shear.zero.time, self._shear.end)
        if span.start == span.stop:
            return
        columns = self._measured(readings, span)
        found = shear_table(self._setting, columns)
        limit = self._settings.plan.strain_limit
        for time, strain, deviator, pore, volumetric, centre in zip(
            readings.times[span].tolist(),
            found.axial_strain.tolist(),
            found.deviator_kPa.tolist(),
            columns["pore_pressure"].tolist(),
            found.volumetric_strain.tolist(),
            found.centre_effective_kPa.tolist(),
            strict=True,
        ):
            self.strain.add(time, strain)
            self.deviator.add(strain, deviator)
            self.pore_in_shear.add(strain, pore)
            self.volumetric.add(strain, volumetric)
            self.centre.add(strain, centre)
            if strain <= limit and deviator > (self.top[1] if self.top else 0.0):
                self.top = (strain, deviator, centre)
            self.newest_shear = (strain, deviator, volumetric)


def _stretch(phases: Phases, name: str, zero: Reading | None) -> _Stretch | None:
    spans = phases.told.spans
    if zero is None or not any(span.name == name for span in spans):
        return None
    last = max(i for i, span in enumerate(spans) if span.name == name)
    end = spans[last + 1].start if last + 1 < len(spans) else None
    return _Stretch(zero, end)


def _span(readings: Readings, since: int, start: float, end: float | None) -> slice:
    """The rows from `since` on that lie in [start, end)."""
    times = readings.times
    first = max(since, int(times.searchsorted(start)))
    last = len(times) if end is None else int(times.searchsorted(end))
    return slice(first, max(first, last))
