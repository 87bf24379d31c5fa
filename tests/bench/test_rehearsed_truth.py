"""Whole pipe on rehearsed benches: phases and B of the picture against the model's own truth.

The model is ours, so this checks the pipe, not the formulas: those have outside sources.
"""

import json
from datetime import datetime
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from tui.bench.look import look
from tui.bench.picture import Bench, Cell
from tui.commands.rehearse import command as rehearse

CASES = {
    "the ferry quay": (),
    "soft clay": ("--cells", "4", "--soil", "soft-clay", "--seed", "3"),
    "dense sand": ("--cells", "4", "--soil", "dense-sand", "--seed", "4"),
    "silt at a steady pace": (
        "--cells", "1", "--soil", "silt", "--seed", "5", "--rows", "steady", "--every", "30 s",
    ),
    "drained silt at a steady pace": (
        "--cells", "1", "--soil", "silt", "--kind", "CD", "--rows", "steady", "--every", "30 s",
    ),
    "soft clay at a row a second": (
        "--cells", "1", "--soil", "soft-clay", "--rows", "steady", "--every", "1 s",
    ),
    "drained silt at a row in two seconds": (
        "--cells", "1", "--soil", "silt", "--kind", "CD", "--rows", "steady", "--every", "2 s",
    ),
    "unconsolidated stiff clay": ("--cells", "6", "--soil", "stiff-clay", "--kind", "UU"),
}  # fmt: skip


def moment(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


@pytest.fixture(scope="module", params=CASES)
def rehearsed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rehearsed") / "bench"
    result = CliRunner().invoke(rehearse, ["--out", str(folder), *CASES[request.param]])
    assert result.exit_code == 0, result.output
    return folder


@cache
def cells_with_truth(folder: Path) -> tuple[Bench, list[tuple[Cell, dict[str, object]]]]:
    bench = look(folder)
    truths = folder.parent / f"{folder.name}.truth"
    return bench, [
        (cell, json.loads((truths / f"{cell.cell}.json").read_text(encoding="utf-8")))
        for cell in bench.cells
    ]


def told_by_readings(name: str, step: str | None) -> bool:
    """Steps of setting up, and when a hold begins, are not to be seen in pressures alone."""
    return name != "setup" and step != "hold"


def test_every_phase_and_step_begins_where_the_model_says(rehearsed: Path) -> None:
    bench, cells = cells_with_truth(rehearsed)
    assert bench.cells
    for cell, truth in cells:
        assert cell.told, cell.problems
        true = [
            (p["name"], p["step"], moment(p["start"]))
            for p in truth["phases"]  # type: ignore[attr-defined]
            if told_by_readings(p["name"], p["step"])
        ]
        found = [(s.name, s.step, s.start) for s in cell.spans if told_by_readings(s.name, s.step)]
        assert [f[:2] for f in found] == [t[:2] for t in true], cell.cell
        for (name, step, start), (_, _, at) in zip(found, true, strict=True):
            near = 120.0 if name != "ended" else 660.0  # two readings after the ram has stopped
            assert abs(start - at) <= near, (cell.cell, name, step, start - at)


def test_every_b_check_is_found_with_its_value(rehearsed: Path) -> None:
    for cell, truth in cells_with_truth(rehearsed)[1]:
        true = truth["saturation"]["checks"]  # type: ignore[index]
        assert len(cell.checks) == len(true), cell.cell
        for check, said in zip(cell.checks, true, strict=True):
            # 0.3 kPa of noise and resolution on both readings of both gauges of a 50 kPa step
            assert pytest.approx(said["B"], abs=0.02) == check.B, cell.cell


def test_all_rows_are_used_and_no_other_problem_is_found(rehearsed: Path) -> None:
    bench, _ = cells_with_truth(rehearsed)
    for cell in bench.cells:
        assert cell.rows_unused == 0
        assert [problem.what for problem in cell.problems] == []


def test_the_peak_deviator_is_that_of_the_soil(rehearsed: Path) -> None:
    """Corrected for membrane and side drains; the model's own load cell feels both."""
    for cell, truth in cells_with_truth(rehearsed)[1]:
        peak = ((truth.get("shear") or {}).get("peak_deviator") or {}).get("deviator_kPa")  # type: ignore[attr-defined]
        if peak is None or cell.phase is None or cell.phase.name != "ended":
            continue
        plot = next(plot for plot in cell.plots if plot.y_label == "q")
        found = max(y for _, y in plot.series[0].points)
        # thinned to 256 points; the area rests on a measured volume change
        assert found == pytest.approx(peak, rel=0.03, abs=1.0), cell.cell
