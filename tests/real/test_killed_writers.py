"""A logger and a reader, either of which is killed at any moment: every row is read, once."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from killed_processes import KilledProcesses

CYCLES = 20


@pytest.mark.parametrize("way", ["source", "following"])
def test_rows_read_are_rows_written(tmp_path: Path, way: str) -> None:
    """`source` begins anew in every life; `following` goes on from checkpoints."""
    both = KilledProcesses(tmp_path / "bench", seed=20310203, way=way)
    try:
        for cycle in range(10 * CYCLES):
            # On a busy machine it takes more lives until some have come to keep something.
            if cycle >= CYCLES and (way == "source" or both.kept() > 2):
                break
            both.cycle()
        both.finish(patience_s=20.0)
    finally:
        both.close()
    both.check()
    assert len(both.written()) > 100
    assert both.killed > CYCLES
    assert (both.kept() > 2) == (way == "following")
