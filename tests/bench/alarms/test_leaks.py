"""Leaks by flow: raised by what is linear in time, not by creep nor by a warm room.

Limits 0.01 and 0.02 ml/h: contract section 7. Secondary flow with log time: textbook, from memory.
1 L of water 0.207 ml/°C: IAPWS-95 as in soil.md 6.
"""

import pytest
from drained_rows import HOUR_S, consolidating, night, spells, watched
from scripted import settings

from tui.bench.alarms.rules.steady_flow import Rate

KINDS = ("leak-membrane", "leak-cell", "leak-drainage")
OF = {"leak-membrane": "membrane", "leak-cell": "cell", "leak-drainage": "line"}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("ml_h", [0.1, 0.4])
def test_a_leak_is_told_within_hours_and_by_its_kind(kind: str, ml_h: float) -> None:
    rows, onset = night(**{OF[kind]: ml_h})
    (spell,) = spells(rows, *KINDS)
    assert spell.kind == kind
    assert onset < spell.since < onset + 3.0 * HOUR_S
    assert spell.raised_at == spell.since + HOUR_S
    assert spell.cleared_at is None
    assert spell.priority == ("urgent" if kind == "leak-membrane" else "warning")
    assert "ml/h" in spell.message and "limit" in spell.message


@pytest.mark.parametrize("kind", KINDS)
def test_a_leak_from_the_start_is_told_once_primary_is_over(kind: str) -> None:
    rows, _ = night(**{OF[kind]: 0.2}, from_h=0.0)
    assert spells(rows, kind)


@pytest.mark.parametrize("swing_C", [0.0, 1.0])
@pytest.mark.parametrize("thermometer", [True, False])
@pytest.mark.parametrize("every_s", [300.0, 2400.0])
def test_creep_and_a_daily_swing_are_no_leak(
    swing_C: float, thermometer: bool, every_s: float
) -> None:
    rows, _ = night(60.0, swing_C=swing_C, thermometer=thermometer, every_s=every_s)
    assert not spells(rows, *KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_half_the_limit_is_no_leak(kind: str) -> None:
    limit = 0.01 if kind == "leak-membrane" else 0.02
    rows, _ = night(60.0, **{OF[kind]: 0.5 * limit}, swing_C=1.0)
    assert not spells(rows, *KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_leak_is_seen_through_a_daily_swing(kind: str) -> None:
    rows, onset = night(48.0, **{OF[kind]: 0.15}, swing_C=1.0)
    (spell,) = spells(rows, kind)[:1]
    assert onset < spell.since < onset + 24.0 * HOUR_S


def test_a_leak_clears_when_its_flow_stops() -> None:
    rows, onset = night(24.0, line=0.3)
    stopped = onset + 8.0 * HOUR_S
    rows = [row for row in rows if row.time <= stopped]
    last = rows[-1]
    rows += [last._replace(time=last.time + 600.0 * k) for k in range(1, 36)]
    (spell,) = spells(rows, "leak-drainage")
    assert spell.cleared_at is not None
    assert stopped < spell.cleared_at < stopped + 3.0 * HOUR_S


def test_the_limit_may_be_written_in_the_settings() -> None:
    rows, _ = night(line=0.3)
    lax = settings(alarms={"limits": {"leak-drainage": {"flow": "0.5 ml/h"}}})
    assert not spells(rows, "leak-drainage", of=lax)


def test_without_cell_volume_a_membrane_cannot_be_judged_while_drained() -> None:
    rows, _ = night()
    rows = [row._replace(cell_volume=float("nan")) for row in rows]
    blind = {one.kind: one.why for one in watched(rows).blind}
    assert blind["leak-cell"] == "needs cell_volume"
    assert blind["leak-membrane"] == "needs cell_volume while drainage is open"


def _long_check(climbs_kPa_h: float, b: float = 0.9, hours: float = 4.0):  # type: ignore[no-untyped-def]
    script = consolidating()
    built = next(n for n, (_, step, _) in enumerate(script.begins) if step == "build-up")
    opened = script.begins[built + 1][2] - 15.0
    rows = [row for row in script.rows if row.time < opened - 20.0]
    last, start = rows[-1], rows[-1].time
    zero = max(row.pore_pressure for row in rows if row.time < script.begins[built][2])
    more = (b - 0.97) * 140.0
    rows = [
        row._replace(pore_pressure=row.pore_pressure + more * (row.pore_pressure - zero) / 135.8)
        if row.time > script.begins[built][2]
        else row
        for row in rows
    ]
    rows = [row._replace(temperature=20.0) for row in rows]
    last = rows[-1]
    for k in range(1, round(hours * 30.0)):
        after = 120.0 * k
        rows.append(
            last._replace(
                time=start + after,
                pore_pressure=last.pore_pressure + climbs_kPa_h * after / 3600.0,
            )
        )
    return rows, start


def test_pore_pressure_that_climbs_past_its_settling_is_a_leak() -> None:
    rows, start = _long_check(3.0)
    (spell,) = spells(rows, "leak-membrane")
    assert spell.reason == "climb"
    # Told from means of two minutes, the onset at the earliest: within two of them.
    assert start - 240.0 < spell.since < start + 240.0
    assert spell.raised_at == spell.since + HOUR_S


@pytest.mark.parametrize("climbs_kPa_h", [0.0, 0.4, -3.0])
def test_pore_pressure_that_stands_or_falls_is_no_leak(climbs_kPa_h: float) -> None:
    rows, _ = _long_check(climbs_kPa_h)
    assert not spells(rows, "leak-membrane")


@pytest.mark.parametrize(("b", "is_leak"), [(1.06, True), (1.0, False)])
def test_a_b_above_one_is_a_leak(b: float, is_leak: bool) -> None:
    rows, _ = _long_check(0.0, b)
    found = [spell for spell in spells(rows, "leak-membrane") if spell.reason == "B"]
    assert bool(found) == is_leak
    if found:
        assert found[0].raised_at == found[0].since + HOUR_S


def test_a_flow_that_is_less_than_its_uncertainty_is_none() -> None:
    # As a fit over a few steps told it: 20 ml/h, give or take 11, of which 2 flow lately.
    assert not Rate(per_hour=20.0, sd=5.5, recent=1.952, least=1.9).surely_above(0.02)
    assert Rate(per_hour=0.20, sd=0.03, recent=0.18, least=0.17).surely_above(0.02)
