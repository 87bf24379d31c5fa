"""The life of an alarm; states and transitions after ISA-18.2 / IEC 62682 (from memory)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.alarms.life import LONGEST_SHELF_S, SHORT_SHELF_S, TRANSITIONS, alarms_of
from tui.bench.alarms.spells import Alarm, Priority, Spell
from tui.journal.acts import Act

T = 1_927_843_200.0
CELL, BACK = "cell_pressure", "back_pressure"
DRIFT = Spell("pressure-drift", CELL, "warning", T, T + 300.0, message="drifts")
STALLED = Spell("saturation-stalled", None, "urgent", T, T, message="B stands", reason="blocked")


def act(kind: str, at: float, alarm: str = "pressure-drift", **more: object) -> Act:
    """An act about an alarm, entered when it holds."""
    return replace(
        Act(1, kind, "C1", "T1", T + at, T + at, "ada", "host"),
        alarm=None if kind == "accept" else alarm,
        **more,  # type: ignore[arg-type]
    )


def one(
    spells: list[Spell], acts: list[Act], at: float, phase: float | None = None
) -> Alarm | None:
    """The only alarm at a moment, if any."""
    found = alarms_of(spells, acts, T + at, phase)
    assert len(found) <= 1
    return found[0] if found else None


def ended(spell: Spell, at: float, *, by_phase: bool = False) -> Spell:
    """The spell as it has ended."""
    return replace(spell, cleared_at=T + at, by_phase=by_phase)


STORIES: list[tuple[str, list[Spell], list[Act], float, str | None]] = [
    ("raised", [DRIFT], [], 400, "unacknowledged"),
    ("not raised yet", [DRIFT], [], 200, None),
    ("acknowledged", [DRIFT], [act("acknowledge", 500)], 600, "acknowledged"),
    ("acknowledged too early", [DRIFT], [act("acknowledge", 200)], 600, "unacknowledged"),
    ("cleared, nobody knows", [ended(DRIFT, 700)], [], 800, "returned"),
    ("seen after it had cleared", [ended(DRIFT, 700)], [act("acknowledge", 750)], 800, None),
    ("acknowledged, then cleared", [ended(DRIFT, 700)], [act("acknowledge", 500)], 800, None),
    ("phase over, nobody knows", [ended(DRIFT, 700, by_phase=True)], [], 800, "out-of-phase"),
    ("shelved", [DRIFT], [act("shelve", 500, until=T + 4000)], 600, "shelved"),
    ("shelf over, still so", [DRIFT], [act("shelve", 500, until=T + 4000)], 4001, "unacknowledged"),
    ("shelf over, all well", [ended(DRIFT, 900)], [act("shelve", 500, until=T + 4000)], 4001, None),
    ("other channel", [DRIFT], [act("acknowledge", 500, about=BACK)], 600, "unacknowledged"),
    ("this channel", [DRIFT], [act("acknowledge", 500, about=CELL)], 600, "acknowledged"),
    ("other kind", [DRIFT], [act("acknowledge", 500, "log-silent")], 600, "unacknowledged"),
    ("B accepted by an engineer", [STALLED], [act("accept", 500)], 600, None),
    ("stalls anew", [replace(STALLED, raised_at=T + 900)], [act("accept", 500)], 1000, None),
]  # fmt: skip


@pytest.mark.parametrize(("story", "spells", "acts", "at", "state"), STORIES)
def test_states(
    story: str, spells: list[Spell], acts: list[Act], at: float, state: str | None
) -> None:
    found = one(spells, acts, at)
    assert (found and found.state) == state


def test_raised_again_after_it_had_cleared_nobody_has_acknowledged_it() -> None:
    again = replace(DRIFT, since=T + 1000, raised_at=T + 1300)
    found = one([ended(DRIFT, 700), again], [act("acknowledge", 500)], 1400)
    assert found is not None
    assert (found.state, found.raised_at) == ("unacknowledged", T + 1300)


def test_a_higher_priority_wants_a_new_answer() -> None:
    worse = replace(DRIFT, priority="urgent", since=T + 800, raised_at=T + 1100)
    known = [act("acknowledge", 500)]
    before = one([DRIFT, worse], known, 1000)
    after = one([DRIFT, worse], known, 1200)
    assert before is not None and (before.priority, before.state) == ("warning", "acknowledged")
    assert after is not None and (after.priority, after.state) == ("urgent", "unacknowledged")
    assert after.announced_at == T + 1100


def test_a_lower_priority_that_remains_is_known_already() -> None:
    worse = ended(replace(DRIFT, priority="urgent"), 900)
    found = one([worse, DRIFT], [act("acknowledge", 500)], 1000)
    assert found is not None
    assert (found.priority, found.state) == ("warning", "acknowledged")


def test_after_a_shelf_it_is_announced_again_and_says_so() -> None:
    found = one([DRIFT], [act("shelve", 500, until=T + 4000)], 4001)
    assert found is not None
    assert found.after_shelf
    assert (found.announced_at, found.raised_at) == (T + 4000, DRIFT.raised_at)


def test_a_shelf_until_cleared_ends_with_the_spell() -> None:
    again = replace(DRIFT, since=T + 1000, raised_at=T + 1300)
    shelf = act("shelve", 500, ends="cleared")
    assert one([ended(DRIFT, 700), again], [shelf], 800) is None
    found = one([ended(DRIFT, 700), again], [shelf], 1400)
    assert found is not None and found.state == "unacknowledged"


def test_a_shelf_until_the_phase_ends_ends_with_it() -> None:
    shelf = act("shelve", 500, ends="phase-end")
    shelved, after = one([DRIFT], [shelf], 900, T - 9e4), one([DRIFT], [shelf], 900, T + 800)
    assert shelved is not None and shelved.state == "shelved"
    assert after is not None and (after.state, after.after_shelf) == ("unacknowledged", True)


@pytest.mark.parametrize(
    ("kind", "most"),
    [
        ("pressure-drift", LONGEST_SHELF_S),
        ("leak-cell", SHORT_SHELF_S),
        ("over-pressure", SHORT_SHELF_S),
    ],
)
def test_every_shelf_ends_after_the_longest_time_of_the_contract(kind: str, most: float) -> None:
    spell = replace(DRIFT, kind=kind)
    for shelf in (
        act("shelve", 500, kind, ends="cleared"),
        act("shelve", 500, kind, until=T + 1e6),
    ):
        shelved, over = one([spell], [shelf], 499 + most), one([spell], [shelf], 501 + most)
        assert shelved is not None and shelved.state == "shelved"
        assert over is not None and over.state == "unacknowledged"


def test_a_longer_shelf_put_over_a_shorter_one_holds() -> None:
    shelves = [act("shelve", 500, until=T + 1000), act("shelve", 900, until=T + 5000)]
    found = one([DRIFT], shelves, 1200)
    assert found is not None and (found.state, found.shelved_until) == ("shelved", T + 5000)


def test_a_note_needs_nobodys_word_once_it_is_over() -> None:
    note = Spell("phase-complete", None, "note", T, T)
    assert one([note], [], 10) is not None
    assert one([ended(note, 700)], [], 800) is None


def test_what_follows_from_another_is_listed_there_alone() -> None:
    burst = Spell("membrane-burst", None, "urgent", T, T)
    follows = replace(DRIFT, held_back="membrane-burst")
    (found,) = alarms_of([burst, follows], [], T + 400)
    assert (found.kind, found.consequences) == ("membrane-burst", ("pressure-drift",))


def test_the_reason_of_a_stall_decides_what_to_do() -> None:
    reasons = ("blocked", "more pressure", "leak", "out of reach", "nobody")
    advice = {
        found.action
        for reason in reasons
        if (found := one([replace(STALLED, reason=reason)], [], 10)) is not None
    }
    assert len(advice) == len(reasons)


def test_every_transition_leads_from_a_state_to_a_state() -> None:
    states = {None, "unacknowledged", "acknowledged", "returned", "shelved", "out-of-phase"}
    assert {before for before, _ in TRANSITIONS} | set(TRANSITIONS.values()) == states


SEVERE: tuple[Priority, ...] = ("warning", "urgent")
moments = st.integers(0, 4000).map(float)


@given(
    st.lists(st.tuples(moments, moments, st.sampled_from(SEVERE)), max_size=5),
    st.lists(st.tuples(st.sampled_from(["acknowledge", "shelve"]), moments, moments), max_size=5),
    moments,
)
def test_whatever_happens_what_stands_is_shown_and_what_was_answered_stays_answered(
    times: list[tuple[float, float, Priority]], said: list[tuple[str, float, float]], at: float
) -> None:
    spells, end = [], 0.0
    for begin, lasts, priority in sorted(times):
        since = max(begin, end + 1.0)
        end = since + lasts
        spells.append(Spell("pressure-drift", None, priority, T + since, T + since, T + end))
    spells = [
        s if s.cleared_at is None or s.cleared_at <= T + at else replace(s, cleared_at=None)
        for s in spells
    ]
    acts = [act(kind, when, until=T + when + 60.0 + more) for kind, when, more in said]
    found = one(spells, acts, at)
    standing = [s for s in spells if s.raised_at <= T + at and s.cleared_at is None]
    if standing:
        assert found is not None
        assert found.state in ("unacknowledged", "acknowledged", "shelved")
        answered = any(
            a.kind == "acknowledge" and standing[-1].raised_at <= a.held_at <= T + at for a in acts
        )
        shelved = any(a.kind == "shelve" and a.held_at <= T + at < (a.until or 0.0) for a in acts)
        if not (answered or shelved):
            assert found.state == "unacknowledged"
        assert (found.state == "shelved") == shelved
    elif found is not None:
        assert found.state in ("returned", "out-of-phase")
