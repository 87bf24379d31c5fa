"""Rows that do not come, after contract section 7: log-silent, watch-sparse, reading-missed."""

import pytest
from told_alarms import SCHEDULED, Script, followed, of, settings, sheared, whole_test

from tui.bench.phases import Mark
from tui.feed.rows import LiveRow

STEADY = settings(log={"rows": "steady"})


def drained(rows: int) -> Script:
    """A consolidation by its root schedule, up to so many of its readings."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.96)
    script.raise_back(60.0)
    script.check(0.97, 140.0, build_up=True)
    before = len(script.rows)
    script.drain()
    script.rows = script.rows[: before + 1 + rows]
    return script


def due_s(script: Script, slot: int) -> float:
    """When a reading of the consolidation is due: (0.5 k)² minutes after its zero reading."""
    zero = script.begins[-1][2] - 15.0
    return zero + 60.0 * (0.5 * slot) ** 2


@pytest.mark.parametrize("slot", [10, 24, 50])
def test_a_log_is_silent_so_long_after_its_slot_is_due(slot: int) -> None:
    # Contract: due time + min(30 min, max(5 min, 10 % of the gap)).
    script = drained(slot)
    gap = due_s(script, slot + 1) - due_s(script, slot)
    by = due_s(script, slot + 1) + min(1800.0, max(300.0, 0.1 * gap))
    assert of(followed(script.rows, by - 1.0), "log-silent") == []
    (told,) = of(followed(script.rows, by + 7200.0), "log-silent")
    assert (told.priority, told.since, told.raised_at) == ("urgent", by, by)


def test_of_steady_rows_the_pace_tells_when_one_is_due() -> None:
    rows = [replace_time(row, k) for k, row in enumerate(drained(50).rows)]
    by = rows[-1].time + 60.0 + 300.0
    assert of(followed(rows, by - 1.0, STEADY), "log-silent") == []
    (told,) = of(followed(rows, by, STEADY), "log-silent")
    assert told.raised_at == by


def replace_time(row, k):  # type: ignore[no-untyped-def]
    """The same readings a minute apart."""
    return row._replace(time=1_928_000_000.0 + 60.0 * k)


def test_a_strain_is_foreseen_within_a_tenth_of_its_gap() -> None:
    # No clock tells when a strain comes: common practice, no source.
    gap = 20.0 * 3600.0
    script = sheared(0.02, per_min=0.002 / (gap / 60.0))
    newest = script.rows[-1].time
    count = followed(script.rows, newest).schedule
    assert count is not None and count.next_at is not None
    assert count.next_at < newest + 0.95 * gap  # all these readings come a little behind the slot
    by = newest + 1.1 * gap

    def lately(now: float) -> list[float]:
        told = of(followed(script.rows, now), "log-silent")
        return [one.raised_at for one in told if one.raised_at > newest]

    assert lately(by - 60.0) == []
    assert lately(by + 60.0) == [pytest.approx(by, abs=1.0)]


def test_without_a_schedule_it_is_three_times_the_usual_gap() -> None:
    script = Script()
    script.set_up()  # a row every two minutes
    by = script.rows[-1].time + 3.0 * 120.0
    assert of(followed(script.rows, by - 1.0), "log-silent") == []
    assert of(followed(script.rows, by + 60.0), "log-silent")[0].raised_at == by


def test_a_gap_is_history_when_the_next_row_comes() -> None:
    script = drained(40)
    kept = script.rows[:-8] + script.rows[-1:]
    cell = followed(kept)
    (told,) = of(cell, "log-silent")
    assert told.cleared_at == kept[-1].time
    assert kept[-2].time < told.raised_at < kept[-1].time
    assert of(followed(kept, every=1), "log-silent") == [told]


def test_a_live_row_counts_as_a_row() -> None:
    script = drained(10)
    later = script.rows[-1].time + 3600.0
    assert of(followed(script.rows, later), "log-silent")
    live = LiveRow(later - 60.0, {"cell_pressure": script.cell})
    (told,) = of(followed(script.rows, later, lives=(live,)), "log-silent")
    assert told.cleared_at == live.time


def test_nothing_is_silent_after_the_end() -> None:
    script = whole_test()
    assert of(followed(script.rows, script.now + 1e5), "log-silent") == []
    running = drained(10)
    ended = Mark(running.rows[-1].time + 60.0, "ended")
    assert of(followed(running.rows, running.now + 1e5, marks=(ended,)), "log-silent") == []


def test_while_a_log_is_silent_nothing_else_is_called_well() -> None:
    script = drained(10)
    cell = followed(script.rows, script.rows[-1].time + 7200.0)
    blind = {one.kind: one.why for one in cell.blind}
    assert blind["pressure-drift"] == blind["sensor-fault"] == "no readings come"
    assert "log-silent" not in blind
    assert "pressure-drift" not in {one.kind for one in followed(script.rows).blind}


@pytest.mark.parametrize("slot", [10, 30])
def test_a_slot_is_missed_half_the_gap_after_it_was_due(slot: int) -> None:
    # Contract, section 6: given up half the gap to the next one after its due time.
    script = drained(slot + 6)
    kept = script.rows[:-6] + script.rows[-5:]
    missed = slot + 1
    gone = 0.5 * (due_s(script, missed) + due_s(script, missed + 1))
    cell = followed(kept)
    (told,) = of(cell, "reading-missed")
    assert told.raised_at == pytest.approx(gone, abs=0.01)
    assert told.cleared_at == due_s(script, missed + 1)
    assert cell.schedule is not None
    assert cell.schedule.missed == 1


@pytest.mark.parametrize("late_s", [27.0, 40.0])
def test_rows_that_follow_the_schedule_from_another_zero_miss_no_slot(late_s: float) -> None:
    # The zero reading is told too late where a specimen gives its first water slowly.
    script = drained(0)
    zero = script.rows[-1]
    rows = script.rows + [
        zero._replace(time=zero.time + 6.0 * 1.33**k, back_volume=zero.back_volume - 0.01 * k)
        for k in range(26)
    ]
    held = Mark(zero.time + late_s, "consolidation", "drained")
    log = settings(
        schedule={"consolidation": {"kind": "log", "first": "0.1 min", "ratio": 1.33, "slots": 44}},
        log={"rows": "scheduled"},
    )
    assert of(followed(rows, None, log, marks=(held,)), "reading-missed") == []
    thinned = [row for k, row in enumerate(rows) if k != len(rows) - 4]
    assert len(of(followed(thinned, None, log, marks=(held,)), "reading-missed")) == 1


def test_no_slot_is_missed_while_the_count_shows_none() -> None:
    script = drained(60)
    for until in range(len(script.rows) - 55, len(script.rows), 6):
        cell = followed(script.rows[:until])
        assert cell.schedule is not None
        assert cell.schedule.missed == 0
        assert of(cell, "reading-missed") == []


def test_steady_rows_miss_no_slot_that_is_finer_than_they_are() -> None:
    script = drained(50)
    rows = [row for row in script.rows if row.time < due_s(script, 1)]
    rows += [script.rows[-1]._replace(time=rows[-1].time + 60.0 * k) for k in range(1, 90)]
    assert of(followed(rows, None, STEADY), "reading-missed") == []


def test_a_wide_gap_without_a_live_file_is_a_note() -> None:
    script = drained(58)  # the last gaps of this schedule are below half an hour
    (told,) = of(followed(script.rows), "watch-sparse")
    first = next(k for k in range(60) if due_s(script, k + 1) - due_s(script, k) > 900.0)
    assert (told.priority, told.since) == ("note", due_s(script, first))
    live = settings(log={"rows": "scheduled", "live": "now.csv"})
    assert of(followed(script.rows, None, live), "watch-sparse") == []


def test_slots_of_strain_are_missed_as_well() -> None:
    script = sheared(0.06)
    zero = next(k for k, row in enumerate(script.rows) if row.time >= script.begins[-1][2])
    kept = script.rows[: zero + 10] + script.rows[zero + 14 :]
    assert of(followed(script.rows), "reading-missed") == []
    (told,) = of(followed(kept), "reading-missed")
    assert kept[zero + 9].time < told.raised_at < kept[zero + 10].time == told.cleared_at


def test_one_slot_of_strain_is_known_to_be_missed_by_the_row_behind_it() -> None:
    # The pace of a ram may have changed: nobody knows before that the slot has passed.
    script = sheared(0.06)
    zero = next(k for k, row in enumerate(script.rows) if row.time >= script.begins[-1][2])
    later = [row._replace(time=row.time - 60.0) for row in script.rows[zero + 11 :]]
    kept = script.rows[: zero + 10] + later
    cell = followed(kept)
    (told,) = of(cell, "reading-missed")
    assert told.raised_at == told.cleared_at == kept[zero + 10].time
    assert "at 2.20 % strain" in told.message
    assert cell.schedule is not None and cell.schedule.missed == 1


def test_limits_of_the_cell_hold() -> None:
    script = drained(24)
    later = SCHEDULED.model_copy(
        update={
            "alarms": SCHEDULED.alarms.model_copy(
                update={"limits": {"log-silent": {"least": "20 min"}}}
            )
        }
    )
    by = due_s(script, 25) + 1200.0
    assert of(followed(script.rows, by - 1.0, later), "log-silent") == []
    assert of(followed(script.rows, by, later), "log-silent")
