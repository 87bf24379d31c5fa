"""A window and a cursor on a plot, without drawing anything."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.picture import Plot, Series
from tui.panes.cursor import (
    MANY,
    at_end,
    followed,
    is_marks,
    newest,
    pointed,
    read_off,
    stepped,
    stops,
    whole,
    within,
    zoomed,
)

LINE = Series("q", "readings", tuple((0.1 * k, 2.0 * k) for k in range(101)))
SIBLING = Series("C2", "sibling", ((0.0, 0.0), (20.0, 40.0)))
STRAIN = Plot("q", "ε₁", "%", "q", "kPa", (LINE, SIBLING))
CHECKS = Plot(
    "B", "back pressure", "kPa", "B", "",
    (Series("checks", "readings", ((50.0, 0.5), (100.0, 0.8), (100.0, 0.81), (150.0, 0.9))),
     Series("gas", "fit", ((0.0, 0.1), (300.0, 1.0)))),
)  # fmt: skip
LOG = Plot(
    "log", "t", "min", "ΔV", "ml",
    (Series("out", "readings", ((0.0, 0.0), (1.0, 2.0), (10.0, 4.0), (100.0, 6.0))),
     Series("tail", "construction", ((1.0, 0.0), (100.0, 2.0)))), x_is_log=True,
)  # fmt: skip
PATH = Plot(
    "path", "s′", "kPa", "t′", "kPa",
    (Series("path", "readings", ((100.0, 0.0), (90.0, 20.0), (95.0, 40.0), (105.0, 41.0))),
     Series("C2", "sibling", ((200.0, 0.0), (180.0, 50.0))),
     Series("envelope", "fit", ((0.0, 5.0), (200.0, 105.0)))), is_path=True,
)  # fmt: skip
EMPTY = Plot("none", "x", "", "y", "", (Series("q", "readings", ()),))


def said(plot: Plot, at: tuple[float, float], reach: float = 0.5) -> dict[str, float | None]:
    return {one.series.name: one.y for one in read_off(plot, at, reach)}


def test_zooming_keeps_the_cursor_where_it_stands() -> None:
    window = zoomed(STRAIN, None, (5.0, 0.0), 2.0)
    assert window == pytest.approx((2.5, 12.5))
    assert (5.0 - window[0]) / 10.0 == pytest.approx(5.0 / 20.0)
    assert zoomed(STRAIN, window, (5.0, 0.0), 0.5) is None
    # without a cursor, and with one that is out of sight, around the middle
    assert zoomed(STRAIN, None, None, 2.0) == pytest.approx((5.0, 15.0))
    assert zoomed(STRAIN, (8.0, 12.0), (1.0, 0.0), 2.0) == pytest.approx((9.0, 11.0))


@given(
    st.lists(st.sampled_from((2.0, 0.5)), max_size=40),
    st.floats(0.0, 20.0),
)
def test_a_window_never_leaves_the_plot(steps: list[float], x: float) -> None:
    window = None
    for by in steps:
        window = zoomed(STRAIN, window, (x, 0.0), by)
        low, high = window or (0.0, 20.0)
        assert -1e-9 <= low < high <= 20.0 + 1e-9
        assert high - low >= 20.0 / 4096.0 * (1 - 1e-9)
    for _ in range(40):
        window = zoomed(STRAIN, window, None, 0.5)
    assert window is None


def test_the_cursor_begins_at_the_newest_reading_and_goes_by_columns() -> None:
    at = stepped(STRAIN, None, None, -1, 100)
    assert at == newest(STRAIN) == (10.0, 200.0)
    at = stepped(STRAIN, None, at, -1, 100)  # a column is 0.2 %
    assert at is not None
    assert at[0] == pytest.approx(9.8)
    at = stepped(STRAIN, None, at, -10, 100)
    assert at is not None
    assert at[0] == pytest.approx(7.8)
    closer = stepped(STRAIN, (7.0, 9.0), at, 1, 100)  # every reading, where it is that close
    assert closer is not None
    assert closer[0] == pytest.approx(7.9)


def test_the_cursor_goes_from_reading_to_reading_and_beyond_them_along_the_fit() -> None:
    fit = Series("fit", "fit", tuple((10.0 * k, 1.0) for k in range(31)))
    plot = replace(CHECKS, series=(CHECKS.series[0], fit))
    assert stops(plot) == (*range(0, 50, 10), 50.0, 100.0, 150.0, *range(160, 301, 10))
    at = stepped(plot, None, (100.0, 0.8), 1, 100)
    assert at is not None
    assert at[0] == 150.0
    assert said(plot, at)["checks"] == 0.9


def test_readings_of_one_plot_are_drawn_alike() -> None:
    few = Series("cell", "readings", LINE.points[: MANY - 1])
    many = Series("back", "readings", LINE.points[:MANY])
    plot = replace(STRAIN, series=(few, many, SIBLING))
    assert [is_marks(plot, one) for one in plot.series] == [False, False, False]
    plot = replace(STRAIN, series=(few, few, SIBLING))
    assert [is_marks(plot, one) for one in plot.series] == [True, True, False]


def test_the_cursor_stays_at_the_ends() -> None:
    assert stepped(STRAIN, None, (0.0, 0.0), -1, 100) == (0.0, 0.0)
    far = at_end(STRAIN, last=True)
    assert far is not None
    assert far[0] == 20.0
    assert stepped(STRAIN, None, far, 10, 100)[0] == 20.0  # type: ignore[index]
    assert at_end(STRAIN, last=False)[0] == 0.0  # type: ignore[index]


@given(st.integers(1, 200), st.booleans())
def test_going_on_always_arrives(columns: int, right: bool) -> None:
    """No step stands still before the end, however the points lie."""
    at: tuple[float, float] | None = (5.0, 0.0)
    passed = []
    for _ in range(500):
        at = stepped(STRAIN, None, at, 1 if right else -1, columns)
        assert at is not None
        passed.append(at[0])
    assert passed[-1] == (20.0 if right else 0.0)
    moves = [b - a for a, b in pairwise(passed)]
    first_stand = next(k for k, move in enumerate(moves) if move == 0.0)
    assert all(move == 0.0 for move in moves[first_stand:])


def test_a_cursor_beside_the_window_takes_it_along() -> None:
    assert followed(STRAIN, None, (3.0, 0.0)) is None
    assert followed(STRAIN, (2.0, 4.0), (3.0, 0.0)) == (2.0, 4.0)
    assert followed(STRAIN, (2.0, 4.0), (5.0, 0.0)) == (3.0, 5.0)
    assert followed(STRAIN, (2.0, 4.0), (1.0, 0.0)) == (1.0, 3.0)


def test_a_line_is_read_between_its_points_and_not_beyond_them() -> None:
    assert len(LINE.points) >= MANY
    assert said(STRAIN, (3.0, 0.0)) == pytest.approx({"q": 60.0, "C2": 6.0})
    assert said(STRAIN, (3.05, 0.0)) == pytest.approx({"q": 61.0, "C2": 6.1})
    assert said(STRAIN, (15.0, 0.0)) == {"q": None, "C2": 30.0}


def test_a_mark_is_read_only_where_it_stands() -> None:
    assert said(CHECKS, (50.2, 0.0)) == pytest.approx({"checks": 0.5, "gas": 0.2506})
    assert said(CHECKS, (75.0, 0.0))["checks"] is None
    assert said(CHECKS, (100.0, 0.0))["checks"] == 0.81  # the later of two at one pressure


def test_a_scale_of_logarithms_is_read_along_its_lines() -> None:
    assert whole(LOG) == pytest.approx((0.0, 2.0))  # a reading at zero has no place
    assert stops(LOG) == pytest.approx((0.0, 1.0, 2.0))
    assert said(LOG, (10.0, 0.0), 0.01) == pytest.approx({"out": 4.0, "tail": 1.0})
    assert zoomed(LOG, None, (10.0, 0.0), 2.0) == pytest.approx((0.5, 1.5))
    at = pointed(LOG, 0.9, 3.0)
    assert at is not None
    assert at[0] == pytest.approx(10.0)


def test_along_a_path_the_cursor_goes_in_the_order_of_time() -> None:
    at = newest(PATH)
    assert at == (105.0, 41.0)
    found = []
    for _ in range(4):
        at = stepped(PATH, None, at, -1, 80)
        assert at is not None
        found.append(at)
    assert found == [(95.0, 40.0), (90.0, 20.0), (100.0, 0.0), (100.0, 0.0)]
    assert said(PATH, (90.0, 20.0)) == {"path": 20.0, "C2": None, "envelope": 50.0}
    assert pointed(PATH, 96.0, 1.0) == (100.0, 0.0)  # not the nearer x, the nearer point


def test_nothing_is_read_off_an_empty_plot() -> None:
    assert whole(EMPTY) is None
    assert newest(EMPTY) is None
    assert stepped(EMPTY, None, None, 1, 80) is None
    assert at_end(EMPTY, last=True) is None
    assert pointed(EMPTY, 0.0, 0.0) is None
    assert zoomed(EMPTY, None, None, 2.0) is None
    assert read_off(EMPTY, (0.0, 0.0), 1.0) == ()


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(-50, 50)), min_size=1, max_size=30),
    st.floats(0, 100),
    st.floats(0, 100),
)
def test_what_is_cut_out_lies_on_the_line_and_in_the_window(
    points: list[tuple[float, float]], one: float, other: float
) -> None:
    line = tuple(sorted(points))
    low, high = sorted((one, other))
    part = within(line, low, high)
    assert all(low <= x <= high for x, _ in part)
    assert [x for x, _ in part] == sorted(x for x, _ in part)
    assert set(part) >= {point for point in line if low <= point[0] <= high}
    ys = [y for _, y in line]
    assert all(min(ys) - 1e-6 <= y <= max(ys) + 1e-6 for _, y in part)
    assert not any(math.isnan(y) for _, y in part)
