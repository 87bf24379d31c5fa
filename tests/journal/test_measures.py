"""The measures of the alarms; what chatters, stands or floods is after ISA-18.2 and EEMUA 191
(from memory)."""

from dataclasses import replace
from datetime import UTC, datetime

from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.measures import measure

T = datetime(2031, 2, 3, 12, 0, tzinfo=UTC).timestamp()
H = 3600.0


def entry(
    kind: str, at: float, alarm: str | None = "pressure-drift", priority: str = "warning"
) -> Entry:
    """An entry about an alarm of C1."""
    act = Act(1, kind, "C1", "T1", T + at, T + at, "watch", "host")
    return Entry(replace(act, alarm=alarm, priority=priority))


def test_nothing_was_watched_yet() -> None:
    found = measure([], UTC, T)
    assert (found.alarms, found.begins, found.per_day) == (0, None, None)


def test_alarms_are_counted_by_the_night_in_which_they_were_raised() -> None:
    entries = [entry("duty", 0.0, None)]
    entries += [entry("raised", hours * H) for hours in (1.0, 9.0, 18.0, 20.0, 33.0)]
    found = measure(entries, UTC, T + 48 * H)
    # 13:00 is day; 21:00 and 06:00 are the first night; 08:00 is day; 21:00 is the second.
    assert found.nights == (("2031-02-03", 2), ("2031-02-04", 1), ("2031-02-05", 0))
    assert found.per_day == 2.5


def test_notes_are_no_alarms() -> None:
    found = measure([entry("raised", 0.0, "phase-complete", "note"), entry("raised", 1.0)], UTC, T)
    assert (found.alarms, found.notes, found.by_priority) == (1, 1, {"warning": 1})


def test_three_in_a_minute_chatter_and_two_do_not() -> None:
    two = [entry("raised", 0.0), entry("raised", 59.0), entry("raised", 61.0)]
    assert measure(two[:2], UTC, T).chattering == ()
    assert measure([*two[:2], entry("raised", 30.0)], UTC, T).chattering == (
        ("C1 pressure-drift", 3),
    )
    assert measure(two, UTC, T).chattering == ()


def test_what_stands_for_more_than_a_day_is_stale_also_if_it_still_does() -> None:
    over = [entry("raised", 0.0), entry("cleared", 25 * H)]
    assert measure(over, UTC, T + 90 * H).standing == (("C1 pressure-drift", 25 * H),)
    assert measure(over[:1], UTC, T + 30 * H).standing == (("C1 pressure-drift", 30 * H),)
    assert measure([over[0], entry("cleared", 23 * H)], UTC, T + 90 * H).standing == ()


def test_more_than_ten_in_ten_minutes_are_one_flood() -> None:
    ten = [entry("raised", 50.0 * k, f"kind-{k}") for k in range(10)]
    assert measure(ten, UTC, T).floods == 0
    assert measure([*ten, entry("raised", 550.0, "one more")], UTC, T).floods == 1


def test_how_long_until_somebody_knows() -> None:
    entries = [
        entry("raised", 0.0),
        entry("acknowledge", 600.0),
        entry("acknowledge", 900.0),
        entry("raised", 2000.0, "leak-cell"),
        entry("acknowledge", 3800.0, "leak-cell"),
        entry("raised", 5000.0, "log-silent", "urgent"),
    ]
    found = measure(entries, UTC, T + 9000.0)
    assert (found.to_acknowledge_s, found.longest_to_acknowledge_s) == (1200.0, 1800.0)
    assert found.never_acknowledged == 1


def test_an_acknowledgement_that_was_taken_back_counts_no_more() -> None:
    taken_back = replace(entry("acknowledge", 600.0), undone_by=7)
    assert measure([entry("raised", 0.0), taken_back], UTC, T).never_acknowledged == 1
