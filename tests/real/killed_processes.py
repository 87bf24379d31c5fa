"""A logger and a reader as processes that are killed at random moments and begun again.

A nursery imports the feed once and forks every reader, so that a life costs milliseconds; writers
need nothing but the standard library. What stands in the files at the end is the truth, read here
by nothing of ours: a row is a whole line of four fields.
"""

import math
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

PROJECT = Path(__file__).parents[2]
HEADER = b"time,cell_pressure_kPa,pore_pressure_kPa,end\n"
CELL = """[cell]
name = "C1"
[test]
id = "T1"
kind = "CU"
started = "2031-02-03T08:00"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""

WRITER = r"""
import os, random, sys, time
folder, seed = sys.argv[1], int(sys.argv[2])
chance = random.Random(seed)
header = b"time,cell_pressure_kPa,pore_pressure_kPa,end\n"
files = sorted(name for name in os.listdir(folder) if name.endswith(".csv"))
if not files or chance.random() < 0.15:
    files.append(f"log-{len(files):04d}.csv")
file = os.open(os.path.join(folder, files[-1]), os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o644)
before = os.pread(file, 1 << 30, 0)
if before and not before.endswith(b"\n"):
    os.write(file, b"\n")
if not before or chance.random() < 0.2:
    os.write(file, header)
newest = -1
for name in files:
    with open(os.path.join(folder, name), "rb") as log:
        for line in log:
            fields = line.split(b",")
            if len(fields) == 4 and line.endswith(b"\n") and line != header:
                newest = max(newest, int(fields[1]))
