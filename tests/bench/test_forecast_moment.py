"""As of which reading a forecast is made: by the readings alone, and seldom where rows are many."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.forecast_moment import GROWTH, forecast_moment


def moments(times: np.ndarray, since: float) -> list[float]:
    return [forecast_moment(times[: n + 1], since) for n in range(len(times))]


def test_of_a_row_a_second_one_in_many_counts() -> None:
    times = np.arange(0.0, 6 * 3600.0)
    found = np.unique([forecast_moment(times[:n], 0.0) for n in range(1, len(times))])
    assert len(found) < 460
    assert len(found) == pytest.approx(np.log(21900 / 300) / np.log(GROWTH), rel=0.05)


def test_each_reading_of_a_schedule_counts() -> None:
    times = 60.0 * (0.5 * np.arange(1, 60)) ** 2
    assert moments(times, 0.0)[20:] == times[20:].tolist()


@given(
    st.lists(st.floats(0.1, 5000.0), min_size=1, max_size=60),
    st.floats(-1e6, 1e4),
)
def test_it_is_a_reading_and_never_far_behind(gaps: list[float], since: float) -> None:
    times = np.cumsum(gaps)
    found = moments(times, since)
    assert set(found) <= set(times.tolist())
    assert found == sorted(found)
    for time, moment in zip(times.tolist(), found, strict=True):
        passed = max(time - since, 0.0) + 300.0
        assert time - moment <= (1.0 - 1.0 / GROWTH) * passed + 1e-6
