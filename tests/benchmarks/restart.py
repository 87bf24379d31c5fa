"""`status` of a cell with a week at a row a second, from its checkpoint and read anew."""

import tempfile
import time
from pathlib import Path

from pairs import Ratio, process_seconds, ratio
from row_cost import LongLog

from tui.bench.clock import HandClock
from tui.bench.following import Following

ROWS = 604_800


def measure() -> list[Ratio]:
    """Whole processes; the empty bench is a cell with one row."""
    with tempfile.TemporaryDirectory() as folder:
        long, short = Path(folder) / "long", Path(folder) / "short"
        LongLog(long, ROWS)
        LongLog(short, 1)

        def status(root: Path) -> float:
            return process_seconds("-m", "tui.commands.main", "status", str(root), codes=(0, 1, 2))

        anew = ratio(
            f"status of {ROWS:,} rows read anew / of one row",
            lambda: status(long), lambda: status(short), pairs=3,
        )  # fmt: skip
        _keep(long)
        kept = ratio(
            f"status of {ROWS:,} rows from a checkpoint / of one row",
            lambda: status(long), lambda: status(short),
        )  # fmt: skip
    return [anew, kept]


def _keep(root: Path) -> None:
    following = Following.live(root, HandClock(1.93e9))
    while not list(root.rglob("checkpoints/*")):
        following.beat()
        time.sleep(0.05)
    following.close()
