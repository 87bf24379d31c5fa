"""A live bench without a new row: what its ages and countdowns cost, in bytes and in CPU."""

import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from latency import CELL, HEADER
from pairs import Ratio, Terminal

CELLS = 8
FOR_S = 60.0
EMPTY = (
    "from textual.app import App\n"
    "from textual.widgets import Static\n"
    "class Empty(App):\n"
    "    def compose(self):\n"
    "        yield Static('an empty app')\n"
    "    def on_mount(self):\n"
    "        self.set_interval(1.0, lambda: None)\n"
    "Empty().run()\n"
)


def measure() -> Iterator[Ratio]:
    """Ages from nothing to a minute; then ages in minutes."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        _bench(root)
        watch = Terminal("-m", "tui.commands.main", "watch", folder, columns=80, rows=24)
        empty = Terminal("-c", EMPTY, columns=80, rows=24)
        try:
            watch.read(6.0)
            empty.read(1.0)
            began = watch.cpu_seconds(), empty.cpu_seconds()
            seconds = _drawn(watch, 50.0)
            yield Ratio("bytes a second while ages tick in seconds, 8 cells", seconds, 300.0,
                        seconds / 300.0, "B/s, allowed")  # fmt: skip
            watch.read(10.0)
            minutes = _drawn(watch, FOR_S)
            yield Ratio("bytes a second while ages tick in minutes, 8 cells", minutes, 300.0,
                        minutes / 300.0, "B/s, allowed")  # fmt: skip
            ours, theirs = watch.cpu_seconds() - began[0], empty.cpu_seconds() - began[1]
            yield Ratio("CPU over two minutes / of an empty app with a timer", ours, theirs,
                        ours / theirs, "s")  # fmt: skip
        finally:
            watch.close()
            empty.close()


def _drawn(terminal: Terminal, for_s: float) -> float:
    begun = time.perf_counter()
    return terminal.read(for_s) / (time.perf_counter() - begun)


def _bench(root: Path) -> None:
    (root / "bench.toml").write_text('zone = "UTC"\n')
    now = datetime.now(UTC)
    for number in range(1, CELLS + 1):
        cell = root / f"C{number}"
        cell.mkdir()
        (cell / "cell.toml").write_text(CELL.format(name=cell.name))
        stamps = (now - timedelta(seconds=10.0 * back) for back in range(360, 0, -1))
        rows = (f"{stamp:%Y-%m-%dT%H:%M:%S},320.1,310.2,309.9,1.25\n" for stamp in stamps)
        (cell / "log.csv").write_text(HEADER + "".join(rows))
