"""From a row that is appended to its value on the terminal, with `tail -F` in the same kind of PTY.

Sixty-four logs grow at once, a row a second each; one of the visible cells gets a value of its own.
"""

import random
import shutil
import tempfile
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from pairs import Ratio, Terminal

from tui.bench.clock import WallClock
from tui.bench.following import Following

CELLS, TRIES = 64, 40
TOGETHER_S = 0.02
"""How long one look waits for what arrives together. [s]"""
CELL = """[cell]
name = "{name}"
[test]
id = "T1"
kind = "CU"
[specimen]
diameter = "50 mm"
height = "100 mm"
drainage = "both ends"
"""
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa,back_volume_ml\n"


class Loggers:
    """All logs of a bench; those of the other cells grow by themselves."""

    def __init__(self, root: Path) -> None:
        self.root = root
        (root / "bench.toml").write_text('zone = "UTC"\n')
        for number in range(1, CELLS + 1):
            cell = root / f"C{number}"
            cell.mkdir()
            (cell / "cell.toml").write_text(CELL.format(name=cell.name))
            (cell / "log.csv").write_text(HEADER)
            self.append(number, 20.0)
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._grow, daemon=True)

    def append(self, number: int, cell_kPa: float) -> None:
        """One row, stamped now."""
        stamp = datetime.now(UTC).isoformat(timespec="milliseconds")[:-6]
        with (self.root / f"C{number}" / "log.csv").open("a") as log:
            log.write(f"{stamp},{cell_kPa},10.0,10.0,0.0\n")

    def _grow(self) -> None:
        while not self._stopped.is_set():
            for number in range(2, CELLS + 1):
                self.append(number, 20.0)
                if self._stopped.wait(1.0 / CELLS):
                    return

    def __enter__(self) -> "Loggers":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stopped.set()
        self._thread.join()


def measure() -> Iterator[Ratio]:
    """Watch, `tail -F` and the picture alone."""
    with tempfile.TemporaryDirectory() as folder, Loggers(Path(folder)) as loggers:
        log = loggers.root / "C1" / "log.csv"
        watch = Terminal("-m", "tui.commands.main", "watch", folder, columns=80, rows=24)
        ours = _on_terminal(loggers, watch, "{}/10/10")
        tail = Terminal("-F", str(log), columns=80, rows=24, program=shutil.which("tail") or "tail")
        theirs = _on_terminal(loggers, tail, ",{}.0,")
        yield Ratio("append → terminal, watch / tail -F, median",
                    median(ours), median(theirs), median(ours) / median(theirs), "s")  # fmt: skip
        yield Ratio("append → terminal, watch / tail -F, longest of 40",
                    max(ours), max(theirs), max(ours) / max(theirs), "s")  # fmt: skip
        picture = _in_picture(loggers)
        yield Ratio(f"append → picture while {CELLS} logs grow, median / longest",
                    median(picture), max(picture), median(picture) / max(picture), "s")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        burst = _burst(Loggers(Path(folder)))
        yield Ratio(f"append → picture, a row in {CELLS} logs at one moment, median / longest",
                    median(burst), max(burst), median(burst) / max(burst), "s")  # fmt: skip


def _on_terminal(loggers: Loggers, terminal: Terminal, form: str) -> list[float]:
    chance = random.Random(20310203)
    found = []
    try:
        terminal.read(4.0)
        for number in range(TRIES):
            terminal.read(chance.uniform(1.0, 2.0))
            value = 300 + number
            mark = form.replace("{}", str(value))
            begun = time.perf_counter()
            loggers.append(1, float(value))
            while mark not in terminal.text():
                terminal.read(0.002)
                assert time.perf_counter() - begun < 10.0, terminal.text()
            found.append(time.perf_counter() - begun)
    finally:
        terminal.close()
    return found


def _in_picture(loggers: Loggers) -> list[float]:
    """As a guard would see it: it looks when it is told that something has arrived."""
    arrived = threading.Event()
    following = Following.live(loggers.root, WallClock())
    following.call_on_arrival(arrived.set)
    found = []
    try:
        _until(following, arrived, lambda bench: len(bench.cells) == CELLS, 4.0)
        for number in range(TRIES):
            value = 500.0 + number
            begun = time.perf_counter()
            loggers.append(1, value)
            _until(following, arrived, lambda bench: _cell_kPa(bench) == value, 0.0)  # noqa: B023
            found.append(time.perf_counter() - begun)
            _until(following, arrived, lambda _: False, 0.3)
    finally:
        following.close()
    return found


def _burst(loggers: Loggers) -> list[float]:
    """All logs get a row at one moment; of each cell how long until the picture has it."""
    arrived = threading.Event()
    following = Following.live(loggers.root, WallClock())
    following.call_on_arrival(arrived.set)
    found = []
    try:
        _until(following, arrived, lambda bench: len(bench.cells) == CELLS, 4.0)
        for number in range(1, 11):
            begun, came = time.perf_counter(), set[str]()
            for cell in range(1, CELLS + 1):
                loggers.append(cell, 20.0 + number)
            while len(came) < CELLS:
                assert arrived.wait(10.0) or following.waits
                time.sleep(TOGETHER_S)
                arrived.clear()
                rows = {cell.folder: cell.rows_used for cell in following.beat().cells}
                fresh = {folder for folder, used in rows.items() if used > number} - came
                found += [time.perf_counter() - begun] * len(fresh)
                came |= fresh
            _until(following, arrived, lambda _: False, 0.5)
    finally:
        following.close()
    return found


def _cell_kPa(bench: object) -> float | None:
    live = bench.cells[0].live  # type: ignore[attr-defined]
    return None if live is None else live.cell_pressure_kPa


def _until(following: Following, arrived: threading.Event, told: object, for_s: float) -> None:
    end = time.perf_counter() + (for_s or 10.0)
    while time.perf_counter() < end:
        arrived.wait(0.02)
        arrived.clear()
        if told(following.beat()) and not for_s:  # type: ignore[operator]
            return
