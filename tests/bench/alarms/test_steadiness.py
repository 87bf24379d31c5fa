"""Pressures that should stand: what creeps keeps its level, what is set gets a new one; scatter.

2 kPa or 1 % for five minutes, 1 kPa of standard deviation over ten: contract section 7.
"""

from math import pi, sin
from random import Random

import pytest
from drained_rows import consolidating, spells

from tui.bench.readings import Reading


def _moved(by, every_s: float, hours: float = 2.0) -> tuple[list[Reading], float]:  # type: ignore[no-untyped-def]
    """Cell pressure of a drained step with a course laid over it, by seconds since its begin."""
    script = consolidating()
    opened = script.begins[-1][2]
    begins = opened + 3.0 * 3600.0
    rows = [row for row in script.rows if row.time < begins]
    last = rows[-1]
    for k in range(round(hours * 3600.0 / every_s)):
        moved = last.cell_pressure + by(every_s * k)
        rows.append(last._replace(time=begins + every_s * k, cell_pressure=moved))
    return rows, begins


def test_a_creep_of_which_each_minute_is_small_keeps_its_level() -> None:
    rows, begins = _moved(lambda s: 0.8 * min(s, 1200.0) / 60.0, 60.0)
    (spell,) = spells(rows, "pressure-drift")
    limit = 0.01 * next(row for row in rows if row.time >= begins).cell_pressure
    assert begins < spell.since < begins + 60.0 * limit / 0.8 + 180.0
    assert spell.raised_at == spell.since + 300.0


@pytest.mark.parametrize(("pace", "seed"), [(0.37, 0), (0.47, 3)])
def test_a_creep_that_is_just_fast_enough_to_be_taken_for_a_move_keeps_its_level(
    pace: float, seed: int
) -> None:
    dice = Random(seed)
    rows, begins = _moved(
        lambda s: pace * min(s, 1200.0) / 60.0 + dice.gauss(0.0, 0.12), 10.0, hours=1.0
    )
    (spell,) = spells(rows, "pressure-drift")
    limit = 0.01 * next(row for row in rows if row.time >= begins).cell_pressure
    assert begins < spell.since < begins + 60.0 * (limit + 0.5) / pace
    assert spell.raised_at == spell.since + 300.0


def test_what_is_set_at_once_and_stands_gets_a_new_level() -> None:
    rows, _ = _moved(lambda s: 0.0 if s < 600.0 else 6.0, 60.0)
    assert not spells(rows, "pressure-drift")


@pytest.mark.parametrize("period_s", [20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 90.0])
def test_scatter_is_told_whatever_its_period(period_s: float) -> None:
    rows, begins = _moved(lambda s: 2.2 * sin(2.0 * pi * (s + 3.0) / period_s), 10.0)
    (spell, *_) = spells(rows, "pressure-unsteady")
    assert begins < spell.since and spell.raised_at < begins + 1210.0
    assert "limit 1.0 kPa" in spell.message


def test_half_the_scatter_is_none() -> None:
    rows, _ = _moved(lambda s: 0.7 * sin(2.0 * pi * (s + 3.0) / 50.0), 10.0)
    assert not spells(rows, "pressure-unsteady")
