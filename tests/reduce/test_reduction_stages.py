"""Stages of a reduction from bad records: refused in words, or told with a caution; never NaN."""

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from math import isfinite
from typing import Any

import numpy as np
import pytest
from rehearsed_record import record_of_run

from reduce.columns import GREATEST, Column
from reduce.errors import ReductionError
from reduce.record import Record
from reduce.reduction.cautions import cautions_of
from reduce.reduction.stages import Stages, reduce_stages
from reduce.reduction.usable import usable
from reduce.reduction.whole import reduce_test
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.technician import Technician

KINDS = {
    "CU": TestPlan("C1", SOILS["silty-clay"], "CU", effective_kPa=200.0),
    "CD": TestPlan(
        "C2", SOILS["dense-sand"], "CD", "ASTM D7181", 140.0, 70.0, "both ends",
        effective_kPa=200.0, rate_percent_min=0.05,
    ),
    "UU": TestPlan("C3", SOILS["stiff-clay"], "UU", "ASTM D2850", undrained_cell_kPa=200.0),
}  # fmt: skip
CHANNELS = (
    "cell_pressure", "back_pressure", "pore_pressure", "back_volume", "axial_displacement",
    "axial_load",
)  # fmt: skip


@pytest.fixture(scope="module", params=sorted(KINDS))
def good(request: pytest.FixtureRequest) -> Record:
    return record_of_run(Technician(KINDS[request.param]).work(), None)


@pytest.fixture(scope="module")
def undrained() -> Record:
    return record_of_run(Technician(KINDS["CU"]).work(), None)


@pytest.fixture(scope="module")
def drained() -> Record:
    return record_of_run(Technician(KINDS["CD"]).work(), None)


