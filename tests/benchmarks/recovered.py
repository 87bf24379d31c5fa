"""How often the truth lies within two propagated standard uncertainties, over many noises."""

import sys
from collections.abc import Iterator
from pathlib import Path

from reduce.rehearsal.technician import Technician

sys.path.insert(0, str(Path(__file__).parents[1] / "reduce"))

SEEDS = range(1, 9)


def measure() -> Iterator[str]:
    """Each soil of the recovery test, eight times with other errors of every instrument."""
    from test_reduction_recovered import PLANS, missed  # noqa: PLC0415 (found beside the tests)

    held: dict[str, list[bool]] = {}
    for plan in PLANS.values():
        run = Technician(plan).work()
        for seed in SEEDS:
            for name, miss in missed(run, seed).items():
                held.setdefault(name, []).append(abs(miss) <= 2.0)
    for name, within in held.items():
        yield f"{name}: truth within 2 standard uncertainties in {sum(within)} of {len(within)}"
