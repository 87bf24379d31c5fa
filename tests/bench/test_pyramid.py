"""A long line in few points: every peak stays, whatever the number of points."""

import random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tui.bench.pyramid import Pyramid


def line(count: int, seed: int = 1) -> list[tuple[float, float]]:
    chance = random.Random(seed)
    return [(float(x), 300.0 + chance.gauss(0.0, 0.1)) for x in range(count)]


def told(points: list[tuple[float, float]], most: int = 128) -> tuple[tuple[float, float], ...]:
    pyramid = Pyramid(most)
    for point in points:
        pyramid.add(*point)
    return pyramid.points()


def test_few_points_stay_as_they_are() -> None:
    assert told(line(128)) == tuple(line(128))


@settings(max_examples=60, deadline=None)
@given(
    count=st.integers(200, 5000),
    at=st.floats(0.0, 1.0),
    size=st.sampled_from([-80.0, 80.0]),
    most=st.integers(2, 128),
)
def test_one_spike_among_thousands_is_seen(count: int, at: float, size: float, most: int) -> None:
    points = line(count)
    place = int(at * (count - 1))
    points[place] = (points[place][0], 300.0 + size)
    found = told(points, most)
    assert points[place] in found
    assert len(found) <= 2 * most + 1
    assert set(found) <= set(points)
    assert list(found) == sorted(found)
    assert (found[0][1] <= 300.0 + abs(size)) and found[-1] == points[-1]
    assert found[-1][0] - found[0][0] > 0.9 * count - 2 * count / most


@settings(max_examples=60, deadline=None)
@given(
    sizes=st.lists(st.integers(1, 700), min_size=1, max_size=8),
    most=st.integers(2, 128),
    chance=st.randoms(use_true_random=False),
)
def test_many_at_once_are_what_they_are_one_by_one(
    sizes: list[int], most: int, chance: random.Random
) -> None:
    xs = np.cumsum([chance.choice([0.0, 0.1, 1.0, 1.0, 40.0]) for _ in range(sum(sizes))])
    ys = np.array([chance.choice([1.0, 2.0, 2.0, 5.0, float("nan")]) for _ in xs])
    one_by_one, together = Pyramid(most), Pyramid(most)
    for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
        one_by_one.add(x, y)
    at = 0
    for size in sizes:
        together.extend(xs[at : at + size], ys[at : at + size])
        at += size
    assert together.points() == one_by_one.points()


@settings(max_examples=60, deadline=None)
@given(
    steps=st.lists(st.sampled_from([0.0, 0.1, 1.0, 40.0]), max_size=400),
    most=st.integers(2, 40),
    chance=st.randoms(use_true_random=False),
)
def test_a_stretch_of_it_is_what_lies_between(
    steps: list[float], most: int, chance: random.Random
) -> None:
    pyramid, xs = Pyramid(most), np.cumsum(steps).tolist()
    for x in xs:
        pyramid.add(x, chance.gauss(0.0, 1.0))
    start, end = chance.choice([*xs, 0.05]), chance.choice([*xs, 1.05])
    expected = tuple(point for point in pyramid.points() if start <= point[0] < end)
    assert pyramid.between(start, end) == expected


def test_points_of_one_moment_end_in_few() -> None:
    assert len(told([(5.0, float(y)) for y in range(1000)])) <= 257
    assert told([]) == ()


def test_no_reading_is_no_point() -> None:
    pyramid = Pyramid()
    pyramid.add(0.0, 1.0)
    pyramid.add(1.0, float("nan"))
    assert pyramid.points() == ((0.0, 1.0),)


def test_a_copy_goes_its_own_way() -> None:
    pyramid = Pyramid()
    pyramid.add(0.0, 1.0)
    other = pyramid.copy()
    other.add(1.0, 9.0)
    assert pyramid.points() == ((0.0, 1.0),)
