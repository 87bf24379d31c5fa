"""Benches as `porewatch rehearse` writes them: settings, bytes, truth, refusals."""

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tui.commands.rehearse import command
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Composed, Order, compose
from tui.settings.bench_toml import BenchToml
from tui.settings.cell_toml import NUMERIC_CHANNELS, CellToml

SAMPLES = Path(__file__).parents[2] / "sample_logs"

Run = Callable[..., Result]


@pytest.fixture(scope="module")
def quay() -> Composed:
    return compose(Order())


@pytest.fixture
def rehearse(tmp_path: Path) -> Run:
    def run(*words: str) -> Result:
        return CliRunner().invoke(command, ["--out", str(tmp_path / "bench"), *words])

    return run


def _truth(composed: Composed, cell: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(composed.truth[f"{cell}.json"])
    return found


def test_sample_logs_are_what_the_command_in_their_readme_writes(
    rehearse: Run, tmp_path: Path
) -> None:
    readme = (SAMPLES / "README.md").read_text(encoding="utf-8")
    line = next(line for line in readme.splitlines() if "porewatch rehearse" in line)
    words = line.split()
    assert words[:4] == ["porewatch", "rehearse", "--out", "sample_logs"]
    assert rehearse(*words[4:]).exit_code == 0
    made = {p.relative_to(tmp_path / "bench"): p for p in (tmp_path / "bench").rglob("*.*")}
    kept = {
        p.relative_to(SAMPLES): p
        for p in SAMPLES.rglob("*.*")
        if p.name != "README.md" and ".porewatch" not in p.parts
    }
    assert sorted(made) == sorted(kept)
    for name, path in made.items():
        assert path.read_bytes() == kept[name].read_bytes(), name
    assert not (tmp_path / "bench.truth").exists()


@pytest.mark.parametrize("cell", ["C1", "C2", "C3", "C4", "C5", "C6"])
def test_the_readme_of_the_samples_tells_true_times(quay: Composed, cell: str) -> None:
    row = next(
        line
        for line in (SAMPLES / "README.md").read_text(encoding="utf-8").splitlines()
        if line.startswith(f"| {cell} |")
    )
    told = re.findall(r"\d\d:\d\d", row)
    known = set(re.findall(r"T(\d\d:\d\d):", quay.truth[f"{cell}.json"].decode()))
    assert len(told) >= 2
    assert set(told) <= known


def test_samples_are_small() -> None:
    logs = [p for p in SAMPLES.glob("C*/*") if p.suffix in (".csv", ".txt")]
    assert sum(path.stat().st_size for path in SAMPLES.rglob("*.*")) < 2_000_000
    assert 500 < sum(path.read_bytes().count(b"\n") for path in logs) < 10_000
    assert {path.parent.name for path in logs} == {f"C{n}" for n in range(1, 7)}


def test_the_same_order_gives_the_same_bytes_and_another_seed_others(quay: Composed) -> None:
    again = compose(Order())
    assert again.files == quay.files
    assert again.truth == quay.truth
    other = compose(Order(seed=3))
    logs = [name for name in quay.files if not name.endswith(".toml")]
    assert all(other.files.get(name) != quay.files[name] for name in logs)


@pytest.mark.parametrize(
    "order",
    [Order(), Order(cells=8, seed=2), Order(cells=2, soil="dense-sand"),
     Order(cells=2, soil="silt"), Order(cells=1, rows="steady", every_s=60.0),
     Order(cells=3, days=0.5)],
)  # fmt: skip
def test_settings_are_valid(order: Order) -> None:
    composed = compose(order)
    bench = BenchToml.model_validate(tomllib.loads(composed.files["bench.toml"].decode()))
    assert bench.now == "last row"
    assert bench.zone == "Europe/Oslo"
    cells = [name for name in composed.files if name.endswith("/cell.toml")]
    assert len(cells) == order.cells
    assert sorted(cell for supply in bench.supply for cell in supply.feeds) == sorted(
        name.split("/")[0] for name in cells
    )
    for name in cells:
        settings = CellToml.model_validate(tomllib.loads(composed.files[name].decode()))
        assert settings.cell.name == name.split("/")[0]
        assert settings.log.rows == order.rows


def test_six_loggers_write_in_six_ways(quay: Composed) -> None:
    first = {
        name.split("/")[0]: content
        for name, content in quay.files.items()
        if not name.endswith(".toml")
    }
    assert b"cell_pressure_kPa" in first["C1"]
    assert b";" in first["C2"]
    assert b"\r\n" in first["C2"]
    assert "[cm³]".encode("cp1252") in first["C2"]
    assert first["C3"].startswith(b"\xef\xbb\xbf")
    assert b"\tkPa\t" in first["C3"]
    assert b"psi" in first["C4"]
    assert b"F1,F2" in first["C5"]
    assert b"t (min)" in first["C6"]


@pytest.mark.parametrize(
    ("cell", "phase", "step"),
    [("C1", "saturation", "hold"), ("C2", "saturation", "hold"),
     ("C3", "consolidation", "drained"), ("C4", "shear", "shear"), ("C5", "shear", "shear"),
     ("C6", "setup", "hold")],
)  # fmt: skip
def test_each_cell_ends_in_its_phase(quay: Composed, cell: str, phase: str, step: str) -> None:
    last = _truth(quay, cell)["phases"][-1]
    assert (last["name"], last["step"], last["end"]) == (phase, step, None)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_the_scenario_is_what_the_readme_says_with_any_seed(seed: int) -> None:
    composed = compose(Order(seed=seed))
    c1, c2, c3, c4, c5 = (_truth(composed, f"C{n}") for n in range(1, 6))
    b1 = [check["B"] for check in c1["saturation"]["checks"]]
    assert b1 == sorted(b1)
    assert 0.90 < b1[-1] < 0.95
    assert c1["saturation"]["coming_checks"][0]["B"] >= 0.95
    b2 = [check["B_last"] for check in c2["saturation"]["checks"]]
    assert b2[-1] == pytest.approx(0.88, abs=0.02)
    assert b2[-1] - b2[-3] < 0.01
    assert c3["consolidation"]["drainage"] == "radial + one end"
    peak = c4["shear"]["peak_deviator"]
    assert c4["kind"] == "CU"
    assert 0.01 < peak["axial_strain"] < 0.08
    assert c5["kind"] == "CD"
    assert c5["shear"]["at_strain_limit"]["volumetric_strain"] < 0.0


def test_truth_says_all_that_the_contract_asks(quay: Composed) -> None:
    for number in range(1, 7):
        truth = _truth(quay, f"C{number}")
        assert {
            "phases",
            "coming",
            "specimen",
            "saturation",
            "consolidation",
            "shear",
            "faults",
        } < set(truth)
        for phase in truth["phases"]:
            assert phase["start"] >= phase["act_at"]
        spans = [(phase["act_at"], phase["end"]) for phase in truth["phases"]]
        assert all(a[1] == b[0] for a, b in pairwise(spans))
        for check in truth["saturation"]["checks"]:
            assert check["B"] == pytest.approx(
                check["delta_pore_kPa"] / check["delta_cell_kPa"], abs=1e-4
            )
            assert check["began_at"] < check["at"] <= check["ended_at"]
        assert 0.9 < truth["saturation"]["S0"] < 1.0
        for key in (
            "t50_min",
            "t90_min",
            "t100_min",
            "cv_m2_per_year",
            "volume_change_ml",
            "area_mm2",
        ):
            assert truth["consolidation"][key] > 0.0
        for key in ("phi_effective_deg", "peak_deviator", "peak_ratio", "at_strain_limit"):
            assert truth["shear"][key]


def test_the_last_reading_of_the_truth_is_the_last_of_the_log(quay: Composed) -> None:
    truth = _truth(quay, "C1")
    name = max(name for name in quay.files if name.startswith("C1/") and name.endswith(".csv"))
    last = quay.files[name].decode().splitlines()[-1]
    assert truth["last_reading"].startswith(last.split(",")[0])


def test_one_soil_runs_from_set_up_to_the_end(rehearse: Run, tmp_path: Path) -> None:
    result = rehearse("--soil", "loose-sand", "--cells", "4")
    assert result.exit_code == 0
    kinds = []
    for number in (1, 2, 3, 4):
        truth = json.loads((tmp_path / f"bench.truth/C{number}.json").read_text(encoding="utf-8"))
        assert truth["phases"][0]["name"] == "setup"
        assert truth["phases"][-1]["name"] == "ended"
        assert truth["coming"] == []
        kinds.append(truth["kind"])
    assert kinds == ["CD", "CD", "CD", "CU"]


def test_steady_rows_keep_their_pace(tmp_path: Path) -> None:
    composed = compose(Order(cells=1, rows="steady", every_s=30.0, days=2.5))
    stamps = [
        line.split(",")[0]
        for name in sorted(composed.files)
        if name.endswith(".csv")
        for line in composed.files[name].decode().splitlines()[1:]
    ]
    seconds = [int(stamp[-2:]) for stamp in stamps]
    assert set(seconds) == {0, 30}
    assert len(stamps) == len(set(stamps)) > 1000


def test_a_start_in_summer_time_is_kept_across_the_change() -> None:
    order = Order(cells=1, rows="steady", every_s=600.0, soil="silt", days=1.0)
    moved = replace(order, start=order.start.replace(month=10, day=25, hour=18))
    names = sorted(name for name in compose(moved).files if name.endswith(".csv"))
    assert names == ["C1/2031-10-25.csv", "C1/2031-10-26.csv"]
    lines = compose(moved).files[names[1]].decode().splitlines()[1:]
    hours = [line[11:13] for line in lines]
    assert hours.count("02") == 12, "the hour that comes twice"


def test_every_column_of_every_logger_is_a_channel() -> None:
    composed = compose(Order(cells=6))
    for number in range(2, 7):
        settings = CellToml.model_validate(
            tomllib.loads(composed.files[f"C{number}/cell.toml"].decode())
        )
        logs = [n for n in composed.files if n.startswith(f"C{number}/") and "toml" not in n]
        encoding = settings.log.encoding or "utf-8-sig"
        head = composed.files[logs[0]].decode(encoding).splitlines()[:4]
        assert set(settings.log.channels) >= {"cell_pressure", "pore_pressure", "back_volume"}
        for channel, entry in settings.log.channels.items():
            for one in entry if isinstance(entry, tuple) else (entry,):
                assert any(str(one.column) in line for line in head), (number, channel)
                assert channel not in NUMERIC_CHANNELS or one.unit


def test_write_bench_can_leave_the_logs_for_later(quay: Composed, tmp_path: Path) -> None:
    write_bench(quay, tmp_path / "bench", None, logs=False)
    assert {p.suffix for p in (tmp_path / "bench").rglob("*.*")} == {".toml"}


def test_live_logs_end_as_the_finished_ones(
    rehearse: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, quay: Composed
) -> None:
    monkeypatch.setattr("tui.commands.rehearse.time.sleep", lambda _seconds: None)
    result = rehearse("--live", "1e9")
    assert result.exit_code == 0
    assert "grows at 1e+09 × life" in result.stderr
    for name, content in quay.files.items():
        assert (tmp_path / "bench" / name).read_bytes() == content, name


@pytest.mark.parametrize("surroundings", [{"TZ": "Asia/Tokyo"}, {"PYTHONHASHSEED": "7"}])
def test_surroundings_have_no_say_in_the_bytes(
    tmp_path: Path, quay: Composed, surroundings: dict[str, str]
) -> None:
    words = [sys.executable, "-c", "from tui.commands.rehearse import command; command()"]
    subprocess.run(
        [*words, "--out", str(tmp_path / "bench"), "--truth", "none"],
        check=True,
        capture_output=True,
        cwd=SAMPLES.parent,
        env={**os.environ, **surroundings},
    )
    for name, content in quay.files.items():
        assert (tmp_path / "bench" / name).read_bytes() == content, name
