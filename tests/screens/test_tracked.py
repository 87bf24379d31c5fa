"""A track that goes on with the one before is the track that would be made anew."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tui.bench.picture import Cell, LaneSegment
from tui.ink.times import TimeAxis
from tui.panes.tracked import tracked

Points = tuple[tuple[float, float], ...]

HIGH, PER_X = 16, 2
STEPS = st.lists(
    st.tuples(st.floats(0.0, 400.0), st.floats(-0.5, 1.5, allow_subnormal=False)), max_size=12
)
CHANGES = st.sampled_from(("none", "thinned", "scale", "ended", "next", "value"))


def _segment(points: Points) -> LaneSegment:
    start = points[0][0] if points else 0.0
    return LaneSegment("saturation", start, None, "B", "", 0.0, 1.0, 0.95, points)


def _on(points: Points, steps: list[tuple[float, float]]) -> Points:
    at = points[-1][0] if points else 0.0
    for step, value in steps:
        at += step
        points = (*points, (at, value))
    return points


def _changed(cell: Cell, change: str) -> Cell:
    *earlier, last = cell.lane
    changed = {
        "none": (last,),
        "thinned": (replace(last, points=last.points[::2]),),
        "scale": (replace(last, high=2.0),),
        "ended": (replace(last, end=5_000.0),),
        "next": (last, replace(last, phase="shear", points=last.points[-1:])),
        "value": (replace(last, points=tuple((x, 1.0 - y) for x, y in last.points)),),
    }[change]
    return replace(cell, lane=(*earlier, *changed))


@given(STEPS, st.lists(st.tuples(STEPS, CHANGES), max_size=5), st.floats(0.0, 3_000.0))
def test_what_goes_on_is_what_would_be_made_anew(
    begun: list[tuple[float, float]],
    later: list[tuple[list[tuple[float, float]], str]],
    now: float,
) -> None:
    axis = TimeAxis.around(now, 3_600.0, 40)  # points come by its left end, and by its right one
    cell = Cell("C1", "C1", lane=(_segment(_on((), begun)),))
    track = tracked(cell, axis, PER_X, HIGH)
    for steps, change in later:
        last = cell.lane[-1]
        after = replace(cell, lane=(*cell.lane[:-1], replace(last, points=_on(last.points, steps))))
        after = _changed(after, change)
        track = tracked(after, axis, PER_X, HIGH, (cell, track))
        assert track == tracked(after, axis, PER_X, HIGH)
        cell = after


def test_of_what_stands_nothing_is_placed_again() -> None:
    axis = TimeAxis.around(3_000.0, 3_600.0, 40)
    cell = Cell("C1", "C1", lane=(_segment(((2_000.0, 0.2), (2_100.0, 0.4))),))
    before = tracked(cell, axis, PER_X, HIGH)
    same = replace(cell, rows_used=7, lane=(_segment(((2_000.0, 0.2), (2_100.0, 0.4))),))
    after = tracked(same, axis, PER_X, HIGH, (cell, before))
    assert after.curves[0] is before.curves[0]
    assert after.lane[0] is before.lane[0]
