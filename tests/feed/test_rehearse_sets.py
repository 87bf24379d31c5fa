"""`porewatch rehearse --soil`: sets of three specimens that can give a failure envelope."""

import io
import json
import math
from contextlib import redirect_stdout
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.truth import facts
from tui.commands.main import run as porewatch
from tui.commands.rehearse import command
from tui.feed.source import CellSource
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.rehearsed.dialects import DIALECTS
from tui.rehearsed.faults import read_fault
from tui.rehearsed.gauges import with_fitting_gauges
from tui.rehearsed.log_text import raw_of
from tui.rehearsed.orders import WrongOrderError
from tui.rehearsed.sets import STANDARDS, Kind, one_soil
from tui.rehearsed.setup import CellSetup
from tui.rehearsed.striking import undisturbed
from tui.settings.places import read_layout


def kinds(setups: list[CellSetup]) -> list[str]:
    return [setup.plan.kind for setup in setups]


@pytest.mark.parametrize("soil", sorted(SOILS))
def test_cells_come_in_sets_of_one_sample_at_three_stresses(soil: str) -> None:
    setups = one_soil(soil, 12, 5)
    first, second = ("CD", "CU") if SOILS[soil].model == "sand" else ("CU", "CD")
    assert kinds(setups) == [first] * 3 + [second] * 3 + [first] * 3 + [second] * 3
    assert [setup.plan.effective_kPa for setup in setups] == [100.0, 200.0, 400.0] * 4
    for index in range(0, 12, 3):
        own = setups[index : index + 3]
        assert len({(setup.hole, setup.sample) for setup in own}) == 1
        assert [setup.label[-1] for setup in own] == ["a", "b", "c"]
        assert len({setup.plan.standard for setup in own}) == 1
        assert len({setup.plan.drainage for setup in own}) == 1
        assert len({setup.plan.soil.friction_deg for setup in own}) == 1
        void_ratios = [setup.plan.soil.void_ratio for setup in own]
        assert len(set(void_ratios)) == 3
        assert max(void_ratios) / min(void_ratios) < 1.013, "specimens of one sample"
    assert len({setup.sample for setup in setups}) == 4
    assert len({setup.plan.soil.friction_deg for setup in setups}) == 4
    assert len({setup.label for setup in setups}) == 12
    assert len({setup.test_id for setup in setups}) == 12


@pytest.mark.parametrize("kind", ["CU", "CD", "UU"])
def test_the_sets_of_a_kind_follow_the_standards_in_turns(kind: Kind) -> None:
    setups = one_soil("silt", 18, 0, kind)
    assert set(kinds(setups)) == {kind}
    turns = STANDARDS[kind]
    assert [setup.plan.standard for setup in setups[::3]] == [
        turns[index % len(turns)] for index in range(6)
    ]


@pytest.mark.parametrize("cells", [1, 2, 4, 7])
def test_any_number_of_cells_begins_the_same_bench(cells: int) -> None:
    assert one_soil("soft-clay", cells, 3) == one_soil("soft-clay", 9, 3)[:cells]


def test_settings_name_the_set_and_the_specimen(tmp_path: Path) -> None:
    write_bench(compose(Order(cells=4, soil="silt")), tmp_path, None, logs=False)
    found = [
        (place.settings.specimen.set, place.settings.specimen.label)
        for place in read_layout(tmp_path).places
        if place.settings is not None
    ]
    assert found == [
        ("BH1-U01", "BH1-U01-a"), ("BH1-U01", "BH1-U01-b"), ("BH1-U01", "BH1-U01-c"),
        ("BH1-U02", "BH1-U02-a"),
    ]  # fmt: skip


def line(truths: list[dict[str, Any]], criterion: str) -> tuple[float, float]:
    """c′ and φ′ of a straight line through q and p′ of the truths: sin φ′ = 3 M / (6 + M),
    c′ = a (3 - sin φ′) / (6 cos φ′); from the Mohr-Coulomb condition in triaxial compression."""
    states = [truth["shear"][criterion] for truth in truths]
    q = [state["deviator_kPa"] for state in states]
    p = [s["sigma3_effective_kPa"] + s["deviator_kPa"] / 3.0 for s in states]
    slope, start = np.polyfit(p, q, 1)
    sine = 3.0 * slope / (6.0 + slope)
    return start * (3.0 - sine) / (6.0 * math.sqrt(1.0 - sine**2)), math.degrees(math.asin(sine))


