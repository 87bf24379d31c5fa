"""What people may answer to an alarm: acknowledge it, shelve it for a while, take a B as it is.

Nothing here writes: a command and a key ask the same questions of the picture, and enter what comes
of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from tui.bench.alarms.life import longest_shelf_s
from tui.bench.alarms.spells import Alarm, AlarmState
from tui.bench.picture import Bench, Cell
from tui.journal.acts import Act, ShelfEnd

Answer = Literal["acknowledge", "shelve"]

_ANSWERED: dict[Answer, tuple[AlarmState, ...]] = {
    "acknowledge": ("unacknowledged", "acknowledged", "returned", "out-of-phase"),
    "shelve": ("unacknowledged", "acknowledged", "shelved"),
}
STILL_OPEN: dict[Answer, tuple[AlarmState, ...]] = {
    "acknowledge": ("unacknowledged", "returned", "out-of-phase"),
    "shelve": ("unacknowledged", "acknowledged"),
}
"""Of those that can be answered, those that somebody who names none means."""
_SAYS = {
    "returned": "has cleared",
    "out-of-phase": "is out of its phase",
    "shelved": "is shelved",
    "acknowledged": "acknowledged",
}

_NOTHING: dict[Answer, str] = {
    "acknowledge": "there is nothing to acknowledge",
    "shelve": "there is nothing to shelve",
}


class CannotAnswerError(Exception):
    """There is nothing of that kind to be answered; one line says what there is."""


class TooLongError(ValueError):
    """A shelf that would outlast the longest one; names the limit."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A B below its target that may be taken."""

    B: float
    """Of the latest finished check."""
    target: float


def alarms_at(bench: Bench, folder: str) -> tuple[Alarm, ...]:
    """What is raised in a cell, with what it shares with others; of the bench as a whole for "".

    Args:
        bench: the picture.
        folder: of the cell.
    """
    if not folder:
        return bench.alarms
    own = next((cell.alarms for cell in bench.cells if cell.folder == folder), ())
    return (*own, *(alarm for alarm in bench.alarms if folder in alarm.cells))


def to_be_answered(
    bench: Bench, folder: str, kind: str, about: str | None, answer: Answer
) -> tuple[Alarm, ...]:
    """The alarms that somebody means: of a kind, and about one thing if that was said.

    Raises:
        CannotAnswerError: there is none, or none in a state to be answered in this way.
    """
    raised = alarms_at(bench, folder)
    meant = [one for one in raised if one.kind == kind and about in (None, one.about)]
    found = tuple(one for one in meant if one.state in _ANSWERED[answer])
    if found:
        return found
    where = _where(bench, folder)
    if meant:
        state = _SAYS.get(meant[0].state, meant[0].state)
        nothing = _NOTHING[answer]
        raise CannotAnswerError(f"{alarm_name(kind, meant[0].about)} in {where} {state}: {nothing}")
    there = "; ".join(_named(one) for one in raised)
    raise CannotAnswerError(
        f"{alarm_name(kind, about)} is not raised in {where}; "
        + (f"raised there: {there}" if there else "nothing is raised there")
    )


def shelf_end(kind: str, held_at: float, for_s: float | None) -> float:
    """The latest end of a shelf. [s]

    Args:
        kind: of the alarm.
        held_at: from when it is shelved. [s]
        for_s: for how long; None for one that something else ends. [s]

    Raises:
        TooLongError: longer than alarms of this kind may be shelved.

    Example:
        >>> shelf_end("log-silent", 0.0, 7200.0), shelf_end("over-pressure", 0.0, None)
        (7200.0, 1800.0)
    """
    longest = longest_shelf_s(kind)
    if for_s is not None and for_s > longest:
        limit = f"{longest / 3600:g} h" if longest >= 3600 else f"{longest / 60:g} min"
        raise TooLongError(f"{kind} may be shelved for {limit} at the longest, not longer")
    return held_at + (longest if for_s is None else for_s)


def answered(
    alarms: Sequence[Alarm],
    answer: Answer,
    cell: str,
    test: str | None,
    held_at: float,
    entered_at: float,
    text: str,
    *,
    for_s: float | None = None,
    ends: ShelfEnd | None = None,
) -> tuple[Act, ...]:
    """Acts about alarms, one each: what is about another channel is not answered with it.

    Raises:
        TooLongError: as `shelf_end`.
    """
    usual = (0, answer, cell, test, held_at, entered_at, "", "", text)
    return tuple(
        Act(
            *usual,
            until=shelf_end(one.kind, held_at, for_s) if answer == "shelve" else None,
            alarm=one.kind,
            about=one.about,
            ends=ends,
            priority=one.priority,
        )
        for one in alarms
    )


def may_be_taken(cell: Cell, target: float) -> Taken:
    """Whether an engineer has a B below its target to decide about.

    Args:
        cell: as it stands.
        target: of the plan. [-]

    Raises:
        CannotAnswerError: it is not in saturation or just after it, or B needs nobody's word.
    """
    phase = cell.phase
    if phase is None:
        raise CannotAnswerError(f"what {cell.cell} is doing is not known: it has no readings")
    just_after = phase.name == "consolidation" and phase.previous == "saturation"
    if phase.name != "saturation" and not just_after:
        raise CannotAnswerError(
            f"{cell.cell} is in {phase.name}: B is taken in saturation, or in consolidation just "
            "after it"
        )
    last = next((one for one in reversed(cell.checks) if one.finished), None)
    if last is None:
        raise CannotAnswerError(f"no B check of {cell.cell} is finished yet: there is no B to take")
    if last.settled and target <= last.B:
        raise CannotAnswerError(
            f"B of {cell.cell} is {last.B:.3f} and meets its target of {target:g}: it needs nobody "
            "to take it"
        )
    return Taken(last.B, target)


def alarm_name(kind: str, about: str | None) -> str:
    """A kind of alarm and what it is about.

    Example:
        >>> alarm_name("pressure-drift", "cell_pressure"), alarm_name("log-silent", None)
        ('pressure-drift (cell_pressure)', 'log-silent')
    """
    return kind if about is None else f"{kind} ({about})"


def _named(alarm: Alarm) -> str:
    state = "" if alarm.state == "unacknowledged" else f", {_SAYS[alarm.state]}"
    return f"{alarm_name(alarm.kind, alarm.about)}{state}"


def _where(bench: Bench, folder: str) -> str:
    if not folder:
        return "the bench as a whole"
    return next((cell.cell for cell in bench.cells if cell.folder == folder), folder)
