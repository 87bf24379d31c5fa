"""A flow that begins is told within its hour, and what only looks like one is not.

Invented courses; their shapes are those of the trade (creep with the logarithm of time, a day's
wave of the room). Share of a bell within 0.385 standard deviations: the normal table, by scipy.
"""

from math import log, pi, sin

import numpy as np
import pytest
from scipy.stats import norm

from tui.bench.alarms.rules import gauge_scatter
from tui.bench.alarms.rules.steady_flow import Mean
from tui.bench.alarms.rules.sudden_flow import begun, still_flows

HOUR_S = 3600.0
LIMIT, LASTS_S, WARMTH = 0.02, HOUR_S, (-0.35, 0.18)


def _still(_h: float) -> float:
    return 20.0


def _means(flow, warm=_still, hours: float = 5.0, every_s: float = 300.0):  # type: ignore[no-untyped-def]
    times = [every_s * n for n in range(1, round(hours * HOUR_S / every_s) + 1)]
    rows = []
    for n, t in enumerate(times):
        scatter = 0.003 * sin(12.9898 * n * n)
        rows.append(Mean(t, (flow(t / HOUR_S) + scatter,), warm(t / HOUR_S), warm(t / HOUR_S)))
    return rows, np.array([row.value[0] for row in rows])


def _begun(flow, warm=_still, stress=0.0, **ways):  # type: ignore[no-untyped-def]
    means, value = _means(flow, warm, **ways)
    steps = np.linspace(100.0, 100.0 + stress, len(means))
    return begun(means, value, steps, LIMIT, LASTS_S, WARMTH, soft=0.03)


def _creep(h: float) -> float:
    return 0.1 * log(1.0 + h)


@pytest.mark.parametrize("ml_h", [0.15, 0.6])
def test_a_leak_of_an_hour_is_told_with_its_begin_and_rate(ml_h: float) -> None:
    found = _begun(lambda h: _creep(h) + ml_h * max(h - 4.0, 0.0))
    assert found is not None
    assert found.since / HOUR_S == pytest.approx(4.0, abs=0.25)
    assert found.per_hour - found.before == pytest.approx(ml_h, abs=0.3 * ml_h)


@pytest.mark.parametrize(
    ("began_h", "shown_h"), [(5.7, 6.0), (6.68, 7.0), (7.0, 7.33), (7.1, 7.33)]
)
def test_of_rare_readings_it_begins_with_the_first_that_shows_it(
    began_h: float, shown_h: float
) -> None:
    def flow(h: float) -> float:
        return _creep(h) + 0.6 * max(h - began_h, 0.0)

    found = _begun(flow, hours=8.0, every_s=1200.0)
    assert found is not None
    assert began_h - 0.04 < found.since / HOUR_S < shown_h + 0.01


def test_what_a_rare_reading_already_showed_counts_once_it_is_sure() -> None:
    # 0.27 ml/h since 15,000 s, behind a room that cools: the reading at 17,000 s shows 0.15 ml more
    # than is expected of the room, and might be its doing still; that at 24,000 s is none of it.
    seconds = [-1500, -400, 500, 1600, 3200, 5300, 8100, 11900, 17000, 24000]
    gauged = [3.175, 3.182, 3.202, 3.191, 3.196, 3.224, 3.209, 3.241, 3.462, 4.044]
    warm = [21.13, 21.11, 21.12, 21.10, 21.11, 21.09, 20.95, 20.84, 20.65, 20.20]
    lagged = [21.13, 21.13, 21.13, 21.12, 21.12, 21.11, 21.07, 20.99, 20.85, 20.53]
    rows = zip(seconds, gauged, warm, lagged, strict=True)
    means = [Mean(s, (v,), room, water) for s, v, room, water in rows]
    of = 0.02, LASTS_S, (-0.35, 0.18)
    stands = np.full(len(means), 250.0)
    assert begun(means[:-1], np.array(gauged[:-1]), stands[:-1], *of, soft=0.03) is None
    found = begun(means, np.array(gauged), stands, *of, soft=0.03)
    assert found is not None
    assert found.since == 17000.0


def test_creep_a_jump_and_half_the_limit_are_none() -> None:
    assert _begun(_creep) is None
    assert _begun(lambda h: _creep(h) + (0.4 if h > 4.3 else 0.0)) is None
    assert _begun(lambda h: _creep(h) + 0.5 * LIMIT * max(h - 3.0, 0.0)) is None


