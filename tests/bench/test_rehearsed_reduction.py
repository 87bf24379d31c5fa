"""From the files of a rehearsed bench to reduced numbers, against the model's truth.

Perfect sensors: B within 0.002, cv of the fitted series within 1 %, greatest deviator within 0.2 %,
φ′ within 0.1°. The sensors' usual noise: the truth within two standard uncertainties in nine of
ten. It is our own model: this checks the whole way, not the formulas.
"""

import json
import math
from pathlib import Path
from typing import Any

import pytest

from reduce.reduction.propagation import numbers_of
from reduce.reduction.whole import Reduction, reduce_test
from reduce.strength.of_set import strength_of_set
from tui.bench.failed_specimens import failed_specimens
from tui.bench.one_test import read_test
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.settings.places import find_place, read_layout

CELLS = ("C1", "C2", "C3", "C4")
"""A set of CU, and the first of a set of CD."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("rehearsed")


def reduced(
    folder: Path, noise: float, *, with_uncertainty: bool
) -> dict[str, tuple[Reduction, dict[str, Any]]]:
    root, truth = folder / f"bench{noise}", folder / f"truth{noise}"
    write_bench(compose(Order(cells=len(CELLS), soil="silty-clay", noise=noise)), root, truth)
    layout = read_layout(root)
    found = {}
    for cell in CELLS:
        record = read_test(layout, find_place(layout, cell)).record
        known = json.loads((truth / f"{cell}.json").read_text("utf-8"))
        found[cell] = reduce_test(record, with_uncertainty=with_uncertainty), known
    return found


def angle(state: Any) -> float:
    major, minor = state["sigma1_effective_kPa"], state["sigma3_effective_kPa"]
    return math.degrees(math.asin((major - minor) / (major + minor)))


def test_perfect_sensors(folder: Path) -> None:
    found = reduced(folder, 0.0, with_uncertainty=False)
    for reduction, truth in found.values():
        numbers = dict(numbers_of(reduction.stages))
        assert reduction.stages.saturation is not None
        checks = reduction.stages.saturation.checks
        assert len(checks) == len(truth["saturation"]["checks"])
        for check, known in zip(checks, truth["saturation"]["checks"], strict=True):
            assert pytest.approx(known["B"], abs=0.002) == check.B
            assert check.settled == known["settled"]
        cv = numbers["consolidation.methods.fit.cv_m2_per_year"]
        assert cv == pytest.approx(truth["consolidation"]["cv_m2_per_year"], rel=0.01)
        for name in ("volume_change_ml", "height_mm", "area_mm2", "void_ratio"):
            known = truth["consolidation"][name]
            assert numbers[f"consolidation.{name}"] == pytest.approx(known, rel=0.002)
        for name in ("peak_deviator", "at_strain_limit"):
            known = truth["shear"][name]["deviator_kPa"]
            assert numbers[f"shear.{name}.deviator_kPa"] == pytest.approx(known, rel=0.002)
    reductions = [(cell, found[cell][0]) for cell in CELLS[:3]]
    specimens, left_out = failed_specimens(reductions, "strain_limit")
    assert not left_out
    strength = strength_of_set(specimens, criterion="strain_limit")
    # At the strain limit all three have come equally near to the critical state.
    known = angle(found["C2"][1]["shear"]["at_strain_limit"])
    assert strength.phi_effective_deg == pytest.approx(known, abs=0.1)
    assert strength.c_effective_kPa == pytest.approx(0.0, abs=0.5)
    assert strength.misfit is None


def test_the_usual_noise(folder: Path) -> None:
    """What is compared does not hang on how the soil creeps or when a check is cut."""
    within: dict[str, bool] = {}
    for cell, (reduction, truth) in reduced(folder, 1.0, with_uncertainty=True).items():
        numbers = dict(numbers_of(reduction.stages))
        consolidation, shear = truth["consolidation"], truth["shear"]
        told = {
            "consolidation.volume_change_ml": consolidation["volume_change_ml"],
            "consolidation.area_mm2": consolidation["area_mm2"],
            "consolidation.void_ratio": consolidation["void_ratio"],
            "consolidation.methods.fit.cv_m2_per_year": consolidation["cv_m2_per_year"],
            "saturation.B": truth["saturation"]["checks"][-1]["B"],
            "shear.peak_deviator.deviator_kPa": shear["peak_deviator"]["deviator_kPa"],
            "shear.at_strain_limit.deviator_kPa": shear["at_strain_limit"]["deviator_kPa"],
            "shear.at_strain_limit.sigma3_effective_kPa": shear["at_strain_limit"][
                "sigma3_effective_kPa"
            ],
        }
        for name, known in told.items():
            miss = abs(numbers[name] - known) / reduction.uncertainty[name]
            within[f"{cell} {name}"] = miss <= 2.0
    missed = [name for name, held in within.items() if not held]
    assert len(missed) <= 0.1 * len(within), missed
