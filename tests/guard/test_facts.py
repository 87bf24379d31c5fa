"""What is journalled as raised and cleared: each spell once, whoever looked and however often."""

from dataclasses import replace

import pytest
from made import BY, DAY, bench, cell, journalled, spell

from tui.bench.picture import Bench, Cell, Live
from tui.guard.announcements import facts, subjects
from tui.guard.ledger import Ledger
from tui.journal.acts import Act
from tui.settings.problems import Problem

S = DAY


def said(acts: list[Act]) -> list[tuple[str, float]]:
    """Kind and time held, seconds of the day."""
    return [(act.kind, act.held_at - DAY) for act in acts]


def looks(*pictures: Bench) -> list[list[tuple[str, float]]]:
    ledger = Ledger()
    return [said(journalled(ledger, picture)) for picture in pictures]


def test_a_spell_is_raised_at_its_own_time_and_cleared_at_its_own_time() -> None:
    first, second, third = (
        bench(S + 100, cell("C1", (spell(S + 50),))),
        bench(S + 200, cell("C1", (spell(S + 50),))),
        bench(S + 300, cell("C1", (spell(S + 50, S + 250),))),
    )
    assert looks(first, second, third) == [[("raised", 60)], [], [("cleared", 250)]]
    ledger = Ledger()
    (act,) = journalled(ledger, first)
    assert (act.cell, act.test, act.alarm, act.about) == ("C1", "T1", "over-pressure", None)
    assert (act.since, act.priority, act.text) == (S + 50, "urgent", "cell pressure 990 kPa")


def test_what_came_and_went_unwatched_is_journalled_both() -> None:
    picture = bench(S + 9000, cell("C1", (spell(S + 50, S + 80), spell(S + 100, S + 120))))
    assert looks(picture, picture) == [
        [("raised", 60), ("cleared", 80), ("raised", 110), ("cleared", 120)],
        [],
    ]


def test_a_spell_that_ended_while_nobody_watched_does_not_swallow_the_next() -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    after = bench(S + 9000, cell("C1", (spell(S + 50, S + 120), spell(S + 500))))
    assert looks(before, after)[1] == [("cleared", 120), ("raised", 510)]


@pytest.mark.parametrize(
    "anew",
    [
        (spell(S + 40),),  # a late row shows an earlier onset
        (spell(S + 58),),  # or a later one
        (spell(S + 20, S + 55), spell(S + 56)),  # or that it was interrupted
        (spell(S + 50, reason="other"), spell(S + 52, reason="leak")),
    ],
)
def test_a_history_told_anew_raises_nothing_twice(anew: tuple[object, ...]) -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    assert looks(before, bench(S + 101, cell("C1", anew))) == [[("raised", 60)], []]  # type: ignore[arg-type]


def test_told_anew_it_may_not_have_been_at_all() -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    assert looks(before, bench(S + 200, cell("C1")))[1] == [("cleared", 200)]


def test_before_its_logs_are_read_that_far_nothing_is_over() -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    read_to = replace(cell("C1"), live=Live(at=S + 30))
    reading = replace(
        cell("C1"),
        being_read=True,
    )
    nothing = replace(cell("C1"), live=None)
    pictures = [bench(S + 200, one) for one in (read_to, reading, nothing)]
    assert looks(before, *pictures)[1:] == [[], [], []]


def test_nothing_is_over_because_its_cell_cannot_be_told() -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    error = Problem("error", "no such unit", "mend it", "C1/cell.toml")
    kept = replace(cell("C1"), problems=(error,))  # its settings broke while it was watched
    blank = Cell("C1", "C1", problems=(error,))  # or before
    mended = cell("C1", (spell(S + 50, S + 70),))
    pictures = [bench(S + 200, one) for one in (kept, blank, mended)]
    assert looks(before, *pictures)[1:] == [[], [], [("cleared", 70)]]


def test_what_is_skipped_as_known_is_looked_at_when_the_readings_go_on() -> None:
    before = bench(S + 100, cell("C1", (spell(S + 50),)))
    ledger = Ledger(journalled(Ledger(), before))
    short = bench(S + 200, replace(cell("C1"), live=Live(at=S + 30)))
    assert journalled(ledger, short) == []
    known = {one.cell: one for one in subjects(short)}
    after = bench(S + 201, cell("C1"))
    assert said(facts(ledger, after, BY, S + 201, known)) == [("cleared", 201)]


def test_what_the_journal_has_as_over_and_is_not_is_raised_again() -> None:
    # A limit was set lower: told anew the spell never ended, and people were told that it had.
    before = bench(S + 300, cell("C1", (spell(S + 50, S + 250),)))
    after = bench(S + 301, cell("C1", (spell(S + 40),)))
    assert looks(before, after, after) == [
        [("raised", 60), ("cleared", 250)],
        [("raised", 250)],
        [],
    ]


def test_consequences_are_not_raised_but_what_was_raised_stays_until_it_is_over() -> None:
    free = spell(S + 50, kind="pressure-drift")
    held = replace(free, held_back="supply-lost")
    assert looks(bench(S + 100, cell("C1", (held,)))) == [[]]
    pictures = (
        bench(S + 100, cell("C1", (free,))),
        bench(S + 200, cell("C1", (held,))),
        bench(S + 300, cell("C1", (replace(held, cleared_at=S + 250),))),
    )
    assert looks(*pictures) == [[("raised", 60)], [], [("cleared", 250)]]


def test_parts_priorities_cells_and_tests_are_apart() -> None:
    one = spell(S + 50)
    others = (
        one,
        replace(one, about="pore_pressure"),
        replace(one, priority="warning"),
        replace(one, kind="supply-lost"),
    )
    picture = bench(S + 100, cell("C1", others), cell("C2", (one,)), spells=(one,))
    assert [len(one) for one in looks(picture, picture)] == [6, 0]


def test_with_its_test_an_alarm_ends() -> None:
    def running(test: str | None) -> Cell:
        return replace(cell("C1", (spell(S + 50),) if test == "T1" else ()), test_id=test)

    assert looks(bench(S + 100, running("T1")), bench(S + 200, running("T2")))[1] == [
        ("cleared", 200)
    ]


def test_a_restart_knows_all_of_it_from_the_journal() -> None:
    picture = bench(S + 100, cell("C1", (spell(S + 50), spell(S + 10, S + 20, kind="log-silent"))))
    ledger = Ledger()
    acts = journalled(ledger, picture)
    assert len(acts) == 3
    assert journalled(Ledger(acts), picture) == []
