"""`porewatch reduce`: on the sample bench, on earlier tests, on what is broken."""

import csv
import json
import math
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from calling import call

SAMPLES = Path(__file__).parents[2] / "sample_logs"

# The keys of section 6 of the contract, written down from there by hand.
KEYS: dict[str, set[str]] = {
    "": {"test", "specimen", "phases", "saturation", "consolidation", "shear", "uncertainty",
         "cautions"},
    "test": {"cell", "id", "kind", "standard"},
    "specimen": {"area_mm2", "volume_ml", "height_mm", "moist_density_Mg_m3",
                 "dry_density_Mg_m3", "void_ratio", "saturation", "water_content"},
    "saturation": {"checks", "B", "accepted", "volume_change_ml"},
    "consolidation": {"volume_change_ml", "volumetric_strain", "height_mm", "area_mm2",
                      "volume_ml", "void_ratio", "effective_stress_kPa", "t50_min", "t90_min",
                      "t100_min", "cv_m2_per_year", "mv_m2_per_MN", "methods"},
    "consolidation.methods": {"root_time", "log_time", "fit"},
    "consolidation.methods.root_time": {"t90_min", "t100_min", "cv_m2_per_year"},
    "consolidation.methods.log_time": {"t50_min", "t100_min", "cv_m2_per_year"},
    "consolidation.methods.fit": {"t50_min", "t90_min", "cv_m2_per_year"},
    "shear": {"rate_percent_per_min", "advised_rate_percent_per_min", "peak_deviator",
              "peak_ratio", "at_strain_limit"},
    "shear.peak_deviator": {"axial_strain", "deviator_kPa", "pore_kPa", "excess_pore_kPa",
                            "sigma1_effective_kPa", "sigma3_effective_kPa", "A",
                            "volumetric_strain", "membrane_kPa", "side_drains_kPa", "uplift_N"},
}  # fmt: skip
CHECK_KEYS = {"at", "back_pressure_kPa", "delta_cell_kPa", "delta_pore_kPa", "B", "B_last",
              "settled"}  # fmt: skip


def reduced(*arguments: str) -> dict[str, Any]:
    result = call("reduce", *arguments, "--json")
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


def inside(found: dict[str, Any], path: str) -> Any:
    for part in path.split(".") if path else ():
        found = found[part]
    return found


@pytest.fixture(scope="module")
def c4() -> dict[str, Any]:
    return reduced("C4", "--bench", str(SAMPLES))


@pytest.mark.parametrize("path", sorted(KEYS))
def test_every_key_of_the_contract(c4: dict[str, Any], path: str) -> None:
    assert not KEYS[path] - set(inside(c4, path))


REPORTED: dict[str, set[str]] = {
    "shear": {
        "minutes_to_peak", "minutes_to_peak_ratio", "minutes_to_strain_limit", "rate_mm_per_min",
        "advised_rate_mm_per_min", "E50_MPa",
    },
    "shear.peak_deviator": {
        "centre_kPa", "centre_effective_kPa", "shear_stress_kPa", "mean_kPa", "mean_effective_kPa",
        "uncorrected_deviator_kPa", "ratio", "area_mm2", "load_N",
    },
    "after_test": {
        "water_content", "void_ratio", "void_ratio_if_full", "dry_density_Mg_m3",
        "moist_density_Mg_m3", "saturation",
    },
}  # fmt: skip
"""What the reporting lists of the standards ask for (from memory) beyond the contract's keys."""


@pytest.mark.parametrize("path", sorted(REPORTED))
def test_every_key_that_a_report_needs(c4: dict[str, Any], path: str) -> None:
    assert not REPORTED[path] - set(inside(c4, path))


def test_what_a_report_adds_can_be_redone(c4: dict[str, Any]) -> None:
    shear, height = c4["shear"], c4["consolidation"]["height_mm"]
    peak = shear["peak_deviator"]
    for rate in ("rate", "advised_rate"):
        percent = shear[f"{rate}_percent_per_min"]
        assert shear[f"{rate}_mm_per_min"] == pytest.approx(percent / 100.0 * height)
    assert peak["centre_kPa"] == pytest.approx((peak["sigma1_kPa"] + peak["sigma3_kPa"]) / 2.0)
    assert peak["uncorrected_deviator_kPa"] == pytest.approx(
        1000.0 * peak["load_N"] / peak["area_mm2"]
    )
    assert shear["minutes_to_peak_ratio"] > 0.0


def test_every_check_has_its_keys_and_its_b_can_be_redone(c4: dict[str, Any]) -> None:
    checks = c4["saturation"]["checks"]
    assert len(checks) >= 3
    for check in checks:
        assert set(check) >= CHECK_KEYS
        assert check["B"] == pytest.approx(check["delta_pore_kPa"] / check["delta_cell_kPa"])
    assert c4["saturation"]["B"] == checks[-1]["B"]


