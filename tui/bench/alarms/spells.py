"""What an alarm is in the picture: a spell of something that is not as it should be, and its life.

A spell is a fact of the readings: it begins, lasts, ends, whoever looks. An alarm is a spell in the
eyes of people: nobody has acknowledged it yet, somebody has, it is shelved, it has returned.
"""

from dataclasses import dataclass
from typing import Literal

Priority = Literal["note", "warning", "urgent"]
AlarmState = Literal["unacknowledged", "acknowledged", "returned", "shelved", "out-of-phase"]
PRIORITIES: tuple[Priority, ...] = ("note", "warning", "urgent")


@dataclass(frozen=True, slots=True)
class Spell:
    """One stretch of time during which the condition of an alarm held for longer than its delay."""

    kind: str
    """After the contract's list."""
    about: str | None
    """The channel, or the part, that it is about."""
    priority: Priority
    since: float
    """Onset: the first reading at which it was so. [s]"""
    raised_at: float
    """Onset and on-delay, whenever somebody looked. [s]"""
    cleared_at: float | None = None
    """When it was no longer so; None while it lasts. [s]"""
    message: str = ""
    """What was read, with its unit and limit."""
    reason: str = ""
    """Which of the causes that the kind tells apart; its advice differs."""
    by_phase: bool = False
    """Whether it ended because the phase did in which it is judged."""
    held_back: str | None = None
    """The kind of which it is a consequence: it is listed there, and not announced."""
    cells: tuple[str, ...] = ()
    """Of a spell of the bench: the cells that share it, by folder."""
    well_until: float | None = None
    """The last reading before it that showed that it was not so. [s]"""


@dataclass(frozen=True, slots=True)
class Alarm:
    """A spell that people should know of, or do know of."""

    kind: str
    about: str | None
    priority: Priority
    state: AlarmState
    since: float
    raised_at: float
    message: str
    cause: str
    """What usually brings it about."""
    effect: str
    """What comes of it if nobody does anything."""
    action: str
    """What to do, with the usual cautions."""
    respond_s: float
    """Within which time. [s]"""
    consequences: tuple[str, ...] = ()
    """Kinds that are held back because they follow from this one."""
    cleared_at: float | None = None
    """Of one that has returned or is out of its phase. [s]"""
    announced_at: float = 0.0
    """When people had to be told: when it was raised, or a shelf ended and it was still so. [s]"""
    after_shelf: bool = False
    """Whether it is announced again because a shelf has ended."""
    shelved_until: float | None = None
    """The latest end of its shelf. [s]"""
    acknowledged_by: str | None = None
    """Who has, and when, is in the journal."""
    cells: tuple[str, ...] = ()
    """Of an alarm of the bench: the cells that share it, by folder."""

    @property
    def counts(self) -> bool:
        """Whether it stands: shelved and returned ones do not count, acknowledged ones do."""
        return self.state in ("unacknowledged", "acknowledged")
