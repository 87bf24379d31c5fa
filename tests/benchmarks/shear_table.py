"""A week of shear at one row a second, every derived column, against plain copies of a column."""

import numpy as np
from pairs import Ratio, ratio, seconds

from reduce.record import Membrane, Piston, SideDrains
from reduce.shearing.table import COLUMNS, ShearSetting, shear_table

ROWS = 604_800
SETTING = ShearSetting(
    kind="CD",
    standard="ISO 17892-9",
    area_mm2=1110.0,
    height_mm=74.6,
    volume_ml=82.8,
    piston=Piston(19.0, "external", "computed", friction_N=8.0),
    frame_compliance_mm_N=2e-5,
    membrane=Membrane(0.3),
    side_drains=SideDrains(58.0),
    zero_pore_kPa=300.0,
)


def measure() -> list[Ratio]:
    """With everything that can be corrected for; the copies are kept, as the table's columns."""
    random = np.random.default_rng(1)
    along = np.linspace(0.0, 1.0, ROWS)
    channels = {
        "axial_displacement": 12.0 * along + random.normal(0.0, 0.001, ROWS),
        "axial_load": 140.0 + 260.0 * along**0.4 + random.normal(0.0, 0.3, ROWS),
        "cell_pressure": 450.0 + random.normal(0.0, 0.1, ROWS),
        "pore_pressure": 300.0 + random.normal(0.0, 0.1, ROWS),
        "back_volume": -2.0 * along + random.normal(0.0, 0.001, ROWS),
    }
    column = channels["pore_pressure"]
    into = np.empty((len(COLUMNS), ROWS))

    def table() -> float:
        return seconds(lambda: shear_table(SETTING, channels))

    def overwritten() -> float:
        return seconds(lambda: [np.copyto(one, column) for one in into])

    def kept() -> float:
        return seconds(lambda: [column.copy() for _ in COLUMNS])

    what = f"shear table, {ROWS:,} rows × {len(COLUMNS)} columns / that many copies"
    return [ratio(f"{what}, kept", table, kept), ratio(f"{what}, overwritten", table, overwritten)]
