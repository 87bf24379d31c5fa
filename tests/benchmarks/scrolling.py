"""Keys held down on a wall of 64 lanes: along time, beside a wall of 8, and down the lanes.

Keys come thirty times a second, as a keyboard repeats them. What counts is the processor time of a
key, and how long after the last one the picture still changes.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from pairs import Ratio, Terminal

KEYS, EVERY_S, TURNS = 30, 1 / 30, 5
STILL_S = 0.5
"""Without a byte for so long, the picture stands."""
LEFT, RIGHT, DOWN, UP = b"\x1b[D", b"\x1b[C", b"\x1b[B", b"\x1b[A"


def measure() -> Iterator[Ratio | str]:
    """Both walls in turns, at 160 × 48 and with all 64 lanes in sight."""
    with tempfile.TemporaryDirectory() as folder:
        walls = {cells: _rehearsed(Path(folder) / f"bench{cells}", cells) for cells in (64, 8)}
        for rows in (48, 120):
            many, few = (_watched(walls[cells], rows) for cells in (64, 8))
            try:
                pairs = [(_held(many, LEFT, RIGHT), _held(few, LEFT, RIGHT)) for _ in range(TURNS)]
                where = f"64 lanes at 160 × {rows}"
                yield Ratio(f"CPU of a key held along time, {where} / 8",
                            median(ours[0] for ours, _ in pairs),
                            median(theirs[0] for _, theirs in pairs),
                            median(ours[0] / theirs[0] for ours, theirs in pairs), "s")  # fmt: skip
                yield f"along time, {where}: {_words([ours for ours, _ in pairs])}"
                yield f"down, {where}: {_words([_held(many, DOWN, UP) for _ in range(TURNS)])}"
            finally:
                many.close()
                few.close()


Held = tuple[float, float]
"""Processor time of a key, and from the last key until the picture stands. [s]"""


def _words(held: list[Held]) -> str:
    cpu, still = (median(part) for part in zip(*held, strict=True))
    return f"CPU of a key {cpu:.3f} s, the picture stands {still:.2f} s after the last one"


def _rehearsed(root: Path, cells: int) -> Path:
    subprocess.run(
        [sys.executable, "-m", "tui.commands.main", "rehearse", "--out", str(root),
         "--cells", str(cells), "--truth", "none", "--soil", "silt",
         "--rows", "steady", "--every", "600 s"],
        check=True, capture_output=True,
    )  # fmt: skip
    return root


def _watched(bench: Path, rows: int) -> Terminal:
    terminal = Terminal("-m", "tui.commands.main", "watch", str(bench), columns=160, rows=rows)
    terminal.until(b"C8", within_s=90.0)
    _stands(terminal)
    terminal.press(b"+" * 4)  # so little time across that no key comes to the end
    _stands(terminal)
    return terminal


def _held(terminal: Terminal, there: bytes, back: bytes) -> Held:
    """One way and the other."""
    before = terminal.cpu_seconds()
    lags = []
    for key in (there, back):
        for _ in range(KEYS):
            terminal.press(key)
            terminal.read(EVERY_S)
        lags.append(_stands(terminal))
    return (terminal.cpu_seconds() - before) / (2 * KEYS), max(lags)


def _stands(terminal: Terminal) -> float:
    """How long the picture still changes. [s]"""
    begun = last = time.perf_counter()
    while time.perf_counter() - last < STILL_S:
        if terminal.read(0.005):
            last = time.perf_counter()
    return last - begun
