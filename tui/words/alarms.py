"""Alarms in words: kind, priority, state, age; which of them come first; who is on duty."""

from collections.abc import Iterable
from datetime import tzinfo
from typing import NamedTuple

from tui.bench.alarms.spells import PRIORITIES, Alarm, Spell
from tui.bench.picture import Bench, Cell, Guard
from tui.words.plain import PLAIN, Manner, plain, sanitise
from tui.words.times import age, moment

KIND_WORDS: dict[str, str] = {
    "over-pressure": "pressure too high",
    "effective-stress-low": "effective stress too low",
    "effective-stress-high": "effective stress too high",
    "membrane-burst": "membrane burst",
    "saturation-stalled": "saturation stalled",
    "pressure-drift": "pressure drifts",
    "pressure-unsteady": "pressure unsteady",
    "supply-lost": "supply lost",
    "leak-membrane": "membrane leaks",
    "leak-cell": "cell leaks",
    "leak-drainage": "drainage leaks",
    "drainage-state": "drainage stands wrong",
    "volume-gauge-end": "volume gauge at its end",
    "log-silent": "log silent",
    "watch-sparse": "readings far apart",
    "reading-missed": "reading missed",
    "schedule-ends-early": "schedule ends early",
    "sensor-fault": "gauge at fault",
    "zero-offset": "zero is off",
    "consolidation-overdue": "consolidation overdue",
    "rate-too-fast": "rate too fast",
    "shear-stopped": "shear stopped",
    "load-not-taken": "load not taken",
    "travel-limit": "range nearly used up",
    "strain-limit": "strain limit reached",
    "phase-complete": "phase complete",
    "temperature-swing": "temperature swings",
    "clock-jump": "clock jumped",
    "disk-low": "disk nearly full",
}
"""What a kind of alarm is called where people read it; commands and routes go by the kind."""
_SIGNS = {"urgent": "▲", "warning": "△", "note": "▫"}
WHOLE_BENCH = "bench"
"""Stands for the cell of what concerns the bench as a whole, as in the commands."""


class Raised(NamedTuple):
    """An alarm and where it is."""

    folder: str
    """Of the cell; "" for the bench as a whole."""
    cell: str
    """As people call it."""
    alarm: Alarm

    @property
    def key(self) -> tuple[str, str, str | None]:
        """What it stays the same alarm by."""
        return self.folder, self.alarm.kind, self.alarm.about


def raised(bench: Bench) -> tuple[Raised, ...]:
    """All alarms of a bench, the most pressing first: urgent before warning, unanswered before
    acknowledged, the older one first; then what has cleared and nobody knows, then what is shelved.
    """
    found = [Raised("", WHOLE_BENCH, alarm) for alarm in bench.alarms]
    found += [Raised(cell.folder, cell.cell, one) for cell in bench.cells for one in cell.alarms]
    return tuple(sorted(found, key=lambda one: _pressing(one.alarm)))


def _pressing(alarm: Alarm) -> tuple[int, int, int, float]:
    place = 0 if alarm.counts else 2 if alarm.state == "shelved" else 1
    known = alarm.state != "unacknowledged"
    return place, -PRIORITIES.index(alarm.priority), known, alarm.raised_at


def not_judged(bench: Bench) -> tuple[Cell, ...]:
    """Cells of which no alarm can come: without a reading, or not told until something is mended.

    Where no test runs there is nothing to judge.
    """
    return tuple(
        cell
        for cell in bench.cells
        if not cell.idle
        and (cell.live is None or any(one.severity == "error" for one in cell.problems))
    )


def shared_by(cell: Cell, alarms: Iterable[Alarm]) -> tuple[Alarm, ...]:
    """Those alarms of the bench that a cell has a part in."""
    return tuple(alarm for alarm in alarms if cell.folder in alarm.cells)


def kind_words(alarm: Alarm | Spell) -> str:
    """What is the matter, and with which channel or part: "pressure drifts, cell pressure"."""
    kind = KIND_WORDS.get(alarm.kind, sanitise(alarm.kind, 40).replace("-", " "))
    return f"{kind}, {sanitise(alarm.about, 40).replace('_', ' ')}" if alarm.about else kind


