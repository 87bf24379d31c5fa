"""Thirty days of sixteen cells, accelerated: files grow under a real watcher and a real picture.

Every step appends six hours of steady rows to every log, or begins its file of a new week, and
beats until all rows are in the picture, each once. Memory and descriptors are printed at a tenth,
at half and at the end.
"""

import ctypes
import gc
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from tui.bench.clock import HandClock
from tui.bench.following import Following

CELLS = int(os.environ.get("SOAK_CELLS", "16"))
DAYS = int(os.environ.get("SOAK_DAYS", "30"))
EVERY_S = float(os.environ.get("SOAK_EVERY_S", "60"))
STEP_S = 6 * 3600.0
START = np.datetime64("2031-02-03T08:00:00")
START_S = 1927872000.0
PATIENCE_S = 120.0

CELL = """[cell]
name = "{name}"
[test]
id = "T1"
kind = "CU"
[specimen]
diameter = "50 mm"
height = "100 mm"
drainage = "both ends"
[log]
files = "*.csv"
"""
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa,back_volume_ml\n"


class Bench:
    """The loggers of all cells."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.written = 0
        """Rows of each cell."""
        (root / "bench.toml").write_text('zone = "UTC"\n', encoding="utf-8")
        for name in self.names:
            (root / name).mkdir()
            (root / name / "cell.toml").write_text(CELL.format(name=name), encoding="utf-8")

    @property
    def names(self) -> list[str]:
        """Of the cells."""
        return [f"C{number}" for number in range(1, CELLS + 1)]

    def grow(self, day: int) -> None:
        """The rows of one step to the end of every log; a new file every week."""
        first, self.written = self.written, self.written + int(STEP_S / EVERY_S)
        lines = "".join(map(self._line, range(first, self.written)))
        for name in self.names:
            path = self.root / name / f"log-{day // 7}.csv"
            fresh = not path.exists()
            with path.open("a", encoding="utf-8") as log:
                log.write(HEADER + lines if fresh else lines)

    @staticmethod
    def _line(k: int) -> str:
        stamp = START + np.timedelta64(int(k * EVERY_S), "s")
        noise = (k * 7919 % 101) / 500.0
        back = 0.0 if k < 300 else 50.0
        volume = 10.0 + k * 1e-6
        return f"{stamp},{back + 10 + noise:.3f},{back - noise:.3f},{back + 1:.3f},{volume:.4f}\n"


def resident_mb() -> float:
    """Memory of this process, without what the allocator keeps for later. [MB]"""
    gc.collect()
    if sys.platform == "linux":
        ctypes.CDLL(None).malloc_trim(0)
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def measure() -> Iterator[str]:
    """Steps until the days are over."""
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        clock = HandClock(START_S)
        following = Following.live(bench.root, clock)
        steps = int(DAYS * 86400 / STEP_S)
        marks = {max(1, steps // 10): "10 %", steps // 2: "50 %", steps: "100 %"}
        begun = time.monotonic()
        try:
            for step in range(1, steps + 1):
                bench.grow(int(step * STEP_S // 86400))
                clock.set(START_S + bench.written * EVERY_S)
                _caught_up(following, bench.written)
                if step in marks:
                    yield (
                        f"soak of {CELLS} cells at {marks[step]} of {DAYS} days: "
                        f"{CELLS * bench.written} rows, {resident_mb():.0f} MB, "
                        f"{len(list(Path('/proc/self/fd').iterdir()))} descriptors, "
                        f"{time.monotonic() - begun:.0f} s"
                    )
        finally:
            following.close()


def _caught_up(following: Following, rows: int) -> None:
    """Beat until every cell has all rows, each once."""
    end = time.monotonic() + PATIENCE_S
    while True:
        cells = following.beat().cells
        told = [cell.rows_used for cell in cells]
        assert max(told, default=0) <= rows, f"{told} rows of {rows}: some came twice"
        if len(told) == CELLS and set(told) == {rows}:
            assert not any(cell.rows_unused for cell in cells)
            return
        assert time.monotonic() < end, f"{told} rows of {rows}"
        time.sleep(0.005)
