"""One new row, from the file to the picture, behind 1,000 rows and behind 600,000."""

import tempfile
from pathlib import Path
from statistics import median

import numpy as np
from pairs import Ratio, ratio, seconds

from tui.bench.advance import advance, empty_bench
from tui.bench.picture import Bench
from tui.feed.source import CellSource
from tui.settings.places import read_layout

CELL = """
[cell]
name = "C1"
[test]
id = "T1"
kind = "CU"
[specimen]
diameter = "50 mm"
height = "100 mm"
drainage = "both ends"
[schedule]
saturation = { kind = "every", step = "10 s", slots = 4000 }
"""
START = np.datetime64("2031-02-03T08:00:00")


class LongLog:
    """A cell in saturation, one row a second, followed up to its end."""

    def __init__(self, folder: Path, rows: int) -> None:
        cell = folder / "C1"
        cell.mkdir(parents=True)
        (cell / "cell.toml").write_text(CELL)
        self._path = cell / "log.csv"
        self._written = 0
        with self._path.open("w") as log:
            log.write("time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa,back_volume_ml\n")
            log.writelines(self._line() for _ in range(rows))
        layout = read_layout(folder)
        self._source = CellSource(layout.places[0], folder, layout.zone)
        self._bench = empty_bench(layout, 1.93e9)
        self._take()

    def _line(self) -> str:
        k = self._written
        self._written += 1
        noise = (k * 7919 % 101) / 500.0
        back = 0.0 if k < 300 else 50.0
        volume = 10.0 + k * 1e-6
        stamp = START + np.timedelta64(k, "s")
        return f"{stamp},{back + 10 + noise:.3f},{back - noise:.3f},{back + 1:.3f},{volume:.4f}\n"

    @property
    def bench(self) -> Bench:
        """The picture of it."""
        return self._bench

    def _take(self) -> Bench:
        while (arrived := self._source.read()) is not None:
            self._bench = advance(self._bench, now=1.93e9, arrivals=[arrived])
        return self._bench

    def one_more(self) -> float:
        """Seconds from the file to the picture for one row; the median of some."""

        def once() -> float:
            with self._path.open("a") as log:
                log.write(self._line())
            return seconds(self._take)

        return median(once() for _ in range(60))


def measure() -> list[Ratio]:
    """Read, parse, fold, draw the picture."""
    with tempfile.TemporaryDirectory() as folder:
        long = LongLog(Path(folder) / "long", 600_000)
        short = LongLog(Path(folder) / "short", 1_000)
        return [
            ratio(
                "one new row behind 600,000 rows / behind 1,000",
                long.one_more,
                short.one_more,
            )
        ]
