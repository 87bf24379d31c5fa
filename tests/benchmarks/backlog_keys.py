"""From a key to the terminal while a backlog is being read: six cells, 200,000 rows each."""

import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import numpy as np
from latency import CELL, HEADER
from pairs import Ratio, Terminal

CELLS, ROWS = 6, 200_000
HELP = b"?"  # opens it, and closes it again
HELP_SAYS = "cell before, cell after"
LAST_KPA = 77.0
START = np.datetime64("2031-02-03T08:00:00")


def measure() -> Iterator[Ratio]:
    """Help is opened and closed all the while; beside it the same once everything is read."""
    with tempfile.TemporaryDirectory() as folder:
        _bench(Path(folder))
        watch = Terminal("-m", "tui.commands.main", "watch", folder, columns=80, rows=24)
        try:
            watch.until(b"C6")
            begun = time.perf_counter()
            busy = []
            while not _all_read(watch):
                busy.append(_answered(watch))
            took = time.perf_counter() - begun
            watch.read(3.0)
            idle = [_answered(watch) for _ in range(20)]
        finally:
            watch.close()
    assert len(busy) >= 10, f"the backlog was read before keys could be measured ({took:.1f} s)"
    what = f"key → terminal while {CELLS * ROWS:,} rows are read ({took:.0f} s) / when idle"
    yield Ratio(f"{what}, median", median(busy), median(idle), median(busy) / median(idle), "s")
    yield Ratio("the same, longest", max(busy), max(idle), max(busy) / max(idle), "s")


def _answered(watch: Terminal) -> float:
    """Seconds until help is on the screen; it is closed again."""
    watch.read(0.05)
    seconds = _pressed(watch, shown=True)
    _pressed(watch, shown=False)
    return seconds


def _pressed(watch: Terminal, *, shown: bool) -> float:
    begun = time.perf_counter()
    watch.press(HELP)
    while (HELP_SAYS in watch.text()) is not shown:
        watch.read(0.002)
        assert time.perf_counter() - begun < 20.0, watch.text()
    return time.perf_counter() - begun


def _all_read(watch: Terminal) -> bool:
    """Whether every lane shows the pressure of its last row."""
    return watch.text().count(f"{LAST_KPA:.0f}/10/10") >= CELLS


def _bench(root: Path) -> None:
    (root / "bench.toml").write_text('zone = "UTC"\nnow = "last row"\n')
    times = (START + np.arange(ROWS).astype("timedelta64[s]")).astype(str)
    cell_kPa = 20.0 + np.arange(ROWS) * 7919 % 101 / 500.0
    cell_kPa[-1] = LAST_KPA
    rows = zip(times, cell_kPa, strict=True)
    lines = "".join(f"{at},{kPa:.3f},10.0,10.0,0.0\n" for at, kPa in rows)
    for number in range(1, CELLS + 1):
        cell = root / f"C{number}"
        cell.mkdir()
        (cell / "cell.toml").write_text(CELL.format(name=cell.name))
        (cell / "log.csv").write_text(HEADER + lines)
