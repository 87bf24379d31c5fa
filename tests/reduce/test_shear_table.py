"""The table of shear: each row by the single functions, identities, gaps, blocks, zero reading."""

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce import stresses
from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.record import Kind, Membrane, Piston, SideDrains
from reduce.shearing import area as shear
from reduce.shearing.corrections import carried_beside
from reduce.shearing.load import specimen_load, uplift
from reduce.shearing.table import (
    BLOCK,
    COLUMNS,
    SHAPES,
    Shape,
    ShearSetting,
    ShearTable,
    shear_table,
)

CLAY = ShearSetting(
    kind="CU",
    standard="ASTM D4767",
    area_mm2=1110.0,
    height_mm=74.6,
    volume_ml=82.8,
    piston=Piston(19.0, "external", "computed", friction_N=8.0),
    frame_compliance_mm_N=2e-5,
    membrane=Membrane(0.3),
    side_drains=SideDrains(58.0),
    zero_displacement_mm=1.2,
    zero_back_volume_ml=31.0,
    zero_pore_kPa=302.0,
    zero_load_N=4.0,
)
PLANE = {"slip_strain": 0.05, "plane_angle_deg": 58.0}
EVERY = [
    replace(CLAY, kind=kind, standard=standard, shape=shape, **PLANE)  # type: ignore[arg-type]
    for (kind, standard), shape in product(
        (
            ("CU", "ASTM D4767"),
            ("CU", "BS 1377-8"),
            ("CU", "ISO 17892-9"),
            ("CD", "ASTM D7181"),
            ("CD", "ISO 17892-9"),
            ("UU", "ASTM D2850"),
        ),
        SHAPES,
    )
]


def readings(count: int, seed: int = 0) -> dict[str, Column]:
    """A shear with noise in every channel and a reading lost here and there."""
    random = np.random.default_rng(seed)
    along = np.linspace(0.0, 1.0, count)
    channels = {
        "axial_displacement": 1.2 + 12.0 * along + random.normal(0.0, 0.002, count),
        "axial_load": 140.0 + 260.0 * along**0.4 + random.normal(0.0, 0.3, count),
        "cell_pressure": 450.0 + random.normal(0.0, 0.2, count),
        "pore_pressure": 302.0 + 70.0 * along - 40.0 * along**2 + random.normal(0.0, 0.2, count),
        "back_pressure": 300.0 + random.normal(0.0, 0.2, count),
        "back_volume": 31.0 - 2.5 * along + random.normal(0.0, 0.002, count),
    }
    for column in channels.values():
        column[random.random(count) < 0.01] = np.nan
    return channels


def of_row(channels: Mapping[str, Column], row: int) -> dict[str, float]:
    return {name: float(column[row]) for name, column in channels.items()}


def by_single_functions(setting: ShearSetting, read: Mapping[str, float]) -> dict[str, float]:
    """One row of complete readings the long way round, by the functions an engineer would call."""
    assert setting.zero_displacement_mm is not None
    assert setting.zero_back_volume_ml is not None
    assert setting.zero_pore_kPa is not None
    cell = read["cell_pressure"]
    load = specimen_load(read["axial_load"], cell, setting.piston)
    give = setting.frame_compliance_mm_N * (load - setting.zero_load_N)
    travel = read["axial_displacement"] - setting.zero_displacement_mm - give
    strain = shear.axial_strain(travel, setting.height_mm)
    drained = (setting.zero_back_volume_ml - read["back_volume"]) / setting.volume_ml
    volumetric = drained if setting.kind == "CD" else 0.0
    if setting.shape == "cylinder":
        area = shear.corrected_area_drained(setting.area_mm2, strain, volumetric)
    elif setting.shape == "parabola":
        area = shear.parabolic_area_drained(setting.area_mm2, strain, volumetric)
    else:
        assert setting.slip_strain is not None
        assert setting.plane_angle_deg is not None
        area = shear.plane_area(
            setting.area_mm2,
            strain,
            volumetric,
            height=setting.height_mm,
            slip_strain=setting.slip_strain,
            plane_angle=setting.plane_angle_deg,
        )
    carried = carried_beside(
        setting.standard,
        strain,
        volumetric,
        area=setting.area_mm2,
        membrane=setting.membrane,
        side_drains=setting.side_drains,
    )
    minor = cell - carried.membrane_horizontal
    major = cell + shear.deviator(load, area) - carried.membrane - carried.side_drains
    q = major - minor
    found = {
        "axial_strain": strain,
        "volumetric_strain": volumetric,
        "area_mm2": area,
        "uplift_N": uplift(cell, setting.piston),
        "load_N": load,
        "membrane_kPa": carried.membrane,
        "side_drains_kPa": carried.side_drains,
        "deviator_kPa": q,
        "sigma1_kPa": major,
        "sigma3_kPa": minor,
        "mean_kPa": stresses.mean_stress(minor, q),
        "shear_stress_kPa": stresses.shear_stress(q),
    }
    if setting.kind == "UU":
        return {name: found.get(name, math.nan) for name in COLUMNS}
    pore = read["pore_pressure"]
    excess = pore - setting.zero_pore_kPa
    of = stresses.principal_stresses(minor, pore, q)
    return found | {
        "pore_kPa": pore,
        "excess_pore_kPa": excess,
        "sigma1_effective_kPa": of.major_effective,
        "sigma3_effective_kPa": of.minor_effective,
        "ratio": stresses.principal_stress_ratio(of.major_effective, of.minor_effective),
        # A tells how undrained soil answers; in a drained test it would be noise over q.
        "A": math.nan if setting.kind == "CD" else excess_over(excess, q),
        "mean_effective_kPa": stresses.mean_effective_stress(minor, pore, q),
        "centre_effective_kPa": stresses.centre_effective_stress(minor, pore, q),
    }


