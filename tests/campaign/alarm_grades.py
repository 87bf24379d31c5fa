"""How many faults of each kind are told in time, and how many things that only look like one."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random

import alarm_ends
import alarm_flows
import alarm_leaks
import alarm_logs
import alarm_pressures
import alarm_shears
import alarm_stresses
import alarm_valves
import numpy as np
from alarm_cases import Found, Way, judge
from alarm_stage import MANNERS, Stage, stage_of

WAYS: tuple[Way, ...] = (
    *alarm_pressures.WAYS, *alarm_stresses.WAYS, *alarm_leaks.WAYS, *alarm_flows.WAYS,
    *alarm_valves.WAYS, *alarm_shears.WAYS, *alarm_ends.WAYS, *alarm_logs.WAYS,
)  # fmt: skip
KINDS = tuple(dict.fromkeys(way.kind for way in WAYS))
NOT_JUDGED = {"disk-low": "it is about the disk, not about a cell's readings"}
SMALL = 3.0
"""Times the limit: below this a fault is told apart in the table. [-]"""


def _manner(way: Way, seed: int) -> str:
    own = MANNERS[seed % len(MANNERS)]
    if way.needs == "scheduled" and not own.startswith("scheduled"):
        return MANNERS[2 + seed // len(MANNERS) % 2]
    if way.needs == "steady" and not own.startswith("steady"):
        return "steady 60 s"
    if way.needs in ("worded", "narrow") and own == "steady 10 s":
        return "steady 60 s"  # another fold of so many rows costs most of the time
    return own


def followed(
    seed: int, kinds: Iterable[str] = KINDS, *, unseen: bool = False, times: int = 1
) -> list[Found]:
    """Every case of some kinds on the test of a seed.

    Args:
        seed: of the drawn test.
        kinds: of alarms.
        unseen: a test of soils that nothing was built on.
        times: cases of each way.
    """
    stages: dict[tuple[str, str], Stage] = {}
    found: list[Found] = []
    wanted = set(kinds)
    for way in WAYS:
        if way.kind not in wanted:
            continue
        manner = _manner(way, seed)
        extra = way.needs if way.needs in ("worded", "narrow") else ""
        key = manner, extra
        if key not in stages:
            stages[key] = stage_of(
                seed, manner, unseen=unseen, worded=extra == "worded", narrow=extra == "narrow"
            )
        for number in range(times * way.weight):
            for near in (False, True):
                if (near and not way.near) or (way.only_near and not near):
                    continue
                if near and number > times:
                    continue
                dice = Random(f"{seed} {way.kind} {way.name} {near} {number}")
                laid = way.lay(stages[key], dice, near)
                one = None if laid is None else judge(laid)
                if one is not None:
                    found.append(one)
    return found


@dataclass(frozen=True)
class Tally:
    """What the cases of one kind came to."""

    kind: str
    number: int
    told: int
    """In time."""
    small: tuple[int, int]
    """Of faults below three times their limit: told, all."""
    late: int
    """Told, but not in time."""
    sizes: tuple[float, float]
    """Least and greatest, over the limit. [-]"""
    median_s: float
    """From the end of the on-delay to raising. [s]"""
    near: int
    near_raised: int
    near_sizes: tuple[float, float]

    @property
    def share(self) -> float:
        """Told in time. [-]"""
        return self.told / self.number if self.number else 0.0

    def __str__(self) -> str:
        return (
            f"{self.kind:<22} {self.told:4d} of {self.number:4d} {self.share:7.1%}   "
            f"late {self.late:3d}   below 3 × {self.small[0]:3d} of {self.small[1]:3d}   "
            f"sizes {self.sizes[0]:5.2f} to {self.sizes[1]:6.2f}   median {self.median_s:6.0f} s   "
            f"near {self.near_sizes[0]:4.2f} to {self.near_sizes[1]:4.2f}: "
            f"{self.near_raised:3d} of {self.near:4d} raised"
        )


def tallies(found: list[Found]) -> list[Tally]:
    """A line for each kind."""
    by_kind: dict[str, list[Found]] = defaultdict(list)
    for one in found:
        by_kind[one.kind].append(one)
    lines = []
    for kind in KINDS:
        mine = by_kind[kind]
        faults = [one for one in mine if one.is_fault]
        near = [one for one in mine if not one.is_fault]
        small = [one for one in faults if one.size < SMALL]
        told = [one for one in faults if one.raised]
        late = sum(1 for one in faults if not one.raised and not np.isnan(one.late_s))
        lines.append(
            Tally(
                kind, len(faults), len(told), (sum(o.raised for o in small), len(small)), late,
                _ends(faults), float(np.median([o.late_s for o in told])) if told else np.nan,
                len(near), sum(one.raised for one in near), _ends(near),
            )
        )  # fmt: skip
    return lines


def _ends(found: list[Found]) -> tuple[float, float]:
    sizes = [one.size for one in found] or [np.nan]
    return min(sizes), max(sizes)


def ways_told(found: list[Found]) -> Iterator[str]:
    """Of each kind, which ways fail, and why, with the first seeds."""
    groups: dict[tuple[str, str, bool], list[Found]] = defaultdict(list)
    for one in found:
        groups[one.kind, one.way, one.is_fault].append(one)
    for (kind, way, is_fault), mine in groups.items():
        wrong = [one for one in mine if one.raised != is_fault]
        if not wrong:
            continue
        what = "not told" if is_fault else "raised"
        yield f"{kind}: {way}: {len(wrong)} of {len(mine)} {what}"
        for one in wrong[:3]:
            yield f"    {one.where}, {one.onset_h:.2f} h, size {one.size:.2f}: {one.why}"
