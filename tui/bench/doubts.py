"""What the readings themselves give reason to doubt, as problems to be shown."""

from math import isnan

from tui.bench.phases import Phases
from tui.bench.readings import Reading
from tui.settings.problems import Problem

DAY_S = 86400.0
AHEAD_S = 120.0
"""Rows farther ahead of now than this: somebody's clock is wrong. [s]"""
PRESSURES = ("cell_pressure", "back_pressure", "pore_pressure")
NEEDED = ("cell_pressure", "back_pressure")
"""Channels without which no phase of a CU or CD test is told from the readings."""

AXIAL = ("axial_displacement", "axial_load")
"""Without these a ram shows only by the water that its piston drives out of the cell."""
VOLUMES = {"back_volume", "cell_volume"}


def lasting(seconds: float) -> str:
    """A length of time in words that change seldom."""
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    for name, size in (("d", 86400.0), ("h", 3600.0)):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {name}"
    return f"{10 * (seconds // 600):.0f} min" if seconds >= 1200 else f"{seconds // 60:.0f} min"


def doubts(
    folder: str,
    last: Reading | None,
    phases: Phases,
    has: frozenset[str],
    now: float,
    test: str,
    ended: tuple[str, ...] = (),
) -> tuple[Problem, ...]:
    """Clocks, phase words and channels that cannot be right or enough.

    Args:
        folder: of the cell.
        last: its newest reading.
        phases: its phases so far.
        has: channels that have shown a reading.
        now: the moment. [s]
        test: CU, CD or UU.
        ended: gauges that stand at their end, in words.
    """
    if last is None:
        return ()
    found: list[Problem] = []
    if last.time > now + AHEAD_S:
        found.append(
            Problem(
                "warning",
                f"clock ahead: the newest row is {(last.time - now) / 60:.0f} min later than now",
                'set the logger\'s clock, or give [log] time offset = "-… s"',
                file=folder,
            )
        )
    seen = [name for name in PRESSURES if name in has]
    if seen and all(isnan(getattr(last, name)) for name in seen):
        found.append(
            Problem(
                "warning",
                "no pressure could be read in the newest row",
                "look at the gauges and the log; `porewatch check` lists the fields",
                file=folder,
            )
        )
    if ended:
        found.append(
            Problem(
                "warning",
                "at the end of a gauge: " + "; ".join(ended),
                "what it should show is not known: look at the cell; nothing is computed from it",
                file=folder,
            )
        )
    if phases.unknown_words:
        words = ", ".join(repr(word) for word in phases.unknown_words[:5])
        found.append(
            Problem(
                "warning",
                f"the log's phase column says {words}, which names no phase",
                'translate it in [log] phases = { "SAT" = "saturation" }',
                file=f"{folder}/cell.toml",
                key="log.phases",
            )
        )
    if test != "UU" and not phases.told_by_people:
        found.extend(
            Problem(
                "warning",
                f"phases cannot be told from the readings: needs {channel}",
                f"name its column in [log.channels] {channel}, or mark the phases by hand",
                file=f"{folder}/cell.toml",
                key=f"log.channels.{channel}",
            )
            for channel in NEEDED
            if channel not in has
        )
    if not phases.told_by_people:
        found += _unseen(folder, phases, has, test)
    if (mark := phases.far_ahead(now, DAY_S)) is not None:
        found.append(
            Problem(
                "note",
                f"a mark says {mark.phase}, but only in {lasting(mark.held_at - now)}",
                "a slip is taken back with `porewatch undo ENTRY`; see `porewatch journal`",
                file=folder,
            )
        )
    return tuple(found)


def _unseen(folder: str, phases: Phases, has: frozenset[str], test: str) -> list[Problem]:
    """What comes next and shows in none of the channels, or late."""
    phase = phases.phase
    if phase is None or phase.name != ("setup" if test == "UU" else "consolidation"):
        return []
    found: list[Problem] = []
    if not has & {*AXIAL, "cell_volume"}:
        late = test == "CU" and "pore_pressure" in has
        found.append(
            Problem(
                "note",
                "the begin of shear is told late, by pore pressure alone"
                if late
                else "the begin of shear shows in no channel of this cell",
                "mark it (`porewatch mark CELL shear`), or name axial_displacement, axial_load or "
                "cell_volume in [log.channels]",
                file=folder,
            )
        )
    if phase.step == "build-up" and not has & VOLUMES:
        found.append(
            Problem(
                "note",
                "that drainage opens is told by pore pressure alone, late where the base is closed",
                "mark it (`porewatch mark CELL consolidation/drained`), or name back_volume or "
                "cell_volume in [log.channels]",
                file=folder,
            )
        )
    return found
