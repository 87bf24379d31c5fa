"""What several cells of one supply show within two minutes is one alarm of the bench.

Readings of different loggers fall at different moments: the onset of a spell lies between the last
reading that was well and the first that was not, and two cells go together where these meet.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tui.bench.alarms.causes import behind, follows
from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.spells import PRIORITIES, Spell
from tui.settings.alarm_limits import Limits
from tui.settings.bench_toml import Supply

APART_S = 120.0
"""Onsets this near are one event. [s]"""
SHARED = (
    "supply-lost", "pressure-drift", "pressure-unsteady", "temperature-swing", "log-silent",
    "clock-jump",
)  # fmt: skip
"""Kinds that several cells can have from one cause. What is the specimen's own never is one."""

CellSpells = Mapping[str, tuple[Spell, ...]]
"""By folder."""


def shared_spells(
    spells: CellSpells, supplies: Sequence[tuple[Supply, tuple[str, ...]]], limits: Limits
) -> tuple[tuple[Spell, ...], dict[str, tuple[Spell, ...]]]:
    """Spells of the bench, and those of the cells with what is shared marked as held back.

    Args:
        spells: of each cell, in the order of raising.
        supplies: each with the folders of the cells that it feeds.
        limits: of the bench.
    """
    left = {folder: list(own) for folder, own in spells.items()}
    found: list[Spell] = []
    for supply, folders in supplies:
        for kind in SHARED:
            for group in _groups(kind, folders, left):
                least = int(limits("supply-lost", "cells")) if kind == "supply-lost" else 2
                if len({folder for folder, _ in group}) < least:
                    continue
                found.append(_merged(kind, supply.name, group))
                for folder, spell in group:
                    place = left[folder].index(spell)
                    left[folder][place] = replace(spell, held_back=kind)
    for own in left.values():
        # A fall of pressure is the supply's when another cell has it too; alone it is a drift.
        own[:] = [spell for spell in own if not KINDS[spell.kind].of_bench or spell.held_back]
    for spell in found:
        _hold_back_what_follows(spell, left)
    return tuple(sorted(found, key=lambda one: one.raised_at)), {
        folder: tuple(own) for folder, own in left.items()
    }


def _groups(
    kind: str, folders: tuple[str, ...], spells: Mapping[str, list[Spell]]
) -> list[list[tuple[str, Spell]]]:
    own = [
        (folder, spell)
        for folder in folders
        for spell in spells.get(folder, ())
        if spell.kind == kind and spell.held_back is None
    ]
    own.sort(key=lambda one: one[1].since)
    groups: list[list[tuple[str, Spell]]] = []
    for folder, spell in own:
        if groups and any(_together(spell, other) for _, other in groups[-1]):
            groups[-1].append((folder, spell))
        else:
            groups.append([(folder, spell)])
    return groups


def _together(a: Spell, b: Spell) -> bool:
    begins = [(s.since if s.well_until is None else s.well_until, s.since) for s in (a, b)]
    (a_from, a_to), (b_from, b_to) = begins
    alike = a.about == b.about or a.kind == "supply-lost"
    return alike and max(a_from, b_from) <= min(a_to, b_to) + APART_S


def _merged(kind: str, supply: str, group: list[tuple[str, Spell]]) -> Spell:
    ones = [spell for _, spell in group]
    cells = tuple(dict.fromkeys(folder for folder, _ in group))
    ends = [spell.cleared_at for spell in ones]
    over = None if any(end is None for end in ends) else max(end for end in ends if end is not None)
    second = sorted({f: s.raised_at for f, s in reversed(group)}.values())[1]
    return Spell(
        kind,
        supply,
        max((one.priority for one in ones), key=PRIORITIES.index),
        since=min(one.since for one in ones),
        raised_at=second,
        cleared_at=over,
        message=f"{len(cells)} cells of supply {supply}: {', '.join(cells)}; {ones[0].message}",
        by_phase=over is not None and all(one.by_phase for one in ones),
        cells=cells,
    )


def _hold_back_what_follows(cause: Spell, left: dict[str, list[Spell]]) -> None:
    for folder in cause.cells:
        found: list[Spell] = []
        for spell in left[folder]:
            held = (
                spell.held_back is None
                and follows(spell, cause)
                and spell.since >= cause.since - APART_S
                and (cause.cleared_at is None or spell.since <= cause.cleared_at)
            )
            found += behind(spell, cause) if held else [spell]
        left[folder] = sorted(found, key=lambda one: (one.raised_at, one.kind))
