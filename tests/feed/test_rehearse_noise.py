"""`porewatch rehearse --noise`: a bench of perfect sensors is the model's truth, digit by digit."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reduce.rehearsal.readings import scheduled_times
from reduce.specimen import specimen_at_set_up
from tui.feed.source import CellSource
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.rehearsed.dialects import DIALECTS
from tui.rehearsed.sets import one_soil
from tui.rehearsed.striking import Begun, begin_tests
from tui.settings.places import Layout, read_layout

PERFECT = Order(cells=6, soil="stiff-clay", noise=0.0)
"""Six loggers, no two alike; CU and CD."""

TRACES = {
    "cell_pressure": "cell_kPa", "back_pressure": "back_kPa", "pore_pressure": "pore_kPa",
    "back_volume": "back_ml", "cell_volume": "cell_ml", "axial_displacement": "travel_mm",
    "axial_load": "load_N",
}  # fmt: skip


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    folder = tmp_path_factory.mktemp("perfect")
    write_bench(compose(PERFECT), folder, None)
    return read_layout(folder)


@pytest.fixture(scope="module")
def begun() -> list[Begun]:
    setups = one_soil("stiff-clay", 6, 0)
    return begin_tests(setups, (), PERFECT.first, lambda need: need + 86400.0)[0]


def read(layout: Layout, cell: str) -> Any:
    place = next(place for place in layout.places if place.name == cell)
    arrived = CellSource(place, layout.root, layout.zone).read()
    assert arrived is not None
    assert arrived.unused == ()
    return arrived.rows


@pytest.mark.parametrize("index", range(6))
def test_what_the_feed_reads_is_what_was_true(
    layout: Layout, begun: list[Begun], index: int
) -> None:
    one = begun[index]
    rows = read(layout, one.setup.plan.cell)
    times = scheduled_times(one.run, one.setup.reading)
    # An elapsed time of minutes has ten decimals; an epoch as a float is good to 0.2 µs.
    assert np.abs(rows.times - one.started - times).max() < 1e-6
    assert set(rows.channels) >= set(TRACES) - {"cell_volume"}
    for channel, values in rows.channels.items():
        if channel == "temperature":
            assert values == pytest.approx(np.full(len(times), 20.3), abs=1e-6)
            continue
        true = one.run.trace.at(TRACES[channel], times)
        if channel == "axial_displacement":
            true = true + one.setup.made.travel_from_mm
        assert values == pytest.approx(true, rel=1e-6, abs=1e-6), channel


@pytest.mark.parametrize("cells", [1, 4])
def test_what_was_weighed_is_what_is_true(layout: Layout, begun: list[Begun], cells: int) -> None:
    one = begun[cells - 1]
    place = next(place for place in layout.places if place.name == one.setup.plan.cell)
    assert place.settings is not None
    given, plan = place.settings.specimen, one.setup.plan
    found = specimen_at_set_up(
        diameter_mm=given.diameter_mm,
        height_mm=given.height_mm,
        mass_g=given.mass_g,
        water_content_given=given.water_content,
        particle_density_Mg_m3=plan.soil.particle_density_Mg_m3,
    )
    assert found.area_mm2 == pytest.approx(plan.area_mm2, rel=1e-9)
    assert found.volume_ml == pytest.approx(plan.volume_ml, rel=1e-9)
    assert found.void_ratio == pytest.approx(plan.soil.void_ratio, rel=1e-9)
    assert found.water_content == pytest.approx(plan.water_content, rel=1e-9)
    # The density of water at 20 °C has four digits in the model.
    assert found.saturation == pytest.approx(plan.soil.saturation, rel=2e-5)


@pytest.mark.parametrize(("noise", "finer"), [(1.0, 0), (3.0, 0), (0.1, 1), (0.04, 2), (0.0, 6)])
def test_rounding_shrinks_as_the_noise_does(noise: float, finer: int) -> None:
    content = compose(Order(cells=1, soil="silt", noise=noise)).files["C1/2031-02-03.csv"]
    first = content.decode().splitlines()[1].split(",")[1]
    assert len(first.partition(".")[2]) == DIALECTS[0].columns[0].decimals + finer


def test_the_size_of_the_noise_is_what_was_asked_for(tmp_path: Path) -> None:
    spread = {}
    for noise in (1.0, 4.0):
        folder = tmp_path / f"{noise:g}"
        write_bench(compose(Order(cells=1, soil="silt", noise=noise)), folder, None)
        rows = read(read_layout(folder), "C1")
        # Nothing moves while the specimen is mounted.
        spread[noise] = rows.channels["cell_pressure"][:8]
    usual, more = (values - values.mean() for values in spread.values())
    assert more == pytest.approx(4.0 * usual, abs=0.03), "but for rounding to 0.01 kPa"
