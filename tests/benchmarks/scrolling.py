"""Keys held down on a wall of 64 lanes beside one of 8: along time, and down the lanes.

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
                for what, there, back in (("along time", LEFT, RIGHT), ("down", DOWN, UP)):
                    pairs = [(_held(many, there, back), _held(few, there, back))
                             for _ in range(TURNS)]  # fmt: skip
                    yield from _told(f"{what}, 64 lanes at 160 × {rows} / 8", pairs)
            finally:
                many.close()
                few.close()


Held = tuple[float, float]
"""Processor time of a key, and from the last key until the picture stands. [s]"""


def _told(what: str, pairs: list[tuple[Held, Held]]) -> Iterator[Ratio | str]:
    ours, theirs = ([one[side][0] for one in pairs] for side in (0, 1))
    yield Ratio(f"CPU of a key held {what}", median(ours), median(theirs),
                median(a / b for a, b in zip(ours, theirs, strict=True)), "s")  # fmt: skip
    lags = ([one[side][1] for one in pairs] for side in (0, 1))
    said = "; ".join(f"{median(own):.2f} s, longest {max(own):.2f} s" for own in lags)
    yield f"from the last of those keys until the picture stands: {said}"


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
