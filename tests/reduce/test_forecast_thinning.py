"""Thinning over log time: what stays was read, in order, with its ends."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from reduce.errors import ReductionError
from reduce.forecast import thin_log
from reduce.forecast.thinning import average_log


@example([1.0, 1e7, 9999999.999999998], 2)
@given(st.lists(st.floats(0.01, 1e7), min_size=1, max_size=200, unique=True), st.integers(2, 60))
def test_what_stays_was_read(times: list[float], limit: int) -> None:
    time = np.sort(times)
    value = np.sqrt(time)
    kept, values = thin_log(time, value, limit)
    assert len(kept) <= limit
    assert len(kept) == len(time) or len(kept) >= 2
    assert set(kept) <= set(time)
    np.testing.assert_array_equal(values, np.sqrt(kept))
    assert kept[0] == time[0]
    assert kept[-1] == time[-1]
    assert np.all(np.diff(kept) > 0)


def test_each_decade_keeps_its_share() -> None:
    times = np.arange(1.0, 10_001.0)
    kept, _ = thin_log(times, times, 40)
    counts = np.histogram(np.log10(kept), bins=[1, 2, 3, 4.001])[0]
    assert counts.min() >= 8
    assert counts.max() <= 12


def test_zero_and_what_lies_before_it_is_left_out() -> None:
    kept, _ = thin_log([-5.0, 0.0, 1.0], [1.0, 2.0, 3.0], 5)
    assert kept.tolist() == [1.0]
    assert thin_log([], [], 5)[0].size == 0


@given(st.lists(st.floats(0.1, 1e6), min_size=1, max_size=300), st.integers(1, 64))
def test_means_keep_the_sum(times: list[float], parts: int) -> None:
    time = np.sort(times)
    value = 3.0 - time
    mean_time, mean, number = average_log(time, value, parts)
    assert number.sum() == len(time)
    assert len(mean) <= parts
    assert (mean * number).sum() == pytest.approx(value.sum(), rel=1e-9, abs=1e-6)
    assert np.all(np.diff(mean_time) > 0)


def test_columns_must_match() -> None:
    with pytest.raises(ReductionError, match="one length"):
        thin_log([1.0, 2.0], [1.0], 5)
