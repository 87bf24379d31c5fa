"""How many faults are told in time, and how many alarms are false, over drawn tests.

Long form: `python tests/benchmarks alarms` takes the seeds that nothing was built on; to build,
`python tests/benchmarks/alarms.py --seeds 0-200 --kinds pressure-drift,leak-cell`. The short one
stands in `tests/campaign/test_alarms.py`. Nothing is a ratio here.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from functools import partial
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "campaign"))

from alarm_clean import CleanDays, clean_days
from alarm_grades import KINDS, NOT_JUDGED, followed, tallies, ways_told
from alarm_measured import WHY_NOT, measured_cases

SEEDS = range(30_000, 30_200)
UNSEEN = range(30_000, 30_040)
CLEAN = range(30_000, 30_400)
PROCESSES = 2


def detection(seeds: range, kinds: tuple[str, ...], times: int, *, unseen: bool) -> Iterator[str]:
    """A line for each kind, then what fails."""
    ask = partial(followed, kinds=kinds, unseen=unseen, times=times)
    with Pool(PROCESSES) as pool:
        found = [one for some in pool.imap_unordered(ask, seeds, chunksize=1) for one in some]
    measured = [] if unseen else [one for one in measured_cases() if one.kind in kinds]
    soils = "unseen soils" if unseen else "seen soils"
    last = seeds.stop - 1
    yield f"— {soils}, seeds {seeds.start} to {last}, and {len(measured)} cases in measured data"
    if not measured and not unseen:
        yield f"  measured data: {WHY_NOT}"
    for one in tallies(found + measured):
        if one.kind in kinds:
            yield str(one)
    for kind, why in NOT_JUDGED.items():
        yield f"{kind:<22} not judged here: {why}"
    yield from ways_told(sorted(found + measured, key=lambda one: (one.kind, one.way, one.where)))


def false_ones(seeds: range, *, unseen: bool) -> Iterator[str]:
    """Warnings and urgent alarms of clean benches, for each kind and hundred cell-days."""
    with Pool(PROCESSES) as pool:
        ask = partial(clean_days, unseen=unseen)
        days = [one for one in pool.imap_unordered(ask, seeds, chunksize=2) if one is not None]
    total = sum(one.days for one in days)
    yield f"— clean benches: {len(days)} tests, {total:.0f} cell-days, seeds {seeds.start} on"
    yield from _by_kind(days, total)


def _by_kind(days: list[CleanDays], total: float) -> Iterator[str]:
    every = [one for day in days for one in day.found]
    false = [one for one in every if not one.explained]
    rate = 100.0 * len(false) / max(total, 1e-9)
    yield f"false warnings and urgent alarms: {len(false)}, {rate:.2f} per 100 cell-days"
    for (kind, priority), number in Counter(
        (o.spell.kind, o.spell.priority) for o in false
    ).most_common():
        per = 100.0 * number / total
        yield f"  {kind:<22} {priority:<8} {number:4d}   {per:6.2f} per 100 cell-days"
    for (kind, why), number in Counter(
        (o.spell.kind, o.explained) for o in every if o.explained
    ).items():
        yield f"  {kind:<22} {number:4d} are right: {why}"
    for one in sorted(false, key=lambda one: (one.spell.kind, one.seed))[:60]:
        yield (
            f"    seed {one.seed}, {one.manner}, {one.soil}, {one.hours:.2f} h, {one.where}: "
            f"{one.spell.kind} {one.spell.about or ''} {one.spell.reason} {one.spell.message[:110]}"
        )


def measure() -> Iterator[str]:
    """Seeds that nothing was built on; then soils that were never looked at."""
    yield from detection(SEEDS, KINDS, 1, unseen=False)
    yield from detection(UNSEEN, KINDS, 1, unseen=True)
    yield from false_ones(CLEAN, unseen=False)
    yield from false_ones(UNSEEN, unseen=True)


def _main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="0-40", help="first to last, such as 0-200")
    parser.add_argument("--kinds", default="", help="with commas; empty: all")
    parser.add_argument("--cases", type=int, default=1, help="of each way on each seed")
    parser.add_argument("--unseen", action="store_true")
    parser.add_argument("--only", choices=("faults", "clean"), default=None)
    asked = parser.parse_args()
    first, last = (int(word) for word in asked.seeds.split("-"))
    seeds = range(first, last)
    kinds = tuple(asked.kinds.split(",")) if asked.kinds else KINDS
    if asked.only != "clean":
        for line in detection(seeds, kinds, asked.cases, unseen=asked.unseen):
            print(line, flush=True)
    if asked.only != "faults":
        for line in false_ones(seeds, unseen=asked.unseen):
            print(line, flush=True)


if __name__ == "__main__":
    _main()
