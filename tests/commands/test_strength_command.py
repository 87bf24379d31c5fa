"""`porewatch strength`: an envelope where there is one, and why not where there is none."""

import json
import math
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from calling import call

SAMPLES = Path(__file__).parents[2] / "sample_logs"

# The keys of section 6 of the contract, written down from there by hand.
KEYS = {
    "criterion", "c_effective_kPa", "phi_effective_deg", "c_total_kPa", "phi_total_deg", "r",
    "interval", "methods", "specimens",
}  # fmt: skip
SPECIMEN_KEYS = {
    "cell", "phi_effective_deg_c0", "sigma1_effective_kPa", "sigma3_effective_kPa",
}  # fmt: skip


def called(*arguments: str) -> tuple[int, str, str]:
    ended = call("strength", *arguments, "--bench", str(SAMPLES))
    return ended.exit_code, ended.stdout, ended.stderr


@pytest.fixture(scope="module")
def two() -> dict[str, Any]:
    code, out, _ = called("C4", "C5", "--json")
    assert code == 0
    found = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


def test_every_key_of_the_contract(two: dict[str, Any]) -> None:
    assert not KEYS - set(two)
    assert set(two["methods"]) == {"mohr_tangent", "stress_points", "weighted"}
    assert all(not SPECIMEN_KEYS - set(one) for one in two["specimens"])


def test_of_two_specimens_nothing_is_said_of_uncertainty(two: dict[str, Any]) -> None:
    assert two["interval"] is None
    assert two["r"] is None
    assert any("a set is 3" in one["what"] for one in two["cautions"])


def test_one_drained_specimen_leaves_no_total_strength(two: dict[str, Any]) -> None:
    assert two["c_total_kPa"] is None
    assert two["phi_total_deg"] is None


def test_specimens_of_several_sets_are_a_caution(two: dict[str, Any]) -> None:
    assert "C4 of BH2-U06, C5 of BH5-R03" in two["cautions"][0]["what"]


def test_the_angle_of_each_specimen_can_be_redone(two: dict[str, Any]) -> None:
    for one in two["specimens"]:
        major, minor = one["sigma1_effective_kPa"], one["sigma3_effective_kPa"]
        angle = math.degrees(math.asin((major - minor) / (major + minor)))
        assert one["phi_effective_deg_c0"] == pytest.approx(angle)


def test_what_has_not_been_sheared_is_left_out_and_named() -> None:
    code, out, err = called("C3", "C4", "C6", "--json")
    assert code == 0
    assert [one["cell"] for one in json.loads(out)["specimens"]] == ["C4"]
    assert "C3 is left out, it has no peak_deviator: it has not been sheared" in err
    assert "nothing can be reduced of C6" in err


def test_no_specimen_at_all_is_exit_1() -> None:
    code, out, err = called("C1", "C2")
    assert (code, out) == (1, "")
    assert "at least one specimen" in err


def test_a_criterion_that_was_not_reached() -> None:
    code, _, err = called("C4", "--criterion", "strain_limit")
    assert code == 1
    assert "C4 is left out, it has no strain_limit" in err


def test_a_strength_that_cavitating_water_gave_is_told(tmp_path: Path) -> None:
    """A dense sand sucks its pore water towards a vacuum: what it carries then is no more that of
    an undrained test, and whoever reads the envelope alone has to know."""
    bench = tmp_path / "sand"
    order = ("--soil", "dense-sand", "--kind", "CU", "--cells", "1", "--noise", "0")
    assert call("rehearse", "--out", str(bench), *order).exit_code == 0
    ended = call("strength", "C1", "--bench", str(bench), "--json")
    told = [one["what"] for one in json.loads(ended.stdout)["cautions"]]
    assert sum("C1: pore pressure fell to" in one and "cavitates" in one for one in told) == 1


def test_an_envelope_says_whose_b_was_taken_below_its_target(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    cell = bench / "C4" / "cell.toml"
    cell.write_text(re.sub(r"b_target = .*", "b_target = 0.99", cell.read_text("utf-8")), "utf-8")
    said = ("--when", "2031-02-04T09:50", "--by", "K. Berg", "--bench", str(bench))
    assert call("accept", "C4", "saturation", "--why", "stiff clay", *said).exit_code == 0
    ended = call("strength", "C4", "C5", "--json", "--bench", str(bench))
    assert ended.exit_code == 0, ended.stderr
    told = [one["what"] for one in json.loads(ended.stdout)["cautions"]]
    assert any("taken as it is: K. Berg: stiff clay" in what for what in told), told


def test_through_the_origin() -> None:
    code, out, _ = called("C4", "C5", "--cohesionless", "--json")
    assert code == 0
    assert json.loads(out)["c_effective_kPa"] == 0.0


def test_the_page_says_which_methods_and_that_it_is_a_draft() -> None:
    page = called("C4", "C5")[1]
    for word in ("weighted least squares", "Mohr's circles", "φ′ at c′ = 0", "cautions", "draft"):
        assert word in page