def numbers(value: Any) -> Iterator[float]:
    """Every single number of a reduction; its columns may hold NaN."""
    if isinstance(value, float):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from numbers(one)
    elif isinstance(value, tuple):
        for one in value:
            yield from numbers(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from numbers(getattr(value, field.name))


def told(record: Record) -> Stages:
    """The stages, every number of which is one."""
    found = reduce_stages(record)
    for stage in ("specimen", "saturation", "consolidation", "shear", "after_test"):
        wrong = [one for one in numbers(getattr(found, stage)) if not isfinite(one)]
        assert not wrong, stage
    return found


def cautions(record: Record) -> str:
    return "\n".join(one.what for one in cautions_of(record, told(record)))


def cut(record: Record, keep: slice | Column) -> Record:
    return replace(
        record,
        times_s=record.times_s[keep],
        channels={name: column[keep] for name, column in record.channels.items()},
        valve_open=None if record.valve_open is None else record.valve_open[keep],
    )


def spoilt(record: Record, channel: str, how: Callable[[Column], Column]) -> Record:
    channels = dict(record.channels)
    channels[channel] = how(channels[channel].copy())
    return replace(record, channels=channels)


def shear_rows(record: Record) -> np.ndarray:
    assert record.zero_strain_s is not None
    end = record.end_of("shear") or np.inf
    return np.flatnonzero((record.times_s > record.zero_strain_s) & (record.times_s < end))


# -- a record that is hardly one ----------------------------------------------------------------


def test_nothing_was_read(good: Record) -> None:
    empty = cut(good, slice(0, 0))
    assert told(empty).shear is None
    with pytest.raises(ReductionError, match="nothing can be reduced of C"):
        reduce_test(replace(empty, checks=()))


@pytest.mark.parametrize("rows", [slice(0, 1), slice(0, 2), slice(-1, None), slice(-3, None)])
def test_hardly_anything_was_read(good: Record, rows: slice) -> None:
    told(cut(good, rows))


def test_every_part_of_a_test(good: Record) -> None:
    count = len(good.times_s)
    for start in range(0, count, max(count // 7, 1)):
        told(cut(good, slice(start, None)))
        told(cut(good, slice(0, start + 1)))


def test_no_phase_is_known(good: Record) -> None:
    bare = replace(
        good, stages=(), checks=(), zero_first_stage_s=None, zero_consolidation_s=None,
        zero_strain_s=None,
    )  # fmt: skip
    found = told(bare)
    assert (found.saturation, found.consolidation, found.shear) == (None, None, None)
    with pytest.raises(ReductionError, match="no saturation, consolidation or shear"):
        reduce_test(bare)


def test_zeros_in_any_order(undrained: Record) -> None:
    first, last = float(undrained.times_s[0]), float(undrained.times_s[-1])
    for zero in (first - 1e6, first, last, last + 1e6):
        for name in ("zero_first_stage_s", "zero_consolidation_s", "zero_strain_s"):
            told(replace(undrained, **{name: zero}))


# -- columns ------------------------------------------------------------------------------------

COLUMNS: dict[str, Callable[[Column], Column]] = {
    "NaN": lambda c: np.full_like(c, np.nan),
    "constant": lambda c: np.full_like(c, 40.0),
    "zero": np.zeros_like,
    "half NaN": lambda c: np.where(np.arange(len(c)) % 2, np.nan, c),
    "mostly NaN": lambda c: np.where(np.arange(len(c)) % 9, np.nan, c),
    "infinite": lambda c: np.where(np.arange(len(c)) % 7 == 3, np.inf, c),
    "huge": lambda c: np.where(np.arange(len(c)) % 7 == 3, -1e300, c),
    "all huge": lambda c: np.full_like(c, 1e300),
    "just allowed": lambda c: np.where(np.arange(len(c)) % 7 == 3, GREATEST, c),
    "other sign": lambda c: -c,
    "other unit": lambda c: 1000.0 * c,
    "backwards": lambda c: c[::-1].copy(),
    "shuffled": lambda c: np.random.default_rng(1).permutation(c),
    "noise": lambda c: np.random.default_rng(2).normal(0.0, 100.0, len(c)),
}


@pytest.mark.parametrize("channel", CHANNELS)
@pytest.mark.parametrize("how", COLUMNS)
def test_a_spoilt_column_costs_no_more_than_it_must(good: Record, channel: str, how: str) -> None:
    bad = spoilt(good, channel, COLUMNS[how])
    assert told(bad).specimen.area_mm2 == told(good).specimen.area_mm2
    cautions(bad)


@pytest.mark.parametrize("channel", CHANNELS)
def test_a_missing_channel_is_a_caution(good: Record, channel: str) -> None:
    needed = good.kind != "UU" or not channel.startswith(("back", "pore"))
    left = {name: column for name, column in good.channels.items() if name != channel}
    for bad in (replace(good, channels=left), spoilt(good, channel, COLUMNS["NaN"])):
        assert (f"{channel} was not read" in cautions(bad)) == needed


def test_readings_that_no_gauge_gives_are_counted(undrained: Record) -> None:
    bad = spoilt(undrained, "axial_load", COLUMNS["huge"])
    spoils = int(np.sum(np.arange(len(undrained.times_s)) % 7 == 3))
    assert f"axial_load: {spoils} beyond 1e+09" in cautions(bad)
    assert usable(undrained) is undrained


def test_a_check_that_no_gauge_gives_is_none(undrained: Record) -> None:
    last = undrained.checks[-1]
    bad = replace(undrained, checks=(*undrained.checks[:-1], replace(last, delta_pore_kPa=1e300)))
    found = told(bad)
    assert found.saturation is not None
    assert len(found.saturation.checks) == len(undrained.checks) - 1
    assert "B checks: 1 beyond" in cautions(bad)


# -- times --------------------------------------------------------------------------------------


def test_times_that_fall_are_refused(good: Record) -> None:
    times = good.times_s.copy()
    times[5], times[6] = times[6], times[5]
    with pytest.raises(ReductionError, match="after reading 6; they must not fall"):
        reduce_stages(replace(good, times_s=times))


def test_a_time_that_is_none_is_refused(good: Record) -> None:
    times = good.times_s.copy()
    times[3] = np.nan
    with pytest.raises(ReductionError, match="time that is no number"):
        reduce_stages(replace(good, times_s=times))


def test_columns_of_several_lengths_are_refused(good: Record) -> None:
    short = spoilt(good, "cell_pressure", lambda c: c[:-1])
    with pytest.raises(ReductionError, match=r"cell_pressure has .* each time needs one"):
        reduce_stages(short)


def test_all_at_one_time(good: Record) -> None:
    told(replace(good, times_s=np.full_like(good.times_s, good.times_s[0])))


def test_rows_of_one_time_do_not_slow_the_ram(drained: Record) -> None:
    rate = told(drained).shear.rate_percent_per_min  # type: ignore[union-attr]
    count = len(drained.times_s)
    coarse = drained.times_s[np.minimum(np.arange(count) // 2 * 2 + 1, count - 1)]
    found = told(replace(drained, times_s=coarse)).shear
    assert found is not None
    assert found.rate_percent_per_min == pytest.approx(rate, rel=0.02)


# -- the specimen -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"diameters_mm": (0.0,)}, "diameter"),
        ({"diameters_mm": (-50.0,)}, "diameter"),
        ({"heights_mm": (0.0,)}, "height"),
        ({"heights_mm": (float("nan"),)}, "height"),
    ],
)
def test_no_cylinder_no_reduction(good: Record, changes: dict[str, Any], why: str) -> None:
    with pytest.raises(ReductionError, match=why):
        reduce_stages(replace(good, specimen=replace(good.specimen, **changes)))


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"dry_mass_g": 5000.0}, "moist mass is"),
        ({"mass_g": 5000.0, "dry_mass_g": 4000.0}, "volume of solids is"),
        ({"particle_density_Mg_m3": 0.5}, "volume of solids is"),
        ({"water_content": 0.9}, "that of the trimmings 90.0 %"),
        ({"final_water_content": 3.0}, "degree of saturation after the test is"),
        ({"diameters_mm": (1.0,)}, "height over diameter is 100.00"),
    ],
)
def test_masses_that_contradict(undrained: Record, changes: dict[str, Any], what: str) -> None:
    bad = replace(undrained, specimen=replace(undrained.specimen, **changes))
    assert what in cautions(bad)


