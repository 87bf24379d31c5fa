"""From rows that are appended to the journal's entry of what they raise, by the guard's process.

Two rows above 95 % of the rating raise an urgent alarm without a delay; each cell has a log of
some thousand rows, and the other cells go on growing.
"""

import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from statistics import median

from tui.guard.duty import read_duty
from tui.journal.store import Journal

CELLS, ROWS, TRIES = 8, 2000, 24
PATIENCE_S = 30.0
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa\n"
CELL = """[cell]
rating = "1000 kPa"
[test]
id = "T1"
kind = "CU"
started = "2020-01-01T00:00"
[specimen]
diameter = "50 mm"
height = "100 mm"
[plan]
effective_stress = "150 kPa"
"""


def _row(kPa: float, at: float) -> str:
    stamp = datetime.fromtimestamp(at, UTC).replace(tzinfo=None).isoformat(timespec="milliseconds")
    return f"{stamp},{kPa},{kPa - 10},{kPa - 10}\n"


class _Loggers:
    def __init__(self, root: Path) -> None:
        self.root, now = root, time.time()
        self._stopped = threading.Event()
        (root / "bench.toml").write_text('zone = "UTC"\n')
        for number in range(CELLS):
            folder = root / f"C{number + 1}"
            folder.mkdir()
            (folder / "cell.toml").write_text(CELL)
            rows = [_row(200.0, now - 10.0 * k) for k in range(ROWS, 0, -1)]
            (folder / "log.csv").write_text(HEADER + "".join(rows))
        self.thread = threading.Thread(target=self._grow, daemon=True)

    def log(self, number: int, *kPa: float) -> None:
        """Append rows a few milliseconds apart, written at once."""
        now = time.time()
        with (self.root / f"C{number}" / "log.csv").open("a") as file:
            file.write("".join(_row(p, now + 0.002 * k) for k, p in enumerate(kPa)))

    def _grow(self) -> None:
        """The second half of the cells gets a row a second each."""
        while not self._stopped.wait(2.0 / CELLS):
            self.log(CELLS // 2 + 1 + int(time.time() * CELLS / 2.0) % (CELLS // 2), 200.0)

    def stop(self) -> None:
        self._stopped.set()
        self.thread.join()


def measure() -> Iterator[str]:
    """Median and longest, from the append to an entry that another process can read."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_STATE_HOME"] = f"{folder}/state"
        root = Path(folder) / "bench"
        root.mkdir()
        loggers = _Loggers(root)
        guard = subprocess.Popen(
            [sys.executable, "-m", "tui.commands.main", "guard", str(root)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            end = time.monotonic() + PATIENCE_S
            while not read_duty(root, time.time()).on_duty:
                assert time.monotonic() < end, "the guard did not begin"
                time.sleep(0.05)
            time.sleep(3.0)
            loggers.thread.start()
            took = _raised_after(loggers)
        finally:
            loggers.stop() if loggers.thread.is_alive() else None
            guard.terminate()
            guard.wait(20)
    yield (
        f"append → journal's entry of an urgent alarm without delay, {CELLS} cells, guard: "
        f"median {median(took):.3f} s, longest of {TRIES} {max(took):.3f} s"
    )


def _raised_after(loggers: _Loggers) -> list[float]:
    chance, journal, took = Random(20310203), Journal.open(loggers.root), []
    for number in range(TRIES):
        cell = number % (CELLS // 2) + 1
        before = sum(one.act.kind == "raised" for one in journal.entries())
        begun = time.monotonic()
        loggers.log(cell, 990.0, 991.0)
        while sum(one.act.kind == "raised" for one in journal.entries()) == before:
            assert time.monotonic() - begun < PATIENCE_S, "it was not journalled"
            time.sleep(0.001)
        took.append(time.monotonic() - begun)
        loggers.log(cell, 500.0, 500.0, 500.0)
        time.sleep(chance.uniform(0.4, 1.0))
    journal.close()
    return took
