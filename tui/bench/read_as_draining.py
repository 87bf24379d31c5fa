"""Drainage that was opened, told by how the log is read from then on.

Whoever opens the valve begins the schedule of the consolidation with the reading before it. Where
rows are scheduled readings and that schedule is like no other, its first rows tell the moment, also
of a specimen that gives its water too slowly for the gauge.
"""

from tui.bench.readings import Reading
from tui.bench.schedules import schedule_of
from tui.bench.twins import twin
from tui.settings.cell_toml import CellToml, LogSchedule, RootSchedule

ROWS = 6
"""So many rows in the schedule's own times are no accident."""
LATE_S, LATE = 1.0, 0.03
"""A row may be off its slot by this, or by this share of its time: loggers stamp full seconds."""
STANDS_KPA = 2.0
"""Cell pressure changes by no more meanwhile: a check or a build-up that is read in these slots
begins with its rise. Common practice, no source. [kPa]"""
UNLIKE = 1.2
"""Two schedules of whose first slots none differ by this factor cannot be told apart."""


def draining_due_s(settings: CellToml) -> tuple[float, ...]:
    """The first slots of a consolidation's schedule that tell it; none where nothing does. [s]"""
    table, other = settings.schedule.consolidation, settings.schedule.saturation
    if settings.log.rows != "scheduled" or not isinstance(table, LogSchedule | RootSchedule):
        return ()
    due = schedule_of(table).due[:ROWS]
    beside = () if other is None or other.kind == "strain" else schedule_of(other).due[:ROWS]
    alike = all(max(a, b) < UNLIKE * min(a, b) for a, b in zip(due, beside, strict=False))
    return () if len(due) < ROWS or (beside and alike) else due


class ReadAsDraining:
    """The newest rows of a closed stretch beside those slots."""

    __slots__ = ("_due_s", "_rows", "before", "first")

    def __init__(self, due_s: tuple[float, ...] = ()) -> None:
        """Nothing has been read.

        Args:
            due_s: of the first slots after the zero reading; empty: rows tell nothing. [s]
        """
        self._due_s = due_s
        self._rows: tuple[Reading, ...] = ()
        self.before: Reading | None = None
        """The zero reading."""
        self.first: Reading | None = None
        """The reading after it."""

    def copy(self) -> "ReadAsDraining":
        """An independent one in the same state."""
        return twin(self)

    def closed(self, reading: Reading) -> None:
        """Begin anew at this reading."""
        self._rows = (reading,)

    def add(self, reading: Reading) -> bool:
        """Follow one reading; True when the rows up to it are those of a consolidation."""
        due = self._due_s
        if not due:
            return False
        self._rows = (*self._rows[-len(due) :], reading)
        if len(self._rows) <= len(due):
            return False
        zero = self._rows[0]
        for row, slot in zip(self._rows[1:], due, strict=True):
            if abs(row.time - zero.time - slot) > max(LATE_S, LATE * slot):
                return False
            if not abs(row.cell_pressure - zero.cell_pressure) <= STANDS_KPA:
                return False
        self.before, self.first = zero, self._rows[1]
        return True
