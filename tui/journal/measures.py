"""The measure of the alarms: how many, how often for nothing, how long unanswered.

Figures to compare with are those of EEMUA 191 and ISA-18.2 / IEC 62682 for a control room (from
memory): a bench with a night shift of one should lie far below them.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, tzinfo
from statistics import median

from tui.journal.acts import Act
from tui.journal.entries import Entry

DAY_S = 86400.0
NIGHT_BEGINS_H, NIGHT_ENDS_H = 20, 7
CHATTER, CHATTER_S = 3, 60.0
"""An alarm that is raised so often within so long chatters (ISA-18.2, from memory)."""
STANDING_S = DAY_S
"""One that stands longer than this is stale (ISA-18.2, from memory). [s]"""
FLOOD, FLOOD_S = 10, 600.0
"""More than so many within so long are a flood (EEMUA 191, from memory)."""
COMPARED = (
    ("per day", "about 150 a day are acceptable, 300 the most that is manageable (EEMUA 191)"),
    ("chattering", "none (ISA-18.2)"),
    ("standing", "fewer than 5 on any day (ISA-18.2)"),
    ("most frequent", "the ten together below 5 % of all, if there are many (ISA-18.2)"),
    ("floods", "below 1 % of the time (ISA-18.2)"),
    ("priorities", "about 80 % low, 15 % middle, 5 % high (EEMUA 191)"),
)
"""What the standards say of each, all from memory."""

Identity = tuple[str, str | None, str, str | None]
"""Cell, test, kind, about."""


@dataclass(frozen=True, slots=True)
class Measures:
    """Of the alarms of one bench over one stretch of time; notes are counted apart."""

    begins: float | None = None
    """The first entry of the night watch. [s]"""
    ends: float | None = None
    alarms: int = 0
    """Warnings and urgent alarms that were raised."""
    notes: int = 0
    by_priority: dict[str, int] = field(default_factory=dict)
    nights: tuple[tuple[str, int], ...] = ()
    """(date on which it begins, alarms), from 20:00 to 07:00 of the bench."""
    per_day: float | None = None
    chattering: tuple[tuple[str, int], ...] = ()
    """Cell and kind, and how often within a minute at most."""
    standing: tuple[tuple[str, float], ...] = ()
    """Cell and kind that stood longer than a day, and for how long. [s]"""
    most_frequent: tuple[tuple[str, int], ...] = ()
    floods: int = 0
    to_acknowledge_s: float | None = None
    """Median from raising to the first acknowledgement. [s]"""
    longest_to_acknowledge_s: float | None = None
    never_acknowledged: int = 0
    """Of those that were raised."""


def measure(entries: Iterable[Entry], zone: tzinfo, now: float) -> Measures:
    """The measures of everything that the night watch has written.

    Args:
        entries: of the journal that hold by now; undone ones are left out.
        zone: of the bench, for its nights.
        now: an alarm that still stands has stood until then. [s]
    """
    counted = [entry.act for entry in entries if entry.undone_by is None]
    watch = [act for act in counted if act.kind in ("raised", "cleared", "duty")]
    if not watch:
        return Measures()
    begins, ends = min(act.held_at for act in watch), max(now, *(act.held_at for act in watch))
    raised = [act for act in watch if act.kind == "raised"]
    alarms = [act for act in raised if act.priority != "note"]
    answered = [_answered(act, counted) for act in alarms]
    known = [seconds for seconds in answered if seconds is not None]
    days = (ends - begins) / DAY_S
    return Measures(
        begins,
        ends,
        len(alarms),
        len(raised) - len(alarms),
        dict(Counter(act.priority or "warning" for act in alarms)),
        _nights(alarms, zone, begins, ends),
        len(alarms) / days if days >= 1.0 else None,
        _chattering(alarms),
        _standing(alarms, watch, now),
        tuple(Counter(_name(act) for act in alarms).most_common(10)),
        _floods(alarms),
        median(known) if known else None,
        max(known, default=None),
        len(alarms) - len(known),
    )


def _identity(act: Act) -> Identity:
    return act.cell, act.test, act.alarm or "", act.about


def _name(act: Act) -> str:
    about = f" ({act.about})" if act.about else ""
    return f"{act.cell or 'bench'} {act.alarm}{about}"


def _answered(alarm: Act, acts: Sequence[Act]) -> float | None:
    """How long until somebody acknowledged it; None if nobody has."""
    since = [
        act.held_at - alarm.held_at
        for act in acts
        if act.kind == "acknowledge"
        and act.held_at >= alarm.held_at
        and (act.cell, act.alarm) == (alarm.cell, alarm.alarm)
        and act.about in (None, alarm.about)
    ]
    return min(since, default=None)


def _nights(
    alarms: Sequence[Act], zone: tzinfo, begins: float, ends: float
) -> tuple[tuple[str, int], ...]:
    """Every night that was watched, also those in which nothing was raised."""
    first, last = (_night_of(moment, zone) for moment in (begins, ends))
    found = {(first + timedelta(days=day)).isoformat(): 0 for day in range((last - first).days + 1)}
    for act in alarms:
        at = datetime.fromtimestamp(act.held_at, zone)
        if at.hour >= NIGHT_BEGINS_H or at.hour < NIGHT_ENDS_H:
            found[_night_of(act.held_at, zone).isoformat()] += 1
    return tuple(found.items())


def _night_of(moment: float, zone: tzinfo) -> date:
    """The date on whose evening the night of a moment begins, or began last."""
    at = datetime.fromtimestamp(moment, zone)
    return (at - timedelta(hours=NIGHT_ENDS_H)).date()


def _chattering(alarms: Sequence[Act]) -> tuple[tuple[str, int], ...]:
    times: dict[Identity, list[Act]] = defaultdict(list)
    for act in alarms:
        times[_identity(act)].append(act)
    found = []
    for own in times.values():
        at = sorted(act.held_at for act in own)
        most = max(sum(1 for b in at if a <= b < a + CHATTER_S) for a in at)
        if most >= CHATTER:
            found.append((_name(own[0]), most))
    return tuple(sorted(found, key=lambda one: -one[1]))


def _standing(
    alarms: Sequence[Act], watch: Sequence[Act], now: float
) -> tuple[tuple[str, float], ...]:
    found = []
    for act in alarms:
        over = [
            one.held_at
            for one in watch
            if one.kind == "cleared"
            and _identity(one) == _identity(act)
            and one.held_at >= act.held_at
        ]
        lasted = min(over, default=now) - act.held_at
        if lasted > STANDING_S:
            found.append((_name(act), lasted))
    return tuple(sorted(found, key=lambda one: -one[1]))


def _floods(alarms: Sequence[Act]) -> int:
    """How many times more than ten came within ten minutes."""
    floods, at = 0, sorted(act.held_at for act in alarms)
    begin = 0
    while begin < len(at):
        inside = sum(1 for moment in at[begin:] if moment < at[begin] + FLOOD_S)
        floods += inside > FLOOD
        begin += inside if inside > FLOOD else 1
    return floods
