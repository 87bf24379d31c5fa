"""Processor time of 64 visible lanes against 8, both in replay with rows coming in all of them."""

import subprocess
import sys
import tempfile
from pathlib import Path

from pairs import Ratio, Terminal, ratio


def _cpu(bench: Path) -> float:
    terminal = Terminal(
        "-m", "tui.commands.main", "watch", str(bench), "--replay", "600", columns=160, rows=220
    )
    try:
        terminal.until(b"C1")
        terminal.read(15.0)  # until every cell has begun
        before = terminal.cpu_seconds()
        terminal.read(8.0)
        return terminal.cpu_seconds() - before
    finally:
        terminal.close()


def measure() -> list[Ratio]:
    """Over eight seconds of beats."""
    with tempfile.TemporaryDirectory() as folder:
        benches = {}
        for cells in (64, 8):
            benches[cells] = Path(folder) / f"bench{cells}"
            subprocess.run(
                [sys.executable, "-m", "tui.commands.main", "rehearse", "--out",
                 str(benches[cells]), "--cells", str(cells), "--truth", "none",
                 "--soil", "silt", "--rows", "steady", "--every", "60 s"],
                check=True, capture_output=True,
            )  # fmt: skip
        return [
            ratio(
                "CPU of 64 visible lanes / of 8, in replay",
                lambda: _cpu(benches[64]),
                lambda: _cpu(benches[8]),
                unit="s of CPU in 8 s",
                pairs=5,
            )
        ]
