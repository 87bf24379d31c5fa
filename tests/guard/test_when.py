"""When which route is used: a table that reads as the contract's `[[alarms.routes]]`."""

from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from made import DAY, alarm, bench, cell, journalled, route, spell, told, whats

from tui.bench.picture import Bench
from tui.guard.ledger import Ledger
from tui.guard.when import Notice, due, is_open
from tui.settings.alarm_tables import Route

H, MIN = 3600.0, 60.0
ON = spell(DAY + 12 * H)


def asked(
    picture: Bench, way: Route, ledger: Ledger | None = None, repeat_s: float | None = None
) -> list[Notice]:
    known = ledger or Ledger()
    journalled(known, picture)
    return due(known, picture, way, repeat_s)


@pytest.mark.parametrize(
    ("kind", "priority", "way", "carried"),
    [
        ("over-pressure", "urgent", {"from": "urgent"}, True),
        ("pressure-unsteady", "warning", {"from": "urgent"}, False),
        ("pressure-unsteady", "warning", {}, True),
        ("clock-jump", "note", {}, False),
        ("clock-jump", "note", {"from": "note"}, True),
        ("strain-limit", "note", {"from": "urgent"}, True),  # a note, and routed
        ("phase-complete", "note", {"from": "urgent"}, True),
        ("phase-complete", "note", {"kinds": ["over-pressure"]}, False),
        ("over-pressure", "urgent", {"kinds": ["over-pressure"]}, True),
        ("over-pressure", "urgent", {"kinds": ["log-silent"]}, False),
    ],
)
def test_priority_and_kinds(
    kind: str, priority: str, way: dict[str, object], carried: bool
) -> None:
    one = replace(ON, kind=kind, priority=priority)  # type: ignore[arg-type]
    notices = asked(bench(one.raised_at, cell("C1", (one,))), route(**way))
    assert whats(notices) == ([("raised", kind)] if carried else [])


@pytest.mark.parametrize(
    ("days", "hours", "day", "hour", "is_so"),
    [
        ("Mon-Sun", "00:00-24:00", 0, 13.0, True),
        ("Mon-Fri", "20:00-07:00", 0, 19.9, False),
        ("Mon-Fri", "20:00-07:00", 0, 20.0, True),
        ("Mon-Fri", "20:00-07:00", 4, 23.0, True),
        ("Mon-Fri", "20:00-07:00", 5, 6.9, True),  # Saturday morning belongs to Friday's night
        ("Mon-Fri", "20:00-07:00", 5, 7.0, False),
        ("Mon-Fri", "20:00-07:00", 5, 23.0, False),
        ("Mon-Fri", "20:00-07:00", 0, 3.0, False),  # Monday morning is Sunday's night
        ("Sat,Sun", "07:00-20:00", 5, 12.0, True),
        ("Sat,Sun", "07:00-20:00", 4, 12.0, False),
        ("Fri-Mon", "07:00-20:00", 6, 12.0, True),
    ],
)
def test_days_and_hours(days: str, hours: str, day: int, hour: float, is_so: bool) -> None:
    oslo = ZoneInfo("Europe/Oslo")
    at = DAY - 1 * H + day * 24 * H + hour * H  # midnight in Oslo in winter
    assert is_open(route(days=days, hours=hours), at, oslo) is is_so


def test_outside_its_hours_a_route_keeps_it_for_later() -> None:
    night = route(hours="20:00-07:00")
    picture = bench(DAY + 13 * H, cell("C1", (ON,)))
    ledger = Ledger()
    assert asked(picture, night, ledger) == []
    assert whats(asked(replace(picture, at=DAY + 20 * H), night, ledger)) == [
        ("raised", "over-pressure")
    ]


def test_escalation_waits_and_only_while_nobody_acknowledges() -> None:
    later = route("chief", after="20 min")
    picture = bench(ON.raised_at + 19 * MIN, cell("C1", (ON,)))
    assert asked(picture, later) == []
    picture = replace(picture, at=ON.raised_at + 20 * MIN)
    assert whats(asked(picture, later)) == [("raised", "over-pressure")]
    known = replace(picture.cells[0], alarms=(alarm(ON, "acknowledged"),))
    assert asked(replace(picture, cells=(known,)), later) == []