def test_what_a_room_can_do_is_none() -> None:
    def room(h: float) -> float:
        return 20.0 + sin(2.0 * pi * (h - 4.0) / 24.0)

    assert _begun(lambda h: -0.5 * (room(h) - 20.0), room) is None
    # The same where no thermometer is read: a day's wave bends so much in any case.
    assert _begun(lambda h: -0.5 * (room(h) - 20.0), lambda _: float("nan")) is None


def test_what_a_change_of_stress_may_squeeze_out_is_none() -> None:
    def flow(h: float) -> float:
        return 0.12 * max(h - 4.0, 0.0)

    assert _begun(flow) is not None
    assert _begun(flow, stress=30.0) is None


def test_while_stress_changes_by_much_no_flow_is_sudden() -> None:
    def flow(h: float) -> float:
        return _creep(h) + 5.0 * max(h - 4.0, 0.0)

    assert _begun(flow, stress=10.0) is not None
    assert _begun(flow, stress=100.0) is None


def test_it_has_stopped_when_nothing_more_flows() -> None:
    def flow(h: float) -> float:
        return 0.3 * min(max(h - 4.0, 0.0), 1.2)

    means, value = _means(flow, hours=5.0)
    found = begun(means, value, np.full(len(means), 100.0), LIMIT, LASTS_S, WARMTH, soft=0.03)
    assert found is not None
    assert still_flows(means, value, found, LIMIT, LASTS_S, WARMTH)
    later, more = _means(flow, hours=7.0)
    assert not still_flows(later, more, found, LIMIT, LASTS_S, WARMTH)


def test_the_scatter_is_that_of_a_bell() -> None:
    share, as_sd = gauge_scatter.LEAST_SHARE, gauge_scatter.LEAST_AS_SD
    assert as_sd == pytest.approx(1.0 / norm.ppf(0.5 + share / 2.0), rel=0.01)


AT_H = 0.05 * 1.3 ** np.arange(18)
"""A schedule by the logarithm of time. [h]"""
DRAINS = -8.0 * np.sqrt(np.minimum(AT_H / 1.2, 1.0))
"""What a specimen lets go of meanwhile. [ml]"""
NOISE = 0.004 * np.sin(12.9898 * np.arange(18) ** 2)


def test_a_leak_behind_rare_readings_of_a_specimen_at_rest_is_told() -> None:
    leaks = 0.3 * np.maximum(AT_H - 2.6, 0.0)
    means = [Mean(at * HOUR_S, (0.0,), 20.0, 20.0) for at in AT_H]
    stress, line = np.full(len(means), 100.0), (0.0, 0.015)
    found = begun(means, DRAINS + NOISE + leaks, stress, LIMIT, LASTS_S, line, soft=0.03)
    assert found is not None
    assert found.per_hour == pytest.approx(0.3, abs=0.05)
    assert begun(means, DRAINS + NOISE, stress, LIMIT, LASTS_S, line, soft=0.03) is None


@pytest.mark.parametrize("at_h", [4.05, 4.2, 4.31, 4.5, 4.71])
def test_a_jump_within_a_mean_is_no_flow_wherever_it_lies(at_h: float) -> None:
    """The mean in which it falls holds part of it."""

    def flow(h: float) -> float:
        smeared = min(max((h - at_h) / (300.0 / HOUR_S) + 0.4, 0.0), 1.0)
        return 0.4 * h + 30.0 * smeared

    for hours in np.arange(at_h + 0.1, at_h + 2.0, 1.0 / 12.0):
        assert _begun(flow, hours=float(hours)) is None


def test_one_mean_that_lies_low_is_no_begin() -> None:
    """What flowed before would be told by the one gap in front of it."""
    lately = (580, 607, 631, 651, 672, 691, 712, 735, 738, 765, 790, 811, 828, 844)
    value = np.array([*(580.0 - 22.0 * np.arange(30, 0, -1)), *lately]) / 1000.0
    means = [Mean(300.0 * (k + 1), (), 20.0, 20.0) for k in range(len(value))]
    stress = np.full(len(value), 150.0)
    assert begun(means, value, stress, LIMIT, LASTS_S, WARMTH, soft=0.03) is None
    leaks = value + 0.3 * np.maximum(np.arange(len(value)) - 33.0, 0.0) / 12.0
    found = begun(means, leaks, stress, LIMIT, LASTS_S, WARMTH, soft=0.03)
    assert found is not None
    assert found.per_hour - found.before == pytest.approx(0.3, abs=0.1)