def test_what_stands_in_the_page_can_be_redone(c4: dict[str, Any]) -> None:
    specimen, consolidation = c4["specimen"], c4["consolidation"]
    state = c4["shear"]["peak_deviator"]
    assert specimen["area_mm2"] == pytest.approx(math.pi / 4 * specimen["diameter_mm"] ** 2)
    left = specimen["volume_ml"] - consolidation["volume_change_ml"]
    assert consolidation["volume_ml"] == pytest.approx(left)
    wide = consolidation["area_mm2"] * consolidation["height_mm"] / 1000
    assert wide == pytest.approx(consolidation["volume_ml"], rel=1e-9)
    assert state["sigma1_effective_kPa"] - state["sigma3_effective_kPa"] == pytest.approx(
        state["deviator_kPa"]
    )
    assert state["A"] == pytest.approx(state["excess_pore_kPa"] / state["deviator_kPa"])


@pytest.mark.parametrize("cell", ["C1", "C2", "C3", "C5"])
def test_a_running_test_says_what_it_can(cell: str) -> None:
    found = reduced(cell, "--bench", str(SAMPLES))
    assert found["saturation"]["checks"]
    assert (found["shear"] is None) == (cell != "C5")


def test_nothing_to_be_computed_is_one_line_and_exit_1() -> None:
    result = call("reduce", "C6", "--bench", str(SAMPLES))
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "nothing can be reduced of C6" in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_an_unknown_cell_is_wrong_usage() -> None:
    assert call("reduce", "C9", "--bench", str(SAMPLES)).exit_code != 0


def test_as_of_an_earlier_time(c4: dict[str, Any]) -> None:
    begin = next(one["start"] for one in c4["phases"] if one["name"] == "shear")
    early = reduced("C4", "--bench", str(SAMPLES), "--at", begin[:16])
    assert early["shear"] is None
    assert early["consolidation"] is not None


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Path]:
    shutil.copytree(SAMPLES, tmp_path / "bench")
    yield tmp_path / "bench"


def test_an_earlier_test_by_its_name(bench: Path, c4: dict[str, Any]) -> None:
    closed = call("close", "C4", "--bench", str(bench))
    assert closed.exit_code == 0, closed.stderr
    assert call("reduce", "C4", "--bench", str(bench)).exit_code == 1
    found = reduced("C4/T014", "--bench", str(bench))
    assert found["shear"]["peak_deviator"] == c4["shear"]["peak_deviator"]


def test_files_hold_what_the_json_says(bench: Path, tmp_path: Path) -> None:
    out = tmp_path / "results"
    found = reduced("C4", "--bench", str(bench), "--out", str(out))
    assert json.loads((out / "results.json").read_text("utf-8")) == found
    rows = list(csv.DictReader((out / "readings.csv").read_text("utf-8").splitlines()))
    deviators = [float(row["deviator_kPa"]) for row in rows if row["deviator_kPa"]]
    assert max(deviators) == pytest.approx(found["shear"]["peak_deviator"]["deviator_kPa"])
    assert not any(field[:1] in "=@+" for row in rows for field in row.values() if field)


def test_never_writes_where_a_logger_does(bench: Path) -> None:
    before = sorted(bench.rglob("*"))
    result = call("reduce", "C4", "--bench", str(bench), "--out", str(bench / "C4"))
    assert result.exit_code == 64
    assert sorted(bench.rglob("*")) == before


def test_the_page_names_units_uncertainties_and_cautions() -> None:
    page = call("reduce", "C4", "--bench", str(SAMPLES)).stdout
    for word in ("saturation", "consolidation", "shear", "kPa", "±", "m²/year", "cautions",
                 "after ASTM D4767", "no safety device"):  # fmt: skip
        assert word in page
    assert "nan" not in page.lower()
    plain = call("reduce", "C4", "--bench", str(SAMPLES), "--ascii", "--units", "US").stdout
    assert plain.isascii()
    assert "psi" in plain


def test_a_b_that_an_engineer_has_taken_counts_and_is_a_caution(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    where = ("--bench", str(bench))
    assert not reduced("C2", *where)["saturation"]["accepted"]
    taken = call("accept", "C2", "saturation", "--why", "cemented sand", "--by", "ola", *where)
    assert taken.exit_code == 0, taken.stderr
    after = reduced("C2", *where)
    assert after["saturation"]["accepted"]
    said = [one for one in after["cautions"] if "ola: cemented sand" in one["what"]]
    assert [one["clause"].endswith("the engineer's judgement") for one in said] == [True]
    printed = " ".join(call("reduce", "C2", *where).stdout.split())
    assert "accepted: below the target, taken as it is by ola: cemented sand" in printed
    assert call("undo", "1", *where).exit_code == 0
    assert not reduced("C2", *where)["saturation"]["accepted"]


def test_us_pages_have_no_si_unit_of_consolidation_left() -> None:
    """Common practice, no source: ft²/year, 1/ksf and cm/s; minutes are minutes everywhere."""
    page = call("reduce", "C4", "--bench", str(SAMPLES), "--units", "US").stdout
    part = page[page.index("\nconsolidation") : page.index("\nshear")]
    for unit in ("cv [ft²/year]", " ft²/year", " 1/ksf", " cm/s", "t90 [min]"):
        assert unit in part
    for unit in ("m²", "MN", " m/s", "kPa", "ml", "mm"):
        assert unit not in part.replace("cm/s", "")
