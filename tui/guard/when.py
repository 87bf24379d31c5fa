"""When a route is used and for what: priority, kinds, days, hours, escalation, reminders. Pure.

Hours are those of the bench's wall clock; over midnight they belong to the day on which they begin.
A route that is used `after` a while is used only while nobody has acknowledged for that long. What
is shelved, returned or out of phase is told to nobody. A note needs nobody's word, so it is told
once; everything else is told again every `repeat` while nobody has acknowledged it.

Whoever was told that something was raised is told that it is over, at any hour: somebody may be on
the way.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from fnmatch import fnmatchcase
from typing import Literal

from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.spells import PRIORITIES, Alarm
from tui.bench.attended import Attended
from tui.bench.picture import Bench, Cell
from tui.guard.ledger import WATCH, Key, Ledger, Line
from tui.guard.troubles import Trouble
from tui.settings.alarm_tables import Route

What = Literal["raised", "after a shelf", "reminder", "cleared"]
REPEAT_S = 30 * 60.0
"""Between reminders, where the bench does not say. [s]"""
STALE_S = 24 * 3600.0
"""That something is over is no news after this time. [s]"""
ROUTED_NOTES = frozenset(kind.name for kind in KINDS.values() if kind.routed)
"""Notes that ask for hands: told by every route whose kinds allow it."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing that is due on a route."""

    what: What
    key: Key
    due_at: float
    """Since when. [s]"""
    line: Line
    cell: Cell | None = None
    """None where it is about the bench or the watch."""
    alarm: Alarm | None = None
    """None where it is over, or about the watch."""
    remains: Alarm | None = None
    """Of one that is over: the alarm of the same kind and part that still stands."""

    @property
    def rank(self) -> int:
        """The higher, the more pressing; what is over presses nobody."""
        if self.what == "cleared":
            return -1
        order: Sequence[str] = PRIORITIES
        return order.index(self.key.priority) if self.key.priority in order else 0

    @property
    def is_urgent(self) -> bool:
        """Whether it waits for no company."""
        return self.what != "cleared" and self.key.priority == "urgent"


def is_open(route: Route, at: float, zone: tzinfo) -> bool:
    """Whether a moment lies in the days and hours of a route.

    Example:
        >>> from datetime import UTC, datetime
        >>> night = Route.model_validate(
        ...     {"name": "n", "to": "env:N", "days": "Fri", "hours": "20:00-07:00"}
        ... )
        >>> saturday_1_am = datetime(2031, 2, 8, 1, tzinfo=UTC).timestamp()
        >>> is_open(night, saturday_1_am, UTC), is_open(night, saturday_1_am + 86400, UTC)
        (True, False)
    """
    times = Attended.of(f"{''.join(route.days.split())} {route.hours}", zone)
    return times is None or times.until_end(at) > 0.0


def carries(route: Route, kind: str, priority: str) -> bool:
    """Whether a route is meant for such an alarm at all."""
    if kind != WATCH and not any(fnmatchcase(kind, pattern) for pattern in route.kinds):
        return False
    if kind in ROUTED_NOTES and priority == "note":
        return True
    order: Sequence[str] = PRIORITIES
    return priority in order and order.index(priority) >= order.index(route.least)


def due(
    ledger: Ledger,
    bench: Bench,
    route: Route,
    repeat_s: float | None,
    troubles: Sequence[Trouble] = (),
) -> list[Notice]:
    """What should have been told by a route at the moment of the picture, and was not.

    Args:
        ledger: with everything of the picture in it.
        bench: the picture.
        route: as in the settings.
        repeat_s: between reminders. [s]
        troubles: of the watch itself; a route is not asked to tell that it fails itself.
    """
    found = list(_over(ledger, bench, route))
    if is_open(route, bench.at, bench.zone):
        found += _standing(ledger, bench, route, repeat_s or REPEAT_S)
        found += _of_the_watch(ledger, bench.at, route, troubles)
    return found


def _standing(ledger: Ledger, bench: Bench, route: Route, repeat_s: float) -> Iterator[Notice]:
    lines: dict[tuple[object, ...], Line] = {}
    for line in ledger.open():  # of several that are open the newest is the one that counts
        lines[line.key.identity] = line
    for cell, alarm in _alarms(bench):
        if alarm.state != "unacknowledged" or not carries(route, alarm.kind, alarm.priority):
            continue
        folder = "" if cell is None else cell.folder
        test = None if cell is None or cell.idle else cell.test_id
        known = lines.get((folder, test, alarm.kind, alarm.about, alarm.priority))
        if known is None:
            continue
        announced = alarm.announced_at or alarm.raised_at
        since = announced + route.after_s
        if bench.at < since:
            continue
        told = [one.at for one in ledger.told(known.key, route.name) if one.what != "cleared"]
        if not told:
            what: What = "after a shelf" if alarm.after_shelf else "raised"
            yield Notice(what, known.key, since, known, cell, alarm)
        elif alarm.after_shelf and announced > max(told):
            yield Notice("after a shelf", known.key, since, known, cell, alarm)
        elif alarm.priority != "note" and bench.at >= max(told) + repeat_s:
            yield Notice("reminder", known.key, max(told) + repeat_s, known, cell, alarm)


def _over(ledger: Ledger, bench: Bench, route: Route) -> Iterator[Notice]:
    cells = {cell.folder: cell for cell in bench.cells}
    for line in ledger.ended(route.name):
        if (line.cleared_at or 0.0) < bench.at - STALE_S:
            continue
        cell = cells.get(line.key.cell)
        alarms = bench.alarms if cell is None else cell.alarms
        same = (one for one in alarms if (one.kind, one.about) == (line.key.kind, line.key.about))
        remains = next((one for one in same if one.counts), None)
        yield Notice("cleared", line.key, line.cleared_at or 0.0, line, cell, remains=remains)


def _of_the_watch(
    ledger: Ledger, at: float, route: Route, troubles: Sequence[Trouble]
) -> Iterator[Notice]:
    patience = {(one.cell, one.name): one.patience_s for one in troubles}
    for line in ledger.open():
        if line.key.kind != WATCH or line.key.about == f"route {route.name}":
            continue
        if not carries(route, WATCH, line.key.priority) or ledger.told(line.key, route.name):
            continue
        since = line.key.since + patience.get((line.key.cell, line.key.about or ""), 0.0)
        if at >= since:
            yield Notice("raised", line.key, since, line)


def _alarms(bench: Bench) -> Iterator[tuple[Cell | None, Alarm]]:
    for cell in bench.cells:
        if not cell.being_read:
            for alarm in cell.alarms:
                yield cell, alarm
    for alarm in bench.alarms:
        yield None, alarm
