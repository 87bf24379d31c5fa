"""Reports are made with few draws here: the size of the uncertainties is checked elsewhere."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from reduce.reduction import propagation


@pytest.fixture(autouse=True, scope="session")
def few_draws() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(propagation, "DRAWS", 3)
        yield