waiting = b""
while True:
    newest += 1
    days, hour = divmod(8 + newest // 3600, 24)
    at = f"{3 + days:02d}T{hour:02d}:{newest // 60 % 60:02d}:{newest % 60:02d}"
    waiting += f"2031-02-{at},{newest},{newest},#\n".encode()
    if chance.random() < 0.3:  # not at the end of a line, as a full buffer does
        part = chance.randrange(len(waiting) + 1)
        os.write(file, waiting[:part])
        waiting = waiting[part:]
        time.sleep(chance.random() * 0.002)
"""

NURSERY = r"""
import os, signal, sys, time
from pathlib import Path
import numpy.ma, watchdog.events  # here once, or every life of a tenth of a second imports them
from tui.bench import checkpoints, following, row_fold
from tui.bench.advance import fold_of
from tui.bench.clock import WallClock
from tui.bench.following import Following
from tui.feed.source import CellSource
from tui.settings.places import read_layout

root = Path(sys.argv[1])
checkpoints._program()  # the same: what every life would work out first
following.WORTH_ROWS = 1
row_fold.STRIDE = 1 << 40  # every row is kept, to be compared
checkpoints.Checkpoints.wants = lambda self, fold: fold.rows > self._saved.get(fold.folder, 0)

def put(out, times, first, second):
    for row in zip(times, first, second):
        os.write(out, ("%r %r %r\n" % row).encode())

def by_source(out):
    layout = read_layout(root)
    source = CellSource(layout.places[0], layout.root, layout.zone)
    while True:
        arrived = source.read(thorough=False)
        if arrived is None:
            time.sleep(0.001)
            continue
        if arrived.restart:
            os.write(out, b"again\n")
        if arrived.rows is not None:
            blank = [float("nan")] * len(arrived.rows)
            columns = [
                arrived.rows.channels[name].tolist() if name in arrived.rows.channels else blank
                for name in ("cell_pressure", "pore_pressure")
            ]
            put(out, arrived.rows.times.tolist(), *columns)

def by_following(out):
    kept = checkpoints.load_checkpoints(read_layout(root))
    os.write(out, b"kept %d\n" % sum(one.fold.rows for one in kept.values()))
    live = Following.live(root, WallClock())
    told = 0
    while True:
        fold = fold_of(live.beat(), "C1")
        if fold is not None and fold.rows != told:
            record = fold.record()
            columns = [record.column(name) for name in ("cell_pressure", "pore_pressure")]
            put(out, *(part[told:].tolist() for part in (record.times_s, *columns)))
            told = fold.rows
        time.sleep(0.001)

for line in sys.stdin:
    word, *rest = line.split()
    if word == "read":
        child = os.fork()
        if child == 0:
            out = os.open(rest[1], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
            try:
                (by_source if rest[0] == "source" else by_following)(out)
            except BaseException as error:
                os.write(out, f"failed {error!r}\n".encode())
            os._exit(1)
        print(child, flush=True)
    else:
        os.kill(int(rest[0]), signal.SIGKILL)
        os.waitpid(int(rest[0]), 0)
        print("gone", flush=True)
"""

LIFE_S = 0.3
"""So long a life may last, or longer where the machine needs longer to keep anything. [s]"""
START_S = 1927872000  # 2031-02-03T08:00Z


class KilledProcesses:
    """One bench, a writer and a reader on it."""

    def __init__(self, root: Path, seed: int, way: str) -> None:
        self.root, self.way = root, way
        self.chance = random.Random(seed)
        (root / "C1").mkdir(parents=True)
        (root / "bench.toml").write_text('zone = "UTC"\n', encoding="utf-8")
        (root / "C1" / "cell.toml").write_text(CELL, encoding="utf-8")
        (root / "lives").mkdir()
        self.lives: list[Path] = []
        """What each reader wrote down."""
        self.killed = 0
        env = os.environ | {
            "PYTHONPATH": str(PROJECT),
            "XDG_STATE_HOME": str(root / "state"),
            "OPENBLAS_NUM_THREADS": "1",  # a fork takes only one thread along
        }
        self._nursery = subprocess.Popen(
            [sys.executable, "-c", NURSERY, str(root)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=env,
        )
        self._reader: str | None = None
        self._writer: subprocess.Popen[bytes] | None = None
        self._longest_s = LIFE_S if way == "source" else max(LIFE_S, 2.0 * self._until_kept())

    def _until_kept(self) -> float:
        """How long a first life takes on this machine until it has kept something. [s]"""
        begun = time.monotonic()
        self._begin()
        while not list((self.root / ".porewatch").glob("checkpoints/[!.]*")):
            assert time.monotonic() < begun + 60.0, "nothing was kept within a minute"
            time.sleep(0.005)
        self._kill_writer()
        self._kill_reader()
        return time.monotonic() - begun

    def _asked(self, order: str) -> str:
        assert self._nursery.stdin is not None
        assert self._nursery.stdout is not None
        self._nursery.stdin.write(order + "\n")
        self._nursery.stdin.flush()
        return self._nursery.stdout.readline().strip()

    def _begin(self) -> None:
        if self._writer is None:
            seed = str(self.chance.randrange(1 << 30))
            self._writer = subprocess.Popen(
                [sys.executable, "-S", "-E", "-c", WRITER, str(self.root / "C1"), seed]
            )
        if self._reader is None:
            self.lives.append(self.root / "lives" / str(len(self.lives)))
            self._reader = self._asked(f"read {self.way} {self.lives[-1]}")

    def _kill_writer(self) -> None:
        if self._writer is not None:
            assert self._writer.poll() is None, "the writer ended by itself"
            self._writer.send_signal(signal.SIGKILL)
            self._writer.wait()
            self._writer = None
            self.killed += 1

    def _kill_reader(self) -> None:
        if self._reader is not None:
            assert self._asked(f"kill {self._reader}") == "gone"
            self._reader = None
            self.killed += 1

    def cycle(self) -> None:
        """Let both run for a moment and kill one of them, or both."""
        self._begin()
        time.sleep(self.chance.uniform(0.01, self._longest_s))
        which = self.chance.choice(("writer", "reader", "both"))
        if which != "reader":
            self._kill_writer()
        if which != "writer":
            self._kill_reader()

    def finish(self, patience_s: float) -> None:
        """Stop writing, and wait until the last reader has everything.

        Args:
            patience_s: so long it may come no further; how fast it is, is the machine's matter. [s]
        """
        self._begin()
        self._kill_writer()
        written, so_far, end = self.written(), -1, time.monotonic()
        while (read := self.read(self.lives[-1])) != written:
            if len(read) > so_far:
                so_far, end = len(read), time.monotonic() + patience_s
            assert time.monotonic() < end, self.difference(self.lives[-1])
            time.sleep(0.02)
        self._kill_reader()

    def close(self) -> None:
        """End what is left."""
        if self._writer is not None:
            self._writer.kill()
            self._writer.wait()
        if self._reader is not None:
            self._asked(f"kill {self._reader}")
        assert self._nursery.stdin is not None
        assert self._nursery.stdout is not None
        self._nursery.stdin.close()
        self._nursery.wait()
        self._nursery.stdout.close()

    def written(self) -> list[int]:
        """The numbers of all rows that stand whole in the files, in order."""
        found: list[int] = []
        for path in sorted((self.root / "C1").glob("*.csv")):
            for line in path.read_bytes().split(b"\n")[:-1]:
                fields = line.split(b",")
                if len(fields) == 4 and line + b"\n" != HEADER:
                    assert fields[1] == fields[2]
                    found.append(int(fields[1]))
        return found

    def read(self, life: Path) -> list[int]:
        """The numbers of the whole rows that a reader wrote down.

        A row that its writer was killed in gives what is surely whole of it: no number of it may
        be a wrong one.
        """
        found: list[int] = []
        for line in life.read_text().split("\n")[:-1] if life.exists() else ():
            assert not line.startswith("failed"), line
            assert line != "again", "nothing but growth happened, and it began anew"
            if line.startswith("kept"):
                continue
            moment, first, second = map(float, line.split(" "))
            number = int(moment) - START_S
            assert first == number or math.isnan(first), line
            assert second == number or math.isnan(second), line
            if not math.isnan(first) and not math.isnan(second):
                found.append(number)
        return found

    def kept(self) -> int:
        """Lives that went on from a checkpoint."""
        begun = [life.read_text().partition("\n")[0] for life in self.lives if life.exists()]
        return sum(line.startswith("kept ") and line != "kept 0" for line in begun)

    def difference(self, life: Path) -> str:
        """Where a reader left the truth, for people."""
        told, truth = self.read(life), self.written()
        at = next(
            (k for k, pair in enumerate(zip(told, truth, strict=False)) if pair[0] != pair[1]),
            min(len(told), len(truth)),
        )
        span = slice(max(0, at - 2), at + 3)
        return f"read {len(told)} of {len(truth)}; at {at} {told[span]} instead of {truth[span]}"

    def check(self) -> None:
        """Every reader read what was written, in order and once, as far as it came."""
        truth = self.written()
        assert truth == list(range(len(truth))), "the writer itself left rows out"
        for life in self.lives:
            told = self.read(life)
            assert told == truth[: len(told)], self.difference(life)
