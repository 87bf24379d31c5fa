"""From a key to the painted answer with 64 busy cells, beside the same with one.

Every cell is in the middle of its consolidation or of its shearing and gets a row a second, so that
forecasts are computed all the while. The key is the one that asks for the next plot.
"""

import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

import numpy as np
from pairs import Ratio, Terminal

from tui.bench.look import look

FEW, MANY, TURNS, KEYS = 1, 64, 7, 12
READING_S, CATCHING_UP_S = 10.0, 3.0
THINNED = 10
"""Before the cut every so many rows are kept: reading a bench is not what is measured."""
PLOT_KEY = b"\t"
TITLE = re.compile(r"\bC1 · (.+?)(?:  |│|$)", re.MULTILINE)


class Rehearsed:
    """The log of one cell, a row a second, and where it may be cut."""

    def __init__(self, root: Path) -> None:
        subprocess.run(
            [sys.executable, "-m", "tui.commands.main", "rehearse", "--out", str(root),
             "--cells", "1", "--soil", "silt", "--rows", "steady", "--every", "1 s",
             "--truth", "none"],
            check=True, capture_output=True,
        )  # fmt: skip
        (log,) = (root / "C1").glob("*.csv")
        self.header, *rows = log.read_text().splitlines()
        split = [row.split(",", 1) for row in rows]
        self.times = np.array([stamp for stamp, _ in split], "datetime64[ms]")
        self.values = [values for _, values in split]
        settings = (root / "C1" / "cell.toml").read_text()
        self.settings = re.sub(r"(?m)^started.*\n", "", settings)  # the stamps are moved to now
        (cell,) = look(root).cells
        spans = {(span.name, span.step): span for span in cell.spans}
        begin = cell.spans[0].start
        self.cuts = [
            int(0.75 * span.start + 0.25 * (span.end or span.start) - begin)
            for span in (spans["consolidation", "drained"], spans["shear", "shear"])
        ]
        """A quarter into consolidation, a quarter into shear; C1 is in the first."""


class Loggers:
    """A bench whose logs all grow by a row a second, stamped now."""

    def __init__(
        self,
        root: Path,
        rehearsed: Rehearsed,
        cells: int,
        *,
        together: bool = False,
        thinned: int = THINNED,
        unsteady_kPa: float = 0.0,
    ) -> None:
        """Write what there was before.

        Args:
            root: a folder that is not there yet.
            rehearsed: whose rows they all get.
            cells: how many.
            together: whether all rows of a second come at one moment.
            thinned: of what was before, one row in so many.
            unsteady_kPa: by how much every second row has more cell pressure. [kPa]
        """
        self.root, self._rehearsed, self._together = root, rehearsed, together
        self._unsteady_kPa = unsteady_kPa
        root.mkdir()
        (root / "bench.toml").write_text('zone = "UTC"\n')
        self._at = {f"C{k + 1}": rehearsed.cuts[k % 2] for k in range(cells)}
        for name, cut in self._at.items():
            cell = root / name
            cell.mkdir()
            settings = rehearsed.settings.replace('"C1"', f'"{name}"')
            (cell / "cell.toml").write_text(settings)
            stamps = rehearsed.times - rehearsed.times[cut] + np.datetime64(_now(), "ms")
            kept = range(cut % thinned, cut + 1, thinned)
            lines = (f"{stamps[row]},{rehearsed.values[row]}\n" for row in kept)
            (cell / "log.csv").write_text(rehearsed.header + "\n" + "".join(lines))
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._grow, daemon=True)

    def _grow(self) -> None:
        while True:
            for name in self._at:
                self._at[name] += 1
                cell_kPa, rest = self._rehearsed.values[self._at[name]].split(",", 1)
                more_kPa = self._unsteady_kPa * (self._at[name] % 2)
                with (self.root / name / "log.csv").open("a") as log:
                    log.write(f"{_now()},{float(cell_kPa) + more_kPa:.2f},{rest}\n")
                if not self._together and self._stopped.wait(1.0 / len(self._at)):
                    return
            if self._together and self._stopped.wait(1.0):
                return

    def __enter__(self) -> "Loggers":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stopped.set()
        self._thread.join()


def measure() -> Iterator[Ratio | str]:
    """Both benches in turns: one stands still while the keys of the other are measured."""
    with tempfile.TemporaryDirectory() as folder:
        rehearsed = Rehearsed(Path(folder) / "rehearsed")
        with (
            Loggers(Path(folder) / "few", rehearsed, FEW) as few_logs,
            Loggers(Path(folder) / "many", rehearsed, MANY) as many_logs,
        ):
            few, many = Watched(few_logs.root), Watched(many_logs.root)
            try:
                many.screen.read(READING_S)
                for watched in (few, many):
                    watched.stand()
                pairs = [(many.answers(), few.answers()) for _ in range(TURNS)]
            finally:
                few.screen.close()
                many.screen.close()
    what = f"key → terminal, {MANY} cells with a row a second each / {FEW}"
    ours, theirs = ([one for turn in turns for one in turn] for turns in zip(*pairs, strict=True))
    yield Ratio(f"{what}, median", median(ours), median(theirs),
                median(median(m) / median(f) for m, f in pairs), "s")  # fmt: skip
    yield Ratio("the same, longest", max(ours), max(theirs), max(ours) / max(theirs), "s")
    yield f"CPU of the threads meanwhile, {MANY} cells: {many.busy()}; {FEW}: {few.busy()}"


class Watched:
    """A dashboard that stands still between its turns."""

    def __init__(self, root: Path) -> None:
        self.screen = Terminal("-m", "tui.commands.main", "watch", str(root))
        self.screen.until(b"C1")
        self._chance = random.Random(20310203)
        self._used: Counter[str] = Counter()
        self._watched_s = 0.0

    def stand(self) -> None:
        """Until its next turn; its logs grow on."""
        os.kill(self.screen.pid, signal.SIGSTOP)

    def answers(self) -> list[float]:
        """Seconds from each key of a turn to the other plot's title on the screen."""
        os.kill(self.screen.pid, signal.SIGCONT)
        self.screen.read(CATCHING_UP_S)
        before, begun = used(self.screen.pid), time.perf_counter()
        found = []
        for _ in range(KEYS):
            self.screen.read(self._chance.uniform(0.2, 0.6))
            found.append(_answered(self.screen))
        self._used += used(self.screen.pid) - before
        self._watched_s += time.perf_counter() - begun
        self.stand()
        return found

    def busy(self) -> str:
        """How much of the time the screen's thread and the busiest other one computed."""
        screen = self._used.pop(str(self.screen.pid), 0.0)
        other = max(self._used.values(), default=0.0)
        return f"screen {screen / self._watched_s:.0%}, pictures {other / self._watched_s:.0%}"


def _answered(watch: Terminal) -> float:
    before = _title(watch)
    begun = time.perf_counter()
    watch.press(PLOT_KEY)
    while _title(watch) == before:
        watch.read(0.002)
        assert time.perf_counter() - begun < 10.0, watch.text()
    return time.perf_counter() - begun


def _title(watch: Terminal) -> str:
    found = TITLE.search(watch.text())
    assert found, watch.text()
    return found[1].strip()


def used(pid: int) -> Counter[str]:
    """Processor time of each thread; the screen's has the number of the process. [s]"""
    used: Counter[str] = Counter()
    for task in Path(f"/proc/{pid}/task").iterdir():
        fields = (task / "stat").read_text().rsplit(")", 1)[1].split()
        used[task.name] = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return used


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")[:-6]
