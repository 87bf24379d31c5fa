"""The long form of `tests/feed/test_fuzz.py`: other bytes at every run, for minutes."""

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "feed"))

MINUTES = float(os.environ.get("FUZZ_MINUTES", "5"))


def measure() -> Iterator[str]:
    """Rounds of examples until the time is over; a failure ends it with the smallest example."""
    from fuzzed_logs import (  # noqa: PLC0415 (found beside the tests)
        PORTIONS,
        SETTINGS,
        logs,
        parts_of,
        read_in,
        same,
    )
    from test_clean_blocks import both  # noqa: PLC0415

    end = time.monotonic() + 60.0 * MINUTES
    tried = count()
    with tempfile.TemporaryDirectory() as folder:

        @settings(
            max_examples=500,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        @given(
            content=st.one_of(logs(), st.binary(max_size=300)),
            layout=st.sampled_from(SETTINGS),
            cuts=PORTIONS,
        )
        def one_round(content: bytes, layout: str, cuts: list[float]) -> None:
            place = Path(folder) / str(next(tried))
            at_once = read_in(place / "once", layout, [content])
            same(read_in(place / "parts", layout, parts_of(content, cuts)), at_once)
            both(place / "blocks", layout, content, cuts, piece=40)

        while time.monotonic() < end:
            one_round()
    yield f"{next(tried)} damaged logs and random files: no stumble, any portions, blocks alike"