def excess_over(excess: float, q: float) -> float:
    return stresses.a_parameter(excess, q) if q > 0.1 else excess / q


@pytest.mark.parametrize("setting", EVERY, ids=lambda s: f"{s.kind} {s.standard} {s.shape}")
def test_every_row_is_what_the_single_functions_say(setting: ShearSetting) -> None:
    channels = readings(60)
    table = shear_table(setting, channels)
    for row in range(60):
        read = of_row(channels, row)
        if any(math.isnan(one) for one in read.values()):
            continue
        for name, expected in by_single_functions(setting, read).items():
            found = getattr(table, name)[row]
            assert found == pytest.approx(expected, rel=1e-12, abs=1e-11, nan_ok=True), name


@pytest.mark.parametrize("setting", EVERY, ids=lambda s: f"{s.kind} {s.standard} {s.shape}")
def test_one_reading_at_a_time_gives_the_same(setting: ShearSetting) -> None:
    channels = readings(200, seed=1)
    whole = shear_table(setting, channels)
    for row in range(200):
        alone = shear_table(setting, {name: c[row : row + 1] for name, c in channels.items()})
        for name in COLUMNS:
            np.testing.assert_allclose(
                getattr(alone, name)[0], getattr(whole, name)[row], rtol=1e-12, err_msg=name
            )


@pytest.mark.parametrize("kind", ["CU", "CD"])
def test_blocks_do_not_show(kind: Kind) -> None:
    setting = replace(CLAY, kind=kind, standard="ISO 17892-9")
    channels = readings(2 * BLOCK + 7, seed=2)
    whole = shear_table(setting, channels)
    assert len(whole) == 2 * BLOCK + 7
    for rows in (slice(0, 5), slice(BLOCK - 3, BLOCK + 3), slice(2 * BLOCK + 2, None)):
        part = shear_table(setting, {name: column[rows] for name, column in channels.items()})
        for name in COLUMNS:
            np.testing.assert_allclose(
                getattr(part, name), getattr(whole, name)[rows], rtol=1e-12, err_msg=name
            )


STRESS = some.floats(-50.0, 1500.0)


@given(
    some.sampled_from(EVERY),
    some.lists(
        some.tuples(some.floats(0.0, 15.0), some.floats(-200.0, 9000.0), STRESS, STRESS),
        min_size=1,
        max_size=5,
    ),
)
def test_stress_measures_agree_in_every_row(
    setting: ShearSetting, rows: list[tuple[float, float, float, float]]
) -> None:
    travel, load, cell, pore = np.array(rows).T
    table = shear_table(
        setting,
        {
            "axial_displacement": travel,
            "axial_load": load,
            "cell_pressure": cell,
            "pore_pressure": pore,
            "back_volume": 31.0 + 0.1 * travel,
        },
    )
    one, three = table.sigma1_kPa, table.sigma3_kPa
    q, u = table.deviator_kPa, table.pore_kPa

    def same(found: Column, expected: Column) -> None:
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-8)

    same(q, one - three)
    same(table.mean_kPa, (one + 2.0 * three) / 3.0)
    same(table.shear_stress_kPa, (one - three) / 2.0)
    same(table.sigma1_effective_kPa, one - u)
    same(table.sigma3_effective_kPa, three - u)
    major, minor = table.sigma1_effective_kPa, table.sigma3_effective_kPa
    same(table.mean_effective_kPa, (major + 2.0 * minor) / 3.0)
    same(table.centre_effective_kPa, (major + minor) / 2.0)
    told = ~np.isnan(table.A)
    same(table.A[told] * q[told], table.excess_pore_kPa[told])
    assert np.isnan(table.A[np.abs(q) < 0.1]).all()
    told = ~np.isnan(table.ratio)
    same(table.ratio[told] * minor[told], major[told])
    assert np.isnan(table.ratio[minor <= 0.1]).all()
    for name in COLUMNS:
        assert not np.isinf(getattr(table, name)).any()


