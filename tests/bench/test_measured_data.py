"""A measured test through feed, phases and quantities, unchanged in value.

Source: Aarhus University, multi-rate CU triaxial tests on clay (github kks-AU/
triaxial-rate-test-data, CC BY 4.0): test G1, stages 16 and 17; read where it lies, not copied.
"""

import csv
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from tui.bench.look import look
from tui.settings.zones import moment_s

FILE = Path(__file__).parents[2].parent / "shared/data/au_clay_rate_triaxial/G1_SW400_subset.csv"

pytestmark = pytest.mark.skipif(
    not FILE.exists(), reason="the open data are not beside this checkout (../shared/data)"
)

KPA_PER_PSI = 6.894757293168361  # NIST SP 811, appendix B.8
N_PER_LBF = 4.4482216152605  # the same
DIAMETER_MM, HEIGHT_MM = 50.0, 100.0

CELL = f"""
[cell]
name = "G1"
[log]
decimal = ","
time = {{ column = "t [s]", kind = "elapsed s", start = "2031-02-03T08:00:00+00:00" }}
[log.channels]
cell_pressure = {{ column = "Pc", unit = "psi", zero = "0.3 psi" }}
pore_pressure = {{ column = "u", unit = "bar" }}
back_pressure = {{ column = "ub", unit = "kPa" }}
axial_displacement = {{ column = "s", unit = "in", sign = -1 }}
axial_load = {{ column = "F", unit = "lbf" }}
phase = {{ column = "stage" }}
[test]
id = "G1"
kind = "CU"
[specimen]
diameter = "{DIAMETER_MM} mm"
height = "{HEIGHT_MM} mm"
[plan]
effective_stress = "405 kPa"
"""


@pytest.fixture(scope="module")
def measured() -> list[dict[str, float]]:
    """The rows whose time was recorded, with one row a time."""
    with FILE.open(encoding="utf-8") as table:
        rows = [row for row in csv.DictReader(table) if row["TimeSinceStartOfTest_s"]]
    return [{key: float(value) for key, value in row.items()} for row in rows]


@pytest.fixture(scope="module")
def bench(measured: list[dict[str, float]], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Written out as a logger of another make would write it."""
    folder = tmp_path_factory.mktemp("bench") / "G1"
    folder.mkdir()
    (folder / "cell.toml").write_text(CELL, encoding="utf-8")
    area = np.pi / 4.0 * DIAMETER_MM**2
    begun = measured[0]["TimeSinceStartOfTest_s"]
    lines = ["t [s];Pc;u;ub;s;F;stage"]
    for row in measured:
        strain, q = row["ShearStrain_pct"] / 100.0, row["q_kPa"]
        cell = row["p_eff_kPa"] + row["PorePressure_kPa"] - q / 3.0
        values = (
            row["TimeSinceStartOfTest_s"] - begun,
            cell / KPA_PER_PSI + 0.3,
            row["PorePressure_kPa"] / 100.0,
            measured[0]["PorePressure_kPa"],
            -strain * HEIGHT_MM / 25.4,
            q * area / (1.0 - strain) / 1000.0 / N_PER_LBF,
        )
        lines.append(";".join(repr(v).replace(".", ",") for v in values) + ";shear/shear")
    (folder / "run.txt.csv").write_text("\r\n".join(lines) + "\r\n", encoding="cp1252")
    return folder.parent


def test_every_measured_row_comes_back_as_it_was(
    bench: Path, measured: list[dict[str, float]]
) -> None:

    start = moment_s(datetime(2031, 2, 3, 8, tzinfo=UTC), UTC)
    begun = measured[0]["TimeSinceStartOfTest_s"]
    for row in measured[:: max(1, len(measured) // 20)][1:] + measured[-1:]:
        at = start + row["TimeSinceStartOfTest_s"] - begun
        cell = look(bench, at=at).cells[0]
        assert cell.phase is not None
        assert (cell.phase.name, cell.phase.source) == ("shear", "log")
        assert cell.rows_unused == 0
        assert cell.quantities.axial_strain == pytest.approx(
            row["ShearStrain_pct"] / 100.0, abs=1e-12
        )
        assert cell.quantities.deviator_kPa == pytest.approx(row["q_kPa"], rel=1e-9)
        assert cell.live is not None
        assert cell.live.pore_pressure_kPa == pytest.approx(row["PorePressure_kPa"], rel=1e-12)
        # p′ = σ′3 + q/3 for a specimen sheared at constant cell pressure
        assert cell.live.effective_stress_kPa == pytest.approx(
            row["p_eff_kPa"] - row["q_kPa"] / 3.0, rel=1e-9
        )
