"""Benches, spells and alarms made by hand, and a stand-in for what is followed."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC

from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.picture import Bench, Cell, Live
from tui.guard.announcements import Writer, facts
from tui.guard.company import Bundle
from tui.guard.ledger import Ledger
from tui.guard.when import Notice
from tui.journal.acts import Act
from tui.settings.alarm_tables import Route

BY = Writer("watch", "lab-1")
DAY = 1_927_843_200.0  # Mon 3 Feb 2031, 00:00 UTC


def spell(
    since: float, cleared: float | None = None, kind: str = "over-pressure", **more: object
) -> Spell:
    told = Spell(
        kind, None, "urgent", since, since + 10.0, cleared, message="cell pressure 990 kPa"
    )
    return replace(told, **more)  # type: ignore[arg-type]


def alarm(of: Spell, state: str = "unacknowledged", **more: object) -> Alarm:
    told = Alarm(
        kind=of.kind, about=of.about, priority=of.priority, state=state,  # type: ignore[arg-type]
        since=of.since, raised_at=of.raised_at, message=of.message, cause="a regulator creeps",
        effect="the cell may burst", action="From a distance, lower the pressure",
        respond_s=300.0, cleared_at=of.cleared_at, announced_at=of.raised_at,
    )  # fmt: skip
    return replace(told, **more)  # type: ignore[arg-type]


def cell(name: str, spells: tuple[Spell, ...] = (), **more: object) -> Cell:
    """With an alarm for each spell that lasts, unless other alarms are given."""
    standing = tuple(
        alarm(one) for one in spells if one.cleared_at is None and one.held_back is None
    )
    told = Cell(
        name, name, test_id="T1", test="CU", specimen="BH4", live=Live(at=DAY * 2),
        alarms=standing, spells=spells,
    )  # fmt: skip
    return replace(told, **more)  # type: ignore[arg-type]


def bench(at: float, *cells: Cell, **more: object) -> Bench:
    told = Bench(at=at, folder="b", name="Ferry quay", zone=UTC, cells=cells)
    return replace(told, **more)  # type: ignore[arg-type]


def route(name: str = "phone", **more: object) -> Route:
    return Route.model_validate({"name": name, "to": "env:NOWHERE", **more})


def journalled(ledger: Ledger, picture: Bench) -> list[Act]:
    """Bring the ledger up to date; what was entered."""
    found = facts(ledger, picture, BY, picture.at)
    ledger.take(found)
    return found


def told(ledger: Ledger, notices: tuple[Notice, ...] | list[Notice], by: str, at: float) -> None:
    """A route has carried these."""
    ledger.take(_notified(one, by, at) for one in notices)


def _notified(one: Notice, by: str, at: float) -> Act:
    return Act(
        0, "notified", one.key.cell, one.key.test, at, at, "watch", "lab-1", one.what,
        alarm=one.key.kind, about=one.key.about, priority=one.key.priority,
        since=one.key.since, route=by,
    )  # fmt: skip


def whats(notices: list[Notice]) -> list[tuple[str, str]]:
    return [(one.what, one.key.kind) for one in notices]


def bundle(*notices: Notice, is_summary: bool = False) -> Bundle:
    return Bundle(notices, is_summary)


class StandIn:
    """Shows the picture that was put there last, as of its clock."""

    waits = False

    def __init__(self, now: Callable[[], float], picture: Bench) -> None:
        self._now = now
        self.picture = picture
        self.fails: Exception | None = None
        self.ring: Callable[[], object] = lambda: None

    def beat(self) -> Bench:
        if self.fails is not None:
            raise self.fails
        return replace(self.picture, at=self._now())

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        self.ring = call

    def close(self) -> None:
        """Nothing is held."""
