"""Cells whose volume gauge is refilled, and rows that it shows, for the tests of both."""

from pathlib import Path

from made_bench import arrived, layout
from scripted import START, as_rows, settings

from tui.bench.advance import advance, empty_bench
from tui.bench.picture import Bench, Cell
from tui.bench.readings import Reading, Readings
from tui.bench.rebasing import Rebasing
from tui.bench.zeros import Rebase
from tui.feed.rows import Rows
from tui.journal.acts import Act
from tui.settings.cell_toml import CellToml
from tui.settings.places import Place

SAMPLES = Path(__file__).parents[2] / "sample_logs"
PRESSURES = {
    name: {"column": name, "unit": "kPa"}
    for name in ("cell_pressure", "back_pressure", "pore_pressure")
}


def cell_with(**gauge: object) -> CellToml:
    """A cell whose volume gauge has these keys besides its column and unit."""
    channels = {
        **PRESSURES,
        "back_volume": {"column": "V", "unit": "ml", **gauge},
        "axial_displacement": {"column": "D", "unit": "mm"},
    }
    return settings(log={"channels": channels})


REFILLS = cell_with(refill="3 ml", stroke="-60 to 60 ml")
SEEN = cell_with(refill="3 ml")
ONE_TRANSDUCER = settings(
    log={
        "channels": {
            **PRESSURES,
            "back_pressure": {"same_as": "pore_pressure"},
            "back_volume": {"column": "V", "unit": "ml", "refill": "3 ml"},
        }
    }
)


def standing(volumes: list[float], every_s: float = 10.0) -> Rows:
    """Rows under pressures that stand, with nothing to drive any flow."""
    return as_rows(
        [
            Reading(
                START + every_s * k,
                cell_pressure=310.0,
                back_pressure=160.0,
                pore_pressure=160.0,
                back_volume=volume,
            )
            for k, volume in enumerate(volumes)
        ]
    )


def volumes_of(rows: Rows, cell: CellToml, *acts: Rebase) -> list[float]:
    found: list[float] = Rebasing(cell, acts).take(rows)[0].channels["back_volume"].tolist()
    return found


def told(rows: list[Reading], cell: CellToml, *, acts: tuple[Act, ...] = ()) -> Bench:
    where = layout(Place("C1", "C1", Path("bench/C1"), cell))
    bench = empty_bench(where, rows[-1].time)
    return advance(bench, now=rows[-1].time, arrivals=[arrived(rows)], acts=acts)


def only(bench: Bench) -> Cell:
    return bench.cells[0]


# By rule


def as_reading(rows: Rows, k: int) -> Reading:
    return Readings.empty().grown(rows).at(k)
