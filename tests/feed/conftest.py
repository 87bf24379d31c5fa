"""A bench of one cell, for the tests of the feed."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from one_cell_bench import OneCell, one_cell


@pytest.fixture
def make_cell(tmp_path: Path) -> Callable[..., OneCell]:
    """Builds a bench with one cell: `make_cell(log_tables, zone="UTC")`."""
    return lambda log="", zone="UTC": one_cell(tmp_path, log, zone)