@pytest.mark.parametrize("state", ["acknowledged", "returned", "shelved", "out-of-phase"])
def test_only_what_nobody_has_acknowledged_is_told(state: str) -> None:
    picture = bench(ON.raised_at, cell("C1", (ON,), alarms=(alarm(ON, state),)))
    assert asked(picture, route()) == []


@pytest.mark.parametrize(("repeat_s", "first"), [(None, 30 * MIN), (600.0, 10 * MIN)])
def test_reminders_until_somebody_acknowledges(repeat_s: float | None, first: float) -> None:
    ledger, way = Ledger(), route()
    picture = bench(ON.raised_at, cell("C1", (ON,)))
    told(ledger, asked(picture, way, ledger), "phone", picture.at)
    assert asked(replace(picture, at=picture.at + first - 1), way, ledger, repeat_s) == []
    again = replace(picture, at=picture.at + first)
    notices = asked(again, way, ledger, repeat_s)
    assert whats(notices) == [("reminder", "over-pressure")]
    told(ledger, notices, "phone", again.at)
    assert asked(again, way, ledger, repeat_s) == []
    known = replace(again.cells[0], alarms=(alarm(ON, "acknowledged"),))
    much_later = replace(again, at=again.at + 9 * H, cells=(known,))
    assert asked(much_later, way, ledger, repeat_s) == []


def test_a_note_needs_nobodys_word_and_is_told_once() -> None:
    ledger, way = Ledger(), route()
    one = replace(ON, kind="phase-complete", priority="note")
    picture = bench(one.raised_at, cell("C1", (one,)))
    told(ledger, asked(picture, way, ledger), "phone", picture.at)
    assert asked(replace(picture, at=picture.at + 5 * H), way, ledger) == []


def test_a_shelf_that_ended_is_told_though_it_was_told_before() -> None:
    ledger, way = Ledger(), route()
    picture = bench(ON.raised_at, cell("C1", (ON,)))
    told(ledger, asked(picture, way, ledger), "phone", picture.at)
    ends = picture.at + 20 * MIN
    again = alarm(ON, announced_at=ends, after_shelf=True)
    after = bench(ends + 1, cell("C1", (ON,), alarms=(again,)))
    notices = asked(after, way, ledger)
    assert whats(notices) == [("after a shelf", "over-pressure")]
    told(ledger, notices, "phone", after.at)
    assert asked(after, way, ledger) == []


def test_recovery_goes_to_those_who_were_told_at_any_hour() -> None:
    ledger = Ledger()
    by_day, other = route("day", hours="08:00-16:00"), route("other", kinds=["log-silent"])
    picture = bench(ON.raised_at, cell("C1", (ON,)))
    told(ledger, asked(picture, by_day, ledger), "day", picture.at)
    over = replace(ON, cleared_at=DAY + 23 * H)
    after = bench(DAY + 23 * H, cell("C1", (over,), alarms=(alarm(over, "returned"),)))
    notices = asked(after, by_day, ledger)
    assert whats(notices) == [("cleared", "over-pressure")]
    assert asked(after, other, ledger) == []
    told(ledger, notices, "day", after.at)
    assert asked(after, by_day, ledger) == []


def test_a_higher_priority_is_told_though_the_lower_was_and_its_end_says_what_remains() -> None:
    ledger, way = Ledger(), route()
    low = replace(ON, kind="effective-stress-low", priority="warning")
    high = replace(low, priority="urgent", since=low.since + 100, raised_at=low.raised_at + 100)
    first = bench(low.raised_at, cell("C1", (low,)))
    told(ledger, asked(first, way, ledger), "phone", first.at)
    second = bench(high.raised_at, cell("C1", (low, high), alarms=(alarm(high),)))
    notices = asked(second, way, ledger)
    assert [(one.what, one.key.priority) for one in notices] == [("raised", "urgent")]
    told(ledger, notices, "phone", second.at)
    over = replace(high, cleared_at=second.at + 50)
    third = bench(second.at + 60, cell("C1", (low, over), alarms=(alarm(low, "acknowledged"),)))
    (notice,) = asked(third, way, ledger)
    assert notice.what == "cleared"
    assert notice.remains is not None
    assert notice.remains.priority == "warning"
