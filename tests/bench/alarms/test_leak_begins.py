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
    ("holds_ml", "leaks_ml_h", "is_told"),
    [(None, 0.2, False), (0.01, 0.2, True), (0.08, 0.2, False), (0.01, 0.0, False)],
)
def test_the_hold_before_tells_how_a_gauge_scatters(
    holds_ml: float | None, leaks_ml_h: float, is_told: bool
) -> None:
    begins = LeakBegins(LIMITS, dict.fromkeys(LIMITS, HOUR_S), 0.03)
    if holds_ml is not None:
        hold = _readings([10.0 + 0.2 * n for n in range(24)])
        scattered = np.random.default_rng(1).normal(0.0, holds_ml, (2, 24))
        begins.follow(hold, *scattered, 0.0 * scattered[0], drained=False, late=False)
    begins = begins.anew()
    out = np.array(OUT_ML)
    leaked = leaks_ml_h * np.maximum(np.array(DRAINED_H) - 27.9, 0.0)
    stands = np.full(len(out), 150.0)
    drained = _readings(DRAINED_H)
    found = begins.follow(drained, -out, out + leaked, stands, drained=True, late=True)
    assert (found["leak-cell"] is not None) is is_told
    assert found["leak-membrane"] is None
    assert found["leak-drainage"] is None
