"""Saturation whose B stands still though back pressure rises, and what only looks like it."""

import pytest
from scripted import Script
from told_alarms import SCHEDULED, followed, of


def stalls(*b_values: float, late: float = 0.0) -> bool:
    """Whether these checks, each after a step of back pressure, are told as one that stalls.

    Args:
        b_values: one a check.
        late: by how much B still rises in the last check while pore pressure counts as settled.
    """
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for number, b in enumerate(b_values, start=1):
        script.check(b)
        if number == len(b_values):
            script.pore += 50.0 * late
        script.raise_back(10.0 + 50.0 * number)
    found = of(followed(script.rows, cell=SCHEDULED), "saturation-stalled")
    return any(one.reason == "more pressure" for one in found)


@pytest.mark.parametrize(
    ("b_values", "so"),
    [
        ((0.60, 0.60), True),
        ((0.60, 0.59), True),
        ((0.60, 0.63), False),
        ((0.60, 0.80, 0.80), True),
        # Near the target B rises by hardly more than pressures are read to.
        ((0.80, 0.928, 0.932, 0.928), False),
        ((0.80, 0.93, 0.93), False),
        ((0.90, 0.94, 0.935, 0.932, 0.925), True),
        ((0.90, 0.925, 0.925, 0.925, 0.925), False),  # accepted as unchanged after BS 1377-8
        ((0.90, 0.925, 0.93, 0.935, 0.94), False),
    ],
)
def test_b_stands_still_when_it_does_so_for_long_enough(
    b_values: tuple[float, ...], so: bool
) -> None:
    assert stalls(*b_values) is so


def test_a_b_that_rises_in_its_last_reading_does_not_stand_still() -> None:
    assert stalls(0.60, 0.60)
    assert not stalls(0.60, 0.60, late=0.03)
