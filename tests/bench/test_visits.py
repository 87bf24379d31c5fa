"""Visits: as few as serve all, each inside the window of every hand that it serves."""

from datetime import datetime
from itertools import combinations, pairwise
from math import inf
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from tui.bench.attended import Attended
from tui.bench.picture import Hand
from tui.bench.visits import SHORTEST_S, grouped, horizon, visits, window

OSLO = ZoneInfo("Europe/Oslo")
H = 3600.0


def at(text: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=OSLO).timestamp()


NOW = at("2031-02-05T14:00")
"""A Wednesday."""
DAY_SHIFT = Attended.of("Mon-Fri 07:30-16:00", OSLO)


def hand(cell: str, ready_h: float | None, waits_h: float = 0.0) -> Hand:
    """Ready so many hours from now, and good for so many more."""
    if ready_h is None:
        return Hand(cell, "set up", None, None, None)
    ready = NOW + ready_h * H
    return Hand(cell, "do it", ready, None, None, good_until=ready + waits_h * H)


def told(asked: list[Hand], attended: Attended | None = None) -> list[tuple[float, float, str]]:
    """Begin and end in hours from now, and the cells."""
    return [
        ((v.at - NOW) / H, (v.until - NOW) / H, " ".join(h.cell for h in v.hands))
        for v in visits(asked, NOW, attended)
    ]


@pytest.mark.parametrize(
    ("asked", "planned"),
    [
        ([], []),
        ([hand("C1", None)], []),
        ([hand("C1", 1, 2)], [(1, 3, "C1")]),
        # what can wait joins what comes later
        ([hand("C1", 1, 2), hand("C2", 2, 2)], [(2, 3, "C1 C2")]),
        ([hand("C1", 1, 2), hand("C2", 3.5, 2)], [(1, 3, "C1"), (3.5, 5.5, "C2")]),
        # what cannot wait decides when
        ([hand("C1", 1, 4), hand("C2", 2)], [(2, 2.25, "C1 C2")]),
        # what is late is served now, together with what is ready by then
        ([hand("C1", -9), hand("C2", -1, 2), hand("C3", 0.2, 4)], [(0.2, 0.25, "C1 C2 C3")]),
        ([hand("C1", 1, 2), hand("C2", 24.5, 2)], [(1, 3, "C1")]),
    ],
)
def test_visits(asked: list[Hand], planned: list[tuple[float, float, str]]) -> None:
    assert told(asked) == planned


def test_only_while_somebody_is_there() -> None:
    # ready at 15:30, 17:00 and 02:10; people leave at 16:00 and come at 07:30
    asked = [hand("C1", 1.5, 2), hand("C2", 3.0, 2), hand("C3", 12 + 1 / 6, 2)]
    assert told(asked, DAY_SHIFT) == [(1.5, 2.0, "C1"), (17.5, 17.75, "C2 C3")]


def test_over_a_weekend_the_next_attended_stretch_is_planned() -> None:
    friday = at("2031-02-07T18:00")
    assert horizon(friday, DAY_SHIFT) == at("2031-02-10T16:00")
    assert horizon(friday, None) == friday + 24 * H
    assert horizon(friday, Attended.of("Mon-Sun 00:00-24:00", OSLO)) == friday + 24 * H
    saturday = Hand("C1", "do it", at("2031-02-08T12:00"), None, None)
    (visit,) = visits([saturday], friday, DAY_SHIFT)
    assert (visit.at, visit.hands) == (at("2031-02-10T07:30"), (saturday,))


def test_a_visit_that_is_due_moves_by_minutes_only() -> None:
    late = [hand("C1", -3)]
    assert visits(late, NOW + 1.0, None) == visits(late, NOW + 59.0, None)
    assert visits(late, NOW + 61.0, None)[0].at == NOW + 60.0


def test_what_is_in_no_visit_is_listed_behind() -> None:
    asked = (hand("C1", 1, 2), hand("C2", 2, 2), hand("C3", 30), hand("C4", None))
    groups = grouped(asked, visits(asked, NOW, None))
    assert [[h.cell for h in hands] for _, hands in groups] == [["C1", "C2"], ["C3"], ["C4"]]
    assert [visit is None for visit, _ in groups] == [False, True, True]


HANDS = st.lists(
    st.builds(
        hand,
        st.sampled_from(("C1", "C2", "C3")),
        st.none() | st.floats(-30, 60),
        st.sampled_from((0.0, 0.25, 2.0, 4.0)),
    ),
    max_size=7,
    unique=True,
)
ATTENDED = st.sampled_from(
    (
        None,
        DAY_SHIFT,
        *(Attended.of(f"{t}", OSLO) for t in ("Sat 22:00-06:00", "Mon-Sun 00:00-24:00")),
    )
)


@given(HANDS, ATTENDED)
@effort(max_examples=150, deadline=None)
def test_each_hand_is_in_one_visit_that_lies_in_its_window(
    asked: list[Hand], attended: Attended | None
) -> None:
    planned = visits(asked, NOW, attended)
    windows = {one: window(one, NOW, attended) for one in asked}
    until = horizon(NOW, attended)
    due = {one for one, found in windows.items() if found is not None and found[0] <= until}
    served = [one for visit in planned for one in visit.hands]
    assert len(served) == len(set(served))
    assert set(served) == due
    assert list(planned) == sorted(planned, key=lambda visit: visit.at)
    for visit in planned:
        assert visit.at <= visit.until
        for one in visit.hands:
            first, last = windows[one] or (inf, -inf)
            assert NOW <= first <= visit.at <= visit.until <= last
        if attended is not None:
            assert attended.next(visit.at) == visit.at
            assert attended.until_end(visit.at) >= visit.until - visit.at


@given(HANDS, ATTENDED)
@effort(max_examples=80, deadline=None)
def test_no_fewer_visits_would_do(asked: list[Hand], attended: Attended | None) -> None:
    """As many windows as there are visits lie apart from each other: each needs its own."""
    planned = visits(asked, NOW, attended)
    found = [window(one, NOW, attended) for visit in planned for one in visit.hands]
    windows = sorted(one for one in found if one is not None)
    apart = max(
        (
            len(some)
            for size in range(len(windows) + 1)
            for some in combinations(windows, size)
            if all(a[1] < b[0] for a, b in pairwise(some))
        ),
        default=0,
    )
    assert len(planned) == apart


def test_a_window_is_never_shorter_than_a_visit_takes_unless_people_leave() -> None:
    assert window(hand("C1", 1), NOW, None) == (NOW + H, NOW + H + SHORTEST_S)
    assert window(hand("C1", 1.9), NOW, DAY_SHIFT) == pytest.approx((NOW + 1.9 * H, NOW + 2 * H))