def test_everything_vanishes_at_the_zero_reading() -> None:
    zero = {
        "axial_displacement": np.array([1.2]),
        "axial_load": np.array([4.0 + 8.0 + math.pi / 4 * 19.0**2 * 0.45]),
        "cell_pressure": np.array([450.0]),
        "pore_pressure": np.array([302.0]),
        "back_volume": np.array([31.0]),
    }
    for setting in EVERY:
        table = shear_table(setting, zero)
        assert table.axial_strain[0] == pytest.approx(0.0, abs=1e-15)
        assert table.volumetric_strain[0] == 0.0
        assert table.membrane_kPa[0] == pytest.approx(0.0, abs=1e-12)
        assert table.side_drains_kPa[0] == pytest.approx(0.0, abs=1e-12)
        assert table.sigma3_kPa[0] == 450.0
        if setting.kind != "UU":
            assert table.excess_pore_kPa[0] == 0.0


def test_the_frame_gives_way_by_the_load_on_the_specimen() -> None:
    load = np.array([0.0, 500.0, 1000.0])
    channels = {"axial_displacement": np.array([0.0, 1.01, 2.02]), "axial_load": load}
    setting = ShearSetting("UU", "ASTM D2850", 1963.5, 100.0, 196.35, frame_compliance_mm_N=2e-5)
    assert shear_table(setting, channels).axial_strain == pytest.approx([0.0, 0.01, 0.02])


NEEDS = {
    "axial_displacement": {"axial_strain", "area_mm2", "membrane_kPa", "side_drains_kPa"},
    "cell_pressure": {"uplift_N", "load_N", "sigma3_kPa", "sigma3_effective_kPa"},
    "axial_load": {"load_N"},
    "pore_pressure": {"pore_kPa", "excess_pore_kPa", "sigma3_effective_kPa"},
}
NEEDS_DEVIATOR = {
    "deviator_kPa", "sigma1_kPa", "sigma1_effective_kPa", "ratio", "A", "mean_kPa",
    "mean_effective_kPa", "centre_effective_kPa", "shear_stress_kPa",
}  # fmt: skip
NEEDS_PORE = {
    "sigma1_effective_kPa", "ratio", "A", "mean_effective_kPa", "centre_effective_kPa",
}  # fmt: skip


@pytest.mark.parametrize("missing", NEEDS)
def test_a_missing_channel_costs_what_needs_it_and_nothing_else(missing: str) -> None:
    setting = replace(CLAY, frame_compliance_mm_N=0.0)
    channels = {name: column[10:12] for name, column in readings(60, seed=3).items()}
    assert not any(np.isnan(column).any() for column in channels.values())
    lost = NEEDS[missing] | (NEEDS_PORE if missing == "pore_pressure" else NEEDS_DEVIATOR)
    without = {name: column for name, column in channels.items() if name != missing}
    nothing = channels | {missing: np.full(2, np.nan)}
    for given_channels in (without, nothing):
        table = shear_table(setting, given_channels)
        assert {name for name in COLUMNS if np.isnan(getattr(table, name)).all()} == lost


def test_a_drained_test_without_volume_has_no_area() -> None:
    channels = readings(60)
    del channels["back_volume"]
    table = shear_table(replace(CLAY, kind="CD"), channels)
    assert np.isnan(table.volumetric_strain).all()
    assert np.isnan(table.deviator_kPa).all()
    assert np.isfinite(table.load_N).any()


def test_back_pressure_is_the_pore_pressure_of_a_drained_test_that_measures_none() -> None:
    channels = readings(60, seed=4)
    setting = replace(CLAY, kind="CD", zero_pore_kPa=300.0)
    measured = shear_table(setting, channels)
    lost = np.isnan(channels["pore_pressure"])
    assert measured.pore_kPa[~lost].tolist() == channels["pore_pressure"][~lost].tolist()
    del channels["pore_pressure"]
    drained = shear_table(setting, channels)
    np.testing.assert_array_equal(drained.pore_kPa, channels["back_pressure"])
    assert np.nanmax(np.abs(drained.excess_pore_kPa)) < 2.0
    undrained = shear_table(replace(CLAY, kind="CU"), channels)
    assert np.isnan(undrained.pore_kPa).all()


def test_uu_has_total_stresses_only() -> None:
    channels = {name: column[10:12] for name, column in readings(60, seed=3).items()}
    table = shear_table(replace(CLAY, kind="UU", standard="ASTM D2850"), channels)
    none = {name for name in COLUMNS if np.isnan(getattr(table, name)).all()}
    assert none == NEEDS_PORE | {"pore_kPa", "excess_pore_kPa", "sigma3_effective_kPa"}
    assert table.volumetric_strain.tolist() == [0.0, 0.0]


