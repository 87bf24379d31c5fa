"""When a condition is raised, by all that is told of it; invented readings."""

import pytest

from tui.bench.alarms.board import Board, Condition

HOUR_S = 3600.0


@pytest.mark.parametrize(
    ("told", "raised_h"),
    [
        ([(5.0, None)], 6.0),
        ([(5.0, 4.5)], 5.5),
        ([(5.0, None), (5.0, 4.5)], 5.5),  # of two ways to judge, the second sees farther back
        ([(5.0, 4.5), (5.2, None)], 5.5),
        ([(5.0, 4.7), (5.2, 4.5)], 5.7),  # the onset that was read first stands
        ([(5.0, None), (6.1, 4.5)], 6.0),  # what has been raised was raised then
    ],
)
def test_it_is_raised_by_the_onset_that_is_told_until_then(
    told: list[tuple[float, float | None]], raised_h: float
) -> None:
    board = Board()
    board.judged = frozenset({"leak-cell"})
    leak = board.condition("leak-cell", "warning", delay_s=HOUR_S)
    for at_h, since_h in told:
        board.pass_time(at_h * HOUR_S)
        since_s = None if since_h is None else since_h * HOUR_S
        board.tell(leak, True, at_h * HOUR_S, "water leaves the cell", since_s)
    (spell,) = board.spells(7.0 * HOUR_S)
    assert spell.raised_at == raised_h * HOUR_S


def test_a_copy_has_all_that_a_condition_has_and_goes_its_own_way() -> None:
    board = Board()
    board.judged = frozenset({"leak-cell"})
    leak = board.condition("leak-cell", "warning", about="C1", reason="flow", delay_s=HOUR_S)
    board.tell(leak, True, HOUR_S, "water leaves the cell", 0.5 * HOUR_S)
    twin = leak.copy()
    assert all(getattr(twin, name) == getattr(leak, name) for name in Condition.__slots__)
    twin.pass_time(2.0 * HOUR_S)
    assert (twin.raised, leak.raised) == (True, False)