@pytest.mark.parametrize(
    ("soil", "kind", "criterion"),
    [("silt", "CU", "peak_deviator"), ("loose-sand", "CD", "peak_ratio")],
)
def test_a_set_has_the_envelope_that_strength_finds(
    tmp_path: Path, soil: str, kind: str, criterion: str
) -> None:
    bench = tmp_path / "bench"
    words = ["--out", str(bench), "--soil", soil, "--kind", kind, "--cells", "3"]
    assert CliRunner().invoke(command, words).exit_code == 0
    truths = [
        json.loads((tmp_path / f"bench.truth/C{n}.json").read_text(encoding="utf-8"))
        for n in (1, 2, 3)
    ]
    told = io.StringIO()
    with redirect_stdout(told):
        code = porewatch(
            ("strength", "C1", "C2", "C3", "--bench", str(bench), "--criterion", criterion,
             "--json")
        )  # fmt: skip
    assert code == 0
    found = json.loads(told.getvalue())
    cohesion, friction = line(truths, criterion)
    assert found["phi_effective_deg"] == pytest.approx(friction, abs=0.3)
    assert found["c_effective_kPa"] == pytest.approx(cohesion, abs=1.5)
    assert {truth["shear"]["phi_effective_deg"] for truth in truths} == {
        truths[0]["shear"]["phi_effective_deg"]
    }


def test_undrained_clay_at_large_strain_stands_at_the_friction_of_the_set() -> None:
    """Modified Cam clay ends at critical state whatever it began with: q = M p′, no c′."""
    truths = [facts(undisturbed(setup.plan)) for setup in one_soil("silty-clay", 3, 0, "CU")]
    cohesion, friction = line(truths, "at_strain_limit")
    assert friction == pytest.approx(truths[0]["shear"]["phi_effective_deg"], abs=0.1)
    assert cohesion == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("kind", ["CU", "CD", "UU"])
@pytest.mark.parametrize("soil", sorted(SOILS))
def test_no_gauge_comes_near_its_end(soil: str, kind: Kind) -> None:
    """Each logger in the hardest test of a set, with what its own errors may add."""
    if kind == "UU" and SOILS[soil].model == "sand":
        pytest.skip("sand is not tested unconsolidated")
    setup = one_soil(soil, 3, 1, kind)[2]
    run = undisturbed(setup.plan)
    for dialect in DIALECTS:
        fitted = with_fitting_gauges(replace(setup, dialect=dialect), run).dialect
        for column in fitted.columns:
            if column.range is None and column.stroke is None:
                continue
            if column.range is not None and column.range[1] == 500.0 and column.unit == "N":
                continue  # the finer of two load cells: the other takes over
            name = {
                "cell_pressure": "cell_kPa", "back_pressure": "back_kPa",
                "pore_pressure": "pore_kPa", "back_volume": "back_ml",
                "axial_displacement": "travel_mm", "axial_load": "load_N",
            }[column.channel]  # fmt: skip
            values = run.trace.at(name, run.trace.seconds)
            if column.channel == "axial_displacement":
                values = values + setup.made.travel_from_mm
            raw = raw_of(column, values)
            low, high = column.range or column.stroke or (0.0, 0.0)
            assert float(raw.max()) < high - 0.07 * (high - low), (dialect.file_name, column)
            # A gauge that begins at nothing rests there; a stroke has two ends.
            spare = 0.07 * (high - low) if column.stroke else 0.0
            begin = low - (1e-6 if column.stroke else 2.0 + abs(column.zero))
            assert float(raw.min()) > begin + spare, (dialect.file_name, column)


