"""`porewatch rehearse --kind UU`: unconsolidated tests, through status, reduce and strength."""

import io
import json
import math
from contextlib import redirect_stdout
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.technician import Technician
from reduce.rehearsal.truth import facts
from tui.commands.main import run as porewatch
from tui.commands.rehearse import command


def told(*words: str) -> dict[str, Any]:
    stream = io.StringIO()
    with redirect_stdout(stream):
        porewatch((*words, "--json"))
    found: dict[str, Any] = json.loads(stream.getvalue())
    return found


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("undrained") / "bench"
    words = ["--out", str(folder), "--kind", "UU", "--soil", "stiff-clay", "--cells", "3"]
    assert CliRunner().invoke(command, words).exit_code == 0
    return folder


def truth(bench: Path, cell: str) -> dict[str, Any]:
    path = bench.parent / "bench.truth" / f"{cell}.json"
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("cell", ["C1", "C2", "C3"])
def test_status_tells_set_up_shear_and_end_as_they_come(bench: Path, cell: str) -> None:
    known = truth(bench, cell)
    starts = {(p["name"], p["step"]): datetime.fromisoformat(p["start"]) for p in known["phases"]}
    contact = datetime.fromisoformat(known["shear"]["contact_at"])
    for at, name in (
        (starts["setup", "hold"] + timedelta(minutes=5), "setup"),
        (contact + timedelta(minutes=3), "shear"),
        (datetime.fromisoformat(known["last_reading"]), "ended"),
    ):
        found = told("status", str(bench), "--cell", cell, "--at", at.isoformat())
        (one,) = found["cells"]
        assert (one["test"], one["phase"]["name"]) == ("UU", name)
        assert one["problems"] == []
        assert one["quantities"]["B"] is None
        first = min(start for (phase, _), start in starts.items() if phase == name)
        # Readings of set-up are two minutes apart.
        assert abs(datetime.fromisoformat(one["phase"]["since"]) - first) <= timedelta(minutes=2)
    strain = told("status", str(bench), "--cell", cell, "--at",
                  (contact + timedelta(minutes=3)).isoformat())  # fmt: skip
    assert strain["cells"][0]["quantities"]["axial_strain"] == pytest.approx(0.03, abs=0.002)


@pytest.mark.parametrize("cell", ["C1", "C2", "C3"])
def test_the_reduction_finds_the_undrained_strength(bench: Path, cell: str) -> None:
    known = truth(bench, cell)["shear"]
    found = told("reduce", cell, "--bench", str(bench))
    assert found["consolidation"] is None
    peak = found["shear"]["peak_deviator"]
    assert peak["deviator_kPa"] == pytest.approx(known["peak_deviator"]["deviator_kPa"], rel=0.01)
    assert found["shear"]["undrained_strength_kPa"] == pytest.approx(
        known["undrained_strength_kPa"], rel=0.01
    )
    assert found["shear"]["rate_percent_per_min"] == pytest.approx(1.0, rel=0.02)
    assert found["shear"]["peak_ratio"] is None


def test_the_set_has_one_strength_whatever_the_cell_pressure(bench: Path) -> None:
    strengths = [truth(bench, cell)["shear"] for cell in ("C1", "C2", "C3")]
    assert [one["cell_pressure_kPa"] for one in strengths] == [100.0, 200.0, 400.0]
    assert len({one["undrained_strength_kPa"] for one in strengths}) == 1
    found = told("strength", "C1", "C2", "C3", "--bench", str(bench))
    assert found["phi_effective_deg"] is None
    for name in ("c_total_kPa", "undrained_strength_kPa"):
        assert found[name] == pytest.approx(strengths[0]["undrained_strength_kPa"], rel=0.01)
    assert found["phi_total_deg"] == 0.0


def test_settings_hold_nothing_that_the_test_does_not_have(bench: Path) -> None:
    text = (bench / "C2" / "cell.toml").read_text(encoding="utf-8")
    for word in ("back_pressure", "pore_pressure", "drainage", "consolidation", "b_target"):
        assert word not in text
    assert porewatch(("check", str(bench))) == 0


def test_a_kind_alone_takes_soft_clay(tmp_path: Path) -> None:
    words = ["--out", str(tmp_path / "bench"), "--kind", "UU", "--cells", "1"]
    assert CliRunner().invoke(command, words).exit_code == 0
    assert truth(tmp_path / "bench", "C1")["soil"] == "soft-clay"


def test_textbook_clay_carries_what_its_void_ratio_says() -> None:
    """su = M p′f / 2 with p′f on the critical state line of modified Cam clay, which lies
    (λ - κ) ln 2 below the normal line (Roscoe & Burland 1968; Wood 1990, from memory): from p′
    and yield stress py at constant volume p′f = (py / 2)^Λ p′^(1 - Λ), Λ = (λ - κ) / λ."""
    clay = SOILS["stiff-clay"]
    plan = TestPlan("C1", clay, "UU", "ASTM D2850", undrained_cell_kPa=300.0)
    found = facts(Technician(plan).work())["shear"]
    yield_kPa, start = clay.preconsolidation_kPa, 0.35 * clay.preconsolidation_kPa
    share = (clay.lambda_ - clay.kappa) / clay.lambda_
    at_failure = math.pow(yield_kPa / 2.0, share) * math.pow(start, 1.0 - share)
    expected = clay.critical_ratio * at_failure / 2.0
    limit = found["at_strain_limit"]["deviator_kPa"] / 2.0
    assert limit == pytest.approx(expected, rel=0.03)
