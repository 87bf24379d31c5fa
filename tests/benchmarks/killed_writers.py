"""The long form of `tests/real/test_killed_writers.py`: a thousand cycles of kill and restart."""

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "real"))

BENCHES, CYCLES = 25, 40


def measure() -> Iterator[str]:
    """Half of the benches with readers that begin anew, half with checkpoints."""
    from killed_processes import KilledProcesses  # noqa: PLC0415 (found beside the tests)

    cycles = kills = rows = lives = kept = 0
    for seed in range(BENCHES):
        with tempfile.TemporaryDirectory() as folder:
            way = ("source", "following")[seed % 2]
            both = KilledProcesses(Path(folder) / "bench", seed, way)
            try:
                for _ in range(CYCLES):
                    both.cycle()
                both.finish(patience_s=60.0)
            finally:
                both.close()
            both.check()
            cycles, kills = cycles + CYCLES, kills + both.killed
            rows, lives = rows + len(both.written()), lives + len(both.lives)
            kept += both.kept()
    yield (
        f"{cycles} cycles, {kills} processes killed, {lives} lives of readers, {kept} of "
        "them from a checkpoint: "
        f"{rows} rows written, each read in order and once by every reader as far as it lived"
    )