def test_impossible_readings_cost_their_row_only() -> None:
    channels = {name: np.full(6, column[10]) for name, column in readings(60, seed=3).items()}
    channels["axial_displacement"][1] = 1e6  # longer than the specimen
    channels["axial_displacement"][2] = -1e6
    channels["axial_load"][3] = np.inf
    channels["cell_pressure"][4] = -np.inf
    for setting in EVERY:
        table = shear_table(setting, channels)
        assert np.isfinite(table.deviator_kPa).tolist() == [True, False, False, False, False, True]
        assert not any(np.isinf(getattr(table, name)).any() for name in COLUMNS)


def test_no_rows_are_a_table_without_rows() -> None:
    for channels in ({}, {"axial_load": np.array([])}):
        table = shear_table(CLAY, channels)
        assert isinstance(table, ShearTable)
        assert len(table) == 0


def test_no_ratio_over_next_to_nothing() -> None:
    """q 0.05 kPa either way bears no A, q −5 kPa does; σ′3 0.05 and −5 kPa bear no ratio."""
    setting = ShearSetting("CU", "ASTM D4767", 1000.0, 100.0, 100.0)
    table = shear_table(
        setting,
        {
            "axial_displacement": np.zeros(5),
            "axial_load": np.array([0.05, -0.05, -5.0, 5.0, 5.0]),
            "cell_pressure": np.full(5, 100.0),
            "pore_pressure": np.array([50.0, 50.0, 50.0, 99.95, 105.0]),
        },
    )
    assert pytest.approx([np.nan, np.nan, -10.0, 19.99, 21.0], nan_ok=True) == table.A
    assert table.ratio == pytest.approx([1.001, 0.999, 0.9, np.nan, np.nan], nan_ok=True)


def test_an_unknown_zero_reading_costs_what_counts_from_it() -> None:
    channels = readings(60)
    table = shear_table(replace(CLAY, zero_displacement_mm=None), channels)
    assert np.isnan(table.axial_strain).all()
    table = shear_table(replace(CLAY, zero_pore_kPa=None), channels)
    assert np.isnan(table.excess_pore_kPa).all()
    assert np.isnan(table.A).all()
    assert np.isfinite(table.ratio).any()


def test_the_readings_stay_as_they_were() -> None:
    channels = readings(60)
    before = {name: column.copy() for name, column in channels.items()}
    table = shear_table(CLAY, channels)
    for name in COLUMNS:
        getattr(table, name)[:] = 0.0
    for name, column in channels.items():
        np.testing.assert_array_equal(column, before[name])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"area_mm2": 0.0}, "area is 0 mm²"),
        ({"height_mm": math.nan}, "height is nan mm"),
        ({"volume_ml": -1.0}, "volume is -1 ml"),
        ({"frame_compliance_mm_N": -1e-5}, "frame compliance is -1e-05"),
        ({"shape": "plane"}, "needs the plane's angle"),
        ({"shape": "barrel"}, "shape is 'barrel'"),
        ({"shape": "plane", "slip_strain": 0.05, "plane_angle_deg": 90.0}, "angle of the plane"),
    ],
)
def test_settings_that_no_row_could_be_computed_with(change: dict[str, object], words: str) -> None:
    with pytest.raises(ReductionError, match=words):
        shear_table(replace(CLAY, **change), readings(3))  # type: ignore[arg-type]


def test_columns_of_different_lengths_are_refused() -> None:
    with pytest.raises(ReductionError, match=r"\[2, 3\] rows"):
        shear_table(CLAY, {"axial_load": np.zeros(2), "cell_pressure": np.zeros(3)})


@given(some.floats(0.0, 0.25), some.floats(-0.05, 0.08), some.sampled_from(SHAPES))
def test_shapes_by_their_order(strain: float, volumetric: float, shape: Shape) -> None:
    """The middle of a barrel is never narrower than a cylinder, sliding halves never wider."""
    cylinder = shear.corrected_area_drained(1000.0, strain, volumetric)
    setting = ShearSetting(
        "CD", "ASTM D7181", 1000.0, 80.0, 80.0, shape=shape, slip_strain=0.06, plane_angle_deg=60.0
    )
    table = shear_table(
        setting,
        {
            "axial_displacement": np.array([strain * 80.0]),
            "back_volume": np.array([-volumetric * 80.0]),
        },
    )
    area = table.area_mm2[0]
    if shape == "plane":
        assert area <= cylinder * (1.0 + 1e-12)
        if strain <= 0.06:
            assert area == pytest.approx(cylinder, rel=1e-9)
    elif shape == "parabola":
        swelling = cylinder / 1000.0
        assert (area - cylinder) * (swelling - 1.0) >= -1e-9
    else:
        assert area == pytest.approx(cylinder, rel=1e-12)