# -- what only the readings show ----------------------------------------------------------------


def test_a_lone_spike_of_load_is_not_believed(undrained: Record) -> None:
    row = shear_rows(undrained)[20]

    def spike(column: Column) -> Column:
        column[row] *= 3.0
        return column

    assert "stands alone" not in cautions(undrained)
    assert "the greatest deviator, " in (what := cautions(spoilt(undrained, "axial_load", spike)))
    assert "stands alone" in what


def test_a_ram_that_went_back(undrained: Record) -> None:
    rows = shear_rows(undrained)

    def out(column: Column) -> Column:
        column[rows] = 2.0 * column[rows[0]] - column[rows]
        return column

    bad = spoilt(undrained, "axial_displacement", out)
    shear = told(bad).shear
    assert shear is not None
    assert shear.peak_deviator is None
    assert "the ram went back" in cautions(bad)


def test_unloading_is_a_caution(undrained: Record) -> None:
    rows = shear_rows(undrained)[-5:]

    def out(column: Column) -> Column:
        column[rows] -= np.arange(1.0, 6.0)
        return column

    assert "axial strain went back by" in cautions(spoilt(undrained, "axial_displacement", out))


def test_strain_that_no_specimen_has(undrained: Record) -> None:
    bad = spoilt(undrained, "axial_displacement", lambda c: 1000.0 * c)
    shear = told(bad).shear
    assert shear is not None
    assert shear.greatest_strain is not None
    assert shear.greatest_strain < 1.0
    assert "unit or zero of the displacement is wrong" in cautions(bad)


