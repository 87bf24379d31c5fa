"""Which leak has begun, where the few readings of a specimen that drains do not tell how gauges
scatter. Invented readings.
"""

import numpy as np
import pytest

from tui.bench.alarms.rules.leak_begins import LeakBegins
from tui.bench.alarms.rules.steady_flow import Mean

HOUR_S = 3600.0
LIMITS = {"leak-membrane": 0.01, "leak-cell": 0.02, "leak-drainage": 0.02}
DRAINED_H = [20.7, 20.8, 21.0, 21.1, 21.4, 21.7, 22.1, 22.7, 23.5, 24.5, 26.0, 27.9, 30.5]
OUT_ML = [14.36, 21.2, 25.16, 28.15, 30.0, 30.95, 31.41, 31.73, 32.03, 32.32, 32.37, 32.37, 32.38]


def _readings(hours: list[float]) -> list[Mean]:
    return [Mean(hour * HOUR_S, (), 20.0, 20.0) for hour in hours]


@pytest.mark.parametrize(
    ("holds_ml", "holds", "leaks_ml_h", "is_told"),
    [
        (0.0, (), 0.2, False),
        (0.01, (24,), 0.2, True),
        (0.08, (24,), 0.2, False),
        (0.01, (24,), 0.0, False),
        (0.01, (5,) * 6, 0.2, True),  # none of them tells it alone
        (0.12, (5,) * 6, 0.2, False),
        (0.01, (5,), 0.2, False),
    ],
)
def test_the_holds_before_tell_how_a_gauge_scatters(
    holds_ml: float, holds: tuple[int, ...], leaks_ml_h: float, is_told: bool
) -> None:
    begins, dice = LeakBegins(LIMITS, dict.fromkeys(LIMITS, HOUR_S), 0.03), np.random.default_rng(1)
    for place, count in enumerate(holds):
        hold = _readings([2.0 + 3.0 * place + 0.2 * n for n in range(count)])
        scattered = dice.normal(0.0, holds_ml, (2, count))
        for until in range(1, count + 1):
            seen = scattered[:, :until]
            begins.follow(hold[:until], *seen, 0.0 * seen[0], drained=False, late=False)
        begins = begins.copy().anew()
    out = np.array(OUT_ML)
    leaked = leaks_ml_h * np.maximum(np.array(DRAINED_H) - 27.9, 0.0)
    stands = np.full(len(out), 150.0)
    drained = _readings(DRAINED_H)
    found = begins.follow(drained, -out, out + leaked, stands, drained=True, late=True)
    assert (found["leak-cell"] is not None) is is_told
    assert found["leak-membrane"] is None
    assert found["leak-drainage"] is None


@pytest.mark.parametrize(("sends_out_ml_h", "is_told"), [(0.0, True), (0.24, False)])
def test_a_specimen_that_drinks_no_more_explains_no_leak(
    sends_out_ml_h: float, is_told: bool
) -> None:
    begins = LeakBegins(LIMITS, dict.fromkeys(LIMITS, HOUR_S), 0.03)
    hours = np.arange(1.0, 8.6, 0.3)
    drinks, since = np.minimum(hours, 5.0), np.maximum(hours - 6.8, 0.0)
    cell = -0.1 * drinks + 0.24 * since
    back = 0.3 * drinks - sends_out_ml_h * since
    means = _readings(hours.tolist())
    found = begins.follow(means, back, cell, 0.0 * cell + 10.0, drained=False, late=False)
    assert (found["leak-cell"] is not None) is is_told