def kinds_words(kinds: Iterable[str]) -> str:
    """Several kinds, such as what follows from one."""
    return ", ".join(KIND_WORDS.get(one, sanitise(one, 40)) for one in kinds)


def alarm_sign(alarm: Alarm | Spell, manner: Manner = PLAIN) -> str:
    """A sign for its priority."""
    return plain(_SIGNS[alarm.priority], manner)


def priority_words(alarm: Alarm, manner: Manner = PLAIN) -> str:
    """Sign and priority; an exclamation mark says that nobody has acknowledged it.

    Example:
        >>> from dataclasses import replace
        >>> one = Alarm("log-silent", None, "urgent", "unacknowledged", 0.0, 0.0, *"mcea", 60.0)
        >>> priority_words(one), priority_words(replace(one, state="acknowledged"))
        ('▲ urgent!', '▲ urgent')
    """
    open_ = "!" if alarm.state == "unacknowledged" else ""
    return f"{alarm_sign(alarm, manner)} {alarm.priority}{open_}"


def alarm_ink(alarm: Alarm) -> str:
    """Name of its colour; what nobody has acknowledged stands on a ground of its own."""
    if not alarm.counts:
        return "dim"
    is_open = alarm.state == "unacknowledged"
    if alarm.priority == "urgent":
        return "alarm" if is_open else "bad"
    if alarm.priority == "warning":
        return "alert" if is_open else "warn"
    return "strong" if is_open else "text"


def state_words(alarm: Alarm, zone: tzinfo, now: float) -> str:
    """Where it stands in its life."""
    if alarm.state == "acknowledged":
        by = sanitise(alarm.acknowledged_by or "", 30)
        return f"acknowledged by {by}" if by else "acknowledged"
    if alarm.state == "shelved":
        until = alarm.shelved_until
        return "shelved" if until is None else f"shelved until {moment(until, zone, now)}"
    if alarm.state in ("returned", "out-of-phase"):
        over = "cleared" if alarm.state == "returned" else "its phase ended"
        when = "" if alarm.cleared_at is None else f" {moment(alarm.cleared_at, zone, now)}"
        return f"{over}{when}, unacknowledged"
    return "unacknowledged again, its shelf is over" if alarm.after_shelf else "unacknowledged"


def state_word(alarm: Alarm) -> str:
    """The same in one word, or two."""
    words = {"returned": "cleared", "out-of-phase": "phase over"}
    return words.get(alarm.state, alarm.state)


def since_words(alarm: Alarm, zone: tzinfo, now: float) -> str:
    """Onset and age: "since today 11:28, 31 min"."""
    return f"since {moment(alarm.since, zone, now)}, {age(now - alarm.since)}"


def counts_words(bench: Bench) -> list[tuple[str, str, str, str]]:
    """How many stand by priority: sign, words, ink, and the number alone; notes are not counted."""
    standing = [one.alarm for one in raised(bench) if one.alarm.counts]
    told = []
    for priority in ("urgent", "warning"):
        own = [alarm for alarm in standing if alarm.priority == priority]
        if own:
            is_open = "!" if any(alarm.state == "unacknowledged" for alarm in own) else ""
            plural = "s" if priority == "warning" and len(own) > 1 else ""
            words = f"{len(own)} {priority}{plural}{is_open}"
            told.append((_SIGNS[priority], words, alarm_ink(own[0]), f"{len(own)}{is_open}"))
    return told


def duty_words(guard: Guard) -> str:
    """Whether somebody keeps the night watch, and how old its last beat is."""
    old = "" if guard.beat_age_s is None else f", last beat {age(guard.beat_age_s)} ago"
    host = sanitise(guard.host, 30) if guard.host else ""
    if guard.on_duty:
        return f"on duty{f': {host}' if host else ''}{old}"
    return f"nobody on duty (was {host}{old})" if host else "nobody on duty"