def test_pore_pressure_above_cell_pressure(undrained: Record) -> None:
    rows = shear_rows(undrained)
    cell = undrained.channels["cell_pressure"]

    def above(column: Column) -> Column:
        column[rows[10:]] = cell[rows[10:]] + 5.0
        return column

    assert "σ′3 fell to -5.0 kPa" in cautions(spoilt(undrained, "pore_pressure", above))


def test_strain_counted_too_early(drained: Record) -> None:
    rows = shear_rows(drained)

    def without_load(column: Column) -> Column:
        column[rows[20:]] = column[rows[:-20]]
        column[rows[:20]] = column[rows[0] - 1]
        return column

    assert "before the piston touched" not in cautions(drained)
    assert "before the piston touched" in cautions(spoilt(drained, "axial_load", without_load))


def test_drainage_open_in_an_undrained_shear(undrained: Record) -> None:
    assert undrained.valve_open is not None
    rows = shear_rows(undrained)
    valve = undrained.valve_open.copy()
    valve[rows[5:]] = 1.0
    assert "drainage was open" in cautions(replace(undrained, valve_open=valve))

    def flowing(column: Column) -> Column:
        column[rows] += np.linspace(0.0, 5.0, len(rows))
        return column

    silent = replace(spoilt(undrained, "back_volume", flowing), valve_open=None)
    assert "back volume moved by 5.00 ml" in cautions(silent)


def test_a_gauge_refilled_while_draining(undrained: Record) -> None:
    assert undrained.zero_consolidation_s is not None
    end = undrained.begin_of("shear")
    assert end is not None
    inside = (undrained.times_s > undrained.zero_consolidation_s) & (undrained.times_s < end)
    late = np.flatnonzero(inside)[12:]

    def refilled(column: Column) -> Column:
        column[late[0] :] -= 40.0
        return column

    assert "jumped" not in cautions(undrained)
    assert "drained volume jumped by +" in cautions(spoilt(undrained, "back_volume", refilled))


def test_water_that_left_while_saturating(undrained: Record) -> None:
    saturating = replace(
        undrained, zero_first_stage_s=None, zero_consolidation_s=None,
        stages=tuple(replace(one, name="saturation") for one in undrained.stages),
    )  # fmt: skip
    assert "drained while the specimen saturated" in cautions(saturating)


@pytest.mark.parametrize(
    ("kind", "standard"), [("CU", "ASTM D7181"), ("CD", "ASTM D2850"), ("UU", "BS 1377-8")]
)
def test_a_standard_of_other_tests(undrained: Record, kind: Any, standard: str) -> None:
    bad = replace(undrained, kind=kind, standard=standard)
    assert f"this one is {kind}: kind or standard is wrong" in cautions(bad)


@pytest.mark.parametrize("water_content", [0.2, 0.3])
def test_void_ratio_by_water_and_by_volumes_differ_by_the_saturation(
    undrained: Record, water_content: float
) -> None:
    """S = w Gs/e: a specimen that was full when it was weighed has one void ratio by both."""
    weighed = replace(undrained.specimen, final_water_content=water_content)
    after = reduce_stages(replace(undrained, specimen=weighed)).after_test
    assert after.void_ratio is not None and after.saturation is not None
    assert after.void_ratio_if_full == pytest.approx(after.saturation * after.void_ratio)
    assert after.dry_density_Mg_m3 is not None
    assert after.moist_density_Mg_m3 == pytest.approx(
        after.dry_density_Mg_m3 * (1.0 + water_content)
    )
    grains = undrained.specimen.particle_density_Mg_m3
    assert grains is not None
    assert after.dry_density_Mg_m3 == pytest.approx(grains / (1.0 + after.void_ratio))
    bare = reduce_stages(undrained).after_test
    assert (bare.void_ratio_if_full, bare.moist_density_Mg_m3) == (None, None)
