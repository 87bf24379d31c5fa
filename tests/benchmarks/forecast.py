"""How often forecasts hold, and how far off they are: many tests replayed, each from its seed.

`python tests/benchmarks forecast` prints tests of soils and faults that were looked at while the
forecasts were built, others of the same kind that were not, and soils and faults that never were.
"""

import os
import sys
from collections.abc import Iterator
from functools import partial
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "campaign"))

from drawn import draw
from graded import Grade, grades, summaries
from replayed import replayed

PROCESSES = min(2, os.cpu_count() or 1)
RUNS = (
    ("seeds looked at while building", range(150), False),
    ("other seeds", range(10_000, 10_200), False),
    ("soils and faults that were never looked at", range(20_000, 20_150), True),
)


def _of_seed(seed: int, unseen: bool) -> list[Grade]:
    return list(grades(replayed(draw(seed, unseen=unseen))))


def measure() -> Iterator[str]:
    """A table for each run."""
    with Pool(PROCESSES) as pool:
        for title, seeds, unseen in RUNS:
            work = partial(_of_seed, unseen=unseen)
            found = [one for some in pool.imap_unordered(work, seeds, chunksize=4) for one in some]
            yield f"{title}: {len(seeds)} tests"
            for line in summaries(found):
                yield f"  {line}"
