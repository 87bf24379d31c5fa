"""Ratios measured in pairs in one run: a machine that slows down slows both halves of a pair."""

import os
import pty
import select
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median

import pyte

PAIRS = 7

# What pip installs is compiled, libraries and program alike; a checkout is not always.
_COMPILED = tempfile.TemporaryDirectory(prefix="porewatch-compiled-")
os.environ["PYTHONPYCACHEPREFIX"] = _COMPILED.name
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@dataclass(frozen=True)
class Ratio:
    """One line of the table in DEVELOPERS.md."""

    what: str
    ours: float
    theirs: float
    ratio: float
    unit: str

    def __str__(self) -> str:
        return (
            f"{self.what:<72} {self.ratio:6.2f} ×   "
            f"({self.ours:.4g} against {self.theirs:.4g} {self.unit})"
        )


def ratio(
    what: str,
    ours: Callable[[], float],
    theirs: Callable[[], float],
    unit: str = "s",
    pairs: int = PAIRS,
) -> Ratio:
    """Measure both in turn; the median of the ratios of the pairs, after one pair to warm up."""
    ours(), theirs()
    measured = [(ours(), theirs()) for _ in range(pairs)]
    return Ratio(
        what,
        median(a for a, _ in measured),
        median(b for _, b in measured),
        median(a / b for a, b in measured),
        unit,
    )


def seconds(work: Callable[[], object]) -> float:
    """How long a call takes. [s]"""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def process_seconds(*arguments: str, codes: tuple[int, ...] = (0,)) -> float:
    """How long a Python process takes from start to end. [s]

    Args:
        arguments: of the process.
        codes: with which it may end.

    Raises:
        RuntimeError: it ends with another one, and what took so long was something else.
    """
    began = time.perf_counter()
    done = subprocess.run([sys.executable, *arguments], check=False, capture_output=True)
    took = time.perf_counter() - began
    if done.returncode not in codes:
        raise RuntimeError(f"{arguments} ended with {done.returncode}: {done.stderr[-500:]!r}")
    return took


class Terminal:
    """A program under a pseudo-terminal of a given size."""

    def __init__(
        self, *arguments: str, columns: int = 160, rows: int = 48, program: str = sys.executable
    ) -> None:
        self.began = time.perf_counter()
        self.pid, self._file = pty.fork()
        if self.pid == 0:
            os.environ.update(
                COLUMNS=str(columns), LINES=str(rows), TERM="xterm-256color", COLORTERM="truecolor"
            )
            os.execv(program, [program, *arguments])
        self.seen = b""
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._drawn = 0

    def text(self) -> str:
        """What stands on the screen."""
        self._stream.feed(self.seen[self._drawn :])
        self._drawn = len(self.seen)
        return "\n".join(self._screen.display)

    def cells(self) -> list[list[tuple[object, ...]]]:
        """The same, sign by sign, with colours."""
        self.text()
        lines, width = self._screen.buffer, self._screen.columns
        return [[tuple(lines[y][x]) for x in range(width)] for y in range(self._screen.lines)]

    def press(self, key: bytes) -> None:
        """Press a key."""
        os.write(self._file, key)

    def read(self, for_s: float) -> int:
        """Bytes that came within some seconds."""
        until, count = time.perf_counter() + for_s, 0
        while (left := until - time.perf_counter()) > 0:
            if select.select([self._file], [], [], left)[0]:
                try:
                    got = os.read(self._file, 65536)
                except OSError:
                    break
                self.seen += got
                count += len(got)
        return count

    def until(self, mark: bytes, within_s: float = 30.0) -> float:
        """Seconds from the start until a text has come."""
        while mark not in self.seen:
            if time.perf_counter() - self.began > within_s:
                raise TimeoutError(f"{mark!r} did not appear; last: {self.seen[-200:]!r}")
            self.read(0.002)
        return time.perf_counter() - self.began

    def cpu_seconds(self) -> float:
        """Processor time that the program has used so far. [s]"""
        with open(f"/proc/{self.pid}/stat") as stat:  # noqa: PTH123  (Linux's own file)
            fields = stat.read().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def close(self) -> None:
        """End the program."""
        os.kill(self.pid, 9)
        os.waitpid(self.pid, 0)
        os.close(self._file)
