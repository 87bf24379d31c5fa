"""Due times of readings: schedules even on the axis on which their readings are plotted.

Due times are seconds after the start of a phase or step; for a schedule of kind "strain" they are
strains. The reading at the start is the zero reading and no slot: slot numbers run from 1.
"""

import math
from dataclasses import dataclass
from decimal import Decimal, Overflow, localcontext
from typing import Literal

from reduce.errors import ReductionError

ScheduleKind = Literal["root", "log", "strain", "times", "every"]

MOST_SLOTS = 100_000
"""More slots than this are a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """When readings are due, in order.

    Raises:
        ReductionError: no slot, more than `MOST_SLOTS`, or due times that are not finite, above
            zero and rising.
    """

    kind: ScheduleKind
    """How it was drawn up."""
    due: tuple[float, ...]
    """Due times after the start, rising; strains for kind "strain". [s] or [-]"""

    def __post_init__(self) -> None:
        what = "strain" if self.kind == "strain" else "time"
        if not 1 <= len(self.due) <= MOST_SLOTS:
            raise ReductionError(
                f"the {self.kind} schedule has {len(self.due)} slots; it needs 1 to {MOST_SLOTS}"
            )
        before = 0.0
        for number, due in enumerate(self.due, start=1):
            if not before < due < math.inf:
                raise ReductionError(
                    f"slot {number} of the {self.kind} schedule is due at {what} {due:g}; "
                    f"it must be finite and after {before:g}"
                )
            before = due


def _exact(name: str, value: float, above: float = 0.0) -> Decimal:
    if not above < value < math.inf:
        raise ReductionError(
            f"{name} of the schedule is {value:g}; it must be finite and above {above:g}"
        )
    # The shortest decimal of a float is what the user wrote: 0.1 % · 3 is then 0.003 exactly.
    return Decimal(repr(float(value)))


def _enough(slots: int) -> range:
    if not 1 <= slots <= MOST_SLOTS:
        raise ReductionError(f"slots of the schedule are {slots}; it needs 1 to {MOST_SLOTS}")
    return range(1, slots + 1)


def root_schedule(step: float, slots: int) -> Schedule:
    """Readings at equal steps of the square root of time: slot k at (step · k)² min.

    Args:
        step: step of √t. [√min]
        slots: how many; the zero reading is not one.

    Returns:
        The schedule; each due time is rounded once. [s]

    Raises:
        ReductionError: a step or number of slots that makes no schedule.

    Source:
        BS 1377-5:1990 and -8:1990, reading times 0.25, 1, 2.25, 4, 9 … min (from memory); they
        are even on the axis of Taylor's √t construction.

    Example:
        >>> [due / 60 for due in root_schedule(0.5, 4).due]
        [0.25, 1.0, 2.25, 4.0]
    """
    with localcontext(prec=50):
        root = _exact("step", step)
        return Schedule("root", tuple(float((root * k) ** 2 * 60) for k in _enough(slots)))


def log_schedule(first_min: float, ratio: float, slots: int) -> Schedule:
    """Readings at equal steps of the logarithm of time: slot k at first · ratio^(k−1).

    Args:
        first_min: due time of the first slot. [min]
        ratio: each due time over the one before, above 1. [-]
        slots: how many; the zero reading is not one.

    Returns:
        The schedule; each due time is rounded once. [s]

    Raises:
        ReductionError: values that make no schedule, or due times that leave all bounds.

    Source:
        Doubling times as in ASTM D2435 (0.25, 0.5, 1, 2, 4, 8 … min, from memory), for the axis
        of Casagrande's log t construction.

    Example:
        >>> [due / 60 for due in log_schedule(0.25, 2.0, 6).due]
        [0.25, 0.5, 1.0, 2.0, 4.0, 8.0]
    """
    due = []
    with localcontext(prec=50) as context:
        context.traps[Overflow] = False
        at, by = _exact("first", first_min) * 60, _exact("ratio", ratio, above=1.0)
        for _ in _enough(slots):
            due.append(float(at))
            at *= by
    return Schedule("log", tuple(due))


def times_schedule(at_s: tuple[float, ...] | list[float]) -> Schedule:
    """Readings at the times of a list.

    Args:
        at_s: due times after the start, rising. [s]

    Raises:
        ReductionError: none, or not rising from above zero.

    Source:
        Common practice, no source: laboratories follow the list of their standard's edition.

    Example:
        >>> times_schedule([6, 15, 30]).due
        (6.0, 15.0, 30.0)
    """
    return Schedule("times", tuple(float(at) for at in at_s))


def every_schedule(step_s: float, slots: int) -> Schedule:
    """Readings at a fixed pace: slot k at step · k.

    Args:
        step_s: the pace. [s]
        slots: how many; the zero reading is not one.

    Raises:
        ReductionError: a step or number of slots that makes no schedule.

    Source:
        Common practice, no source.

    Example:
        >>> every_schedule(0.1, 3).due
        (0.1, 0.2, 0.3)
    """
    return Schedule("every", _multiples(step_s, slots))


def strain_schedule(step: float, slots: int) -> Schedule:
    """Readings at equal steps of axial strain: slot k at step · k.

    Args:
        step: step of strain as a ratio, 0.001 for 0.1 %. [-]
        slots: how many; the zero reading is not one.

    Raises:
        ReductionError: a step or number of slots that makes no schedule.

    Source:
        ASTM D4767: readings at 0.1 % to 1 % strain, then every 1 % (from memory).

    Example:
        >>> strain_schedule(0.001, 3).due
        (0.001, 0.002, 0.003)
    """
    return Schedule("strain", _multiples(step, slots))


def _multiples(step: float, slots: int) -> tuple[float, ...]:
    with localcontext(prec=50):
        each = _exact("step", step)
        return tuple(float(each * k) for k in _enough(slots))


def continued(
    schedule: Schedule, after: float, until: float, most: int = MOST_SLOTS
) -> tuple[float, ...]:
    """The slots with which a schedule that ends too early would go on, by its own law.

    Root, every, strain: slot k as ever. Log and times: each due time over the one before as at
    their end; twice, where a list has one slot.

    Args:
        schedule: what has been drawn up.
        after: slots are later than this, and than the last of the schedule. [s] or [-]
        until: they go on to the first slot at or beyond this. [s] or [-]

        most: slots are looked for.

    Returns:
        Due times after the start. [s] or [-]

    Source:
        Common practice, no source.

    Example:
        >>> [due / 60 for due in continued(root_schedule(0.5, 4), 0.0, 540.0)]
        [6.25, 9.0]
        >>> continued(log_schedule(1.0, 2.0, 3), 500.0, 2000.0)
        (960.0, 1920.0, 3840.0)
    """
    due, number = schedule.due, len(schedule.due)
    at = due[-1]
    more: list[float] = []
    ratio = due[-1] / due[-2] if number > 1 else 2.0
    while at < until and len(more) < most:
        number += 1
        if schedule.kind == "root":
            at = due[0] * number**2
        elif schedule.kind in ("every", "strain"):
            at = due[0] * number
        else:
            at *= ratio
        if at > after:
            more.append(at)
    return tuple(more)
