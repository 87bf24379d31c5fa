"""What a rehearsed logger measured comes back from its files, whatever way it writes."""

import numpy as np
import pytest

from reduce.rehearsal.readings import scheduled_times
from reduce.rehearsal.sensors import Readings, sense
from tui.feed.source import CellSource
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.rehearsed.scenario import ferry_quay
from tui.rehearsed.striking import Begun, begin_tests
from tui.settings.places import Layout, read_layout

ORDER = Order()
LENGTH_S = 52 * 3600.0

COUNTS = {
    "cell_pressure": 0.011, "back_pressure": 0.011, "pore_pressure": 0.011, "back_volume": 0.001,
    "cell_volume": 0.001, "axial_displacement": 0.001, "axial_load": 0.06, "temperature": 0.06,
}  # fmt: skip
"""The coarsest half count among the six loggers, in internal units."""


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    folder = tmp_path_factory.mktemp("quay")
    write_bench(compose(ORDER), folder, None)
    return read_layout(folder)


@pytest.fixture(scope="module")
def begun() -> dict[str, Begun]:
    cells, _ = begin_tests(ferry_quay(6, 0), (), ORDER.first, lambda _need: LENGTH_S)
    return {one.setup.plan.cell: one for one in cells}


def _measured(one: Begun) -> Readings:
    times = scheduled_times(one.run, one.setup.reading)
    times = times[times <= ORDER.first + LENGTH_S - one.started]
    minutes = (one.started - ORDER.first) / 60.0 + 8 * 60.0
    return sense(one.run, times, one.setup.made, minutes % 1440.0 / 60.0)


@pytest.mark.parametrize("cell", ["C1", "C2", "C3", "C4", "C5", "C6"])
def test_files_give_back_what_was_measured(
    layout: Layout, begun: dict[str, Begun], cell: str
) -> None:
    place = next(place for place in layout.places if place.name == cell)
    arrived = CellSource(place, layout.root, layout.zone).read()
    assert arrived is not None
    assert arrived.rows is not None
    assert arrived.unused == ()
    assert not arrived.problems
    one = begun[cell]
    measured = _measured(one)
    # A time in minutes with four decimals is good to a few milliseconds.
    assert arrived.rows.times == pytest.approx(one.started + measured.seconds, abs=0.01)
    for channel, values in arrived.rows.channels.items():
        difference = np.abs(values - measured.values[channel])
        assert float(difference.max()) < COUNTS[channel], channel
    if "drainage" in arrived.rows.words:
        expected = tuple("open" if is_open else "closed" for is_open in measured.open_)
        assert arrived.rows.words["drainage"] == expected
