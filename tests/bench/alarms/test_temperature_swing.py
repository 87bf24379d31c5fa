"""A room that warms or cools too fast, or too far since the phase began.

2 °C within an hour, 4 °C since the begin of the phase, ten minutes, clears at half: contract
section 7; ±2 °C of BS 1377-8 and ±4 °C of ASTM D4767 from memory.
"""

from math import pi, sin

import pytest
from drained_rows import HOUR_S, consolidating, spells
from scripted import START

from tui.bench.readings import Reading

KIND = "temperature-swing"


def _warmed(rise_C: float, within_h: float, from_h: float = 3.0, holds_h: float = 99.0):  # type: ignore[no-untyped-def]
    """A drained step in which the room warms in a line, holds, and is as before."""
    script = consolidating()
    opened = script.begins[-1][2]
    begins = opened + from_h * HOUR_S
    last = script.rows[-1].time
    rows: list[Reading] = [row for row in script.rows if row.time <= opened]
    at = opened
    while at < last:
        at += 120.0
        row = next(one for one in reversed(script.rows) if one.time <= at)
        passed = (at - begins) / HOUR_S
        warm = rise_C * min(max(passed / within_h, 0.0), 1.0)
        if passed > within_h + holds_h:
            warm = 0.0
        rows.append(row._replace(time=at, temperature=20.0 + warm))
    return rows, begins


def test_too_fast() -> None:
    rows, begins = _warmed(3.0, 1.0)
    (spell,) = spells(rows, KIND)
    assert spell.since == pytest.approx(begins + 2400.0, abs=400.0)  # 2 °C take forty minutes
    assert spell.raised_at == spell.since + 600.0
    assert "limit 2 °C" in spell.message
    # An hour after it stands, nothing has changed within an hour; 3 °C since the begin are more
    # than half of four.
    assert spell.cleared_at is None


def test_too_far_since_the_phase_began() -> None:
    rows, begins = _warmed(5.0, 8.0)
    (spell,) = spells(rows, KIND)
    assert spell.since == pytest.approx(begins + 0.8 * 8.0 * HOUR_S, abs=600.0)
    assert "since consolidation began, limit 4 °C" in spell.message


def test_it_clears_at_half() -> None:
    rows, begins = _warmed(3.0, 1.0, holds_h=2.0)
    spell = spells(rows, KIND)[0]
    assert spell.cleared_at is not None
    assert begins + 3.0 * HOUR_S < spell.cleared_at < begins + 4.3 * HOUR_S


@pytest.mark.parametrize(("rise_C", "within_h"), [(1.8, 1.0), (3.8, 8.0), (0.0, 1.0)])
def test_less_is_none(rise_C: float, within_h: float) -> None:
    rows, _ = _warmed(rise_C, within_h)
    assert not spells(rows, KIND)


def test_a_daily_swing_and_a_spike_are_none() -> None:
    rows = [
        row._replace(temperature=20.0 + sin(2.0 * pi * (row.time - START) / 86400.0))
        for row in consolidating().rows
    ]
    assert not spells(rows, KIND)
    rows, _ = _warmed(0.0, 1.0)
    rows[300] = rows[300]._replace(temperature=27.0)
    assert not spells(rows, KIND)