def test_a_fault_of_the_gauge_still_brings_it_to_its_end(tmp_path: Path) -> None:
    order = Order(cells=1, soil="dense-sand", faults=(read_fault("volume-gauge-end"),))
    write_bench(compose(order), tmp_path, None)
    layout = read_layout(tmp_path)
    arrived = CellSource(layout.places[0], layout.root, layout.zone).read()
    assert arrived is not None
    assert arrived.rows is not None
    assert "stroke" in (tmp_path / "C1" / "cell.toml").read_text(encoding="utf-8")
    # It was set too near its end, and stops there.
    assert float(arrived.rows.channels["back_volume"].max()) == pytest.approx(50.0, abs=1e-9)


@pytest.mark.parametrize("kind", ["CU", "CD", "UU"])
@pytest.mark.parametrize("soil", sorted(SOILS))
def test_the_truth_agrees_with_itself(soil: str, kind: Kind) -> None:
    if kind == "UU" and SOILS[soil].model == "sand":
        pytest.skip("sand is not tested unconsolidated")
    setup = one_soil(soil, 3, 1, kind)[2]
    known = facts(undisturbed(setup.plan))
    shear, made = known["shear"], known["specimen"]
    limit = shear["at_strain_limit"]
    assert limit["axial_strain"] == pytest.approx(setup.plan.strain_limit, abs=1e-9)
    assert shear["peak_deviator"]["deviator_kPa"] >= limit["deviator_kPa"]
    if kind == "UU":
        assert known["consolidation"] is None
        assert shear["peak_ratio"] is None
        assert shear["undrained_strength_kPa"] == shear["peak_deviator"]["deviator_kPa"] / 2.0
        assert shear["peak_deviator"]["sigma1_effective_kPa"] is None
        return
    for name in ("peak_deviator", "peak_ratio", "at_strain_limit"):
        state = shear[name]
        q, excess = state["deviator_kPa"], state["excess_pore_kPa"]
        major, minor = state["sigma1_effective_kPa"], state["sigma3_effective_kPa"]
        assert major - minor == pytest.approx(q, rel=1e-12)
        assert shear["cell_pressure_kPa"] - state["pore_kPa"] == pytest.approx(minor, abs=1e-6)
        assert shear["sigma3_effective_kPa"] - excess == pytest.approx(minor, abs=1e-6)
        assert major / minor <= (
            shear["peak_ratio"]["sigma1_effective_kPa"]
            / shear["peak_ratio"]["sigma3_effective_kPa"]
        )
        if kind == "CU":
            assert state["A"] == pytest.approx(excess / q, rel=1e-12)
            # Cavitating pores grow, and the truth says from where on.
            grows = state["axial_strain"] >= shear.get("cavitates_at_strain", 1.0)
            assert (state["volumetric_strain"] != 0.0) == grows
        else:
            assert state["A"] is None
            assert excess == 0.0
    after = known["consolidation"]
    change = after["volume_change_ml"]
    assert after["volume_ml"] == pytest.approx(made["volume_ml"] - change, rel=1e-12)
    assert after["volumetric_strain"] == pytest.approx(change / made["volume_ml"], rel=1e-12)
    solids_ml = made["volume_ml"] / (1.0 + made["void_ratio"])
    assert after["void_ratio"] == pytest.approx(after["volume_ml"] / solids_ml - 1.0, rel=1e-9)
    assert after["height_mm"] * after["area_mm2"] / 1000.0 == pytest.approx(after["volume_ml"])


def test_dry_specimens_hold_no_water_when_they_are_set_up() -> None:
    truth = json.loads(compose(Order(cells=1, soil="loose-sand")).truth["C1.json"])
    assert truth["specimen"]["water_content"] == truth["specimen"]["saturation"] == 0.0
    assert truth["saturation"]["S0"] > 0.9


def test_sand_is_not_tested_unconsolidated() -> None:
    with pytest.raises(WrongOrderError, match="sand drains"):
        one_soil("dense-sand", 3, 0, "UU")
    result = CliRunner().invoke(
        command, ["--out", "nowhere", "--soil", "loose-sand", "--kind", "UU"]
    )
    assert result.exit_code == 64
    assert not Path("nowhere").exists()
