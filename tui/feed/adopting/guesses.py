"""Pressures and volumes whose names say nothing: told by what their values do, always in doubt."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reduce.units import convert
from tui.feed.adopting import behaviour
from tui.feed.adopting.naming import measured, with_unit
from tui.feed.adopting.proposals import Doubt, Proposal, readings_of
from tui.feed.adopting.vocabulary import meaning
from tui.feed.plain_text import plain
from tui.feed.rows import Column

_KINDS = {
    "pressure": ("cell_pressure", "back_pressure", "pore_pressure"),
    "volume": ("back_volume", "cell_volume"),
}
_INSIDE = {"pressure": "kPa", "volume": "ml"}
_Guesses = list[tuple[Proposal, str, str]]
"""Column, channel, and why."""


def the_only_volume(proposals: Sequence[Proposal]) -> list[Proposal]:
    """The only volume of a log that says nothing else is the one in the specimen's line."""
    nameless = _nameless(proposals, "volume")
    taken = {one.channel for one in proposals}
    if len(nameless) != 1 or "back_volume" in taken:
        return list(proposals)
    only = nameless[0]
    told = meaning(only.column.name)
    why = (f'"{told.word}" in its name',) if told.word else ()
    new = with_unit(Proposal(only.column, "back_volume", why=(*why, "the only volume left")))
    if "cell_volume" not in taken and not told.flow:
        seen = direction_of(new, proposals)
        if seen is None:
            name = plain(only.column.name, 40)
            doubt = Doubt(
                "log.channels.back_volume",
                f"whose water \"{name}\" measures: the specimen's or the cell's",
                "keep it as back_volume (specimen), or call it cell_volume",
            )
            new = replace(new, doubts=(*new.doubts, doubt))
    return [new if one is only else one for one in proposals]


def direction_of(volume: Proposal, every: Sequence[Proposal]) -> behaviour.Direction | None:
    """Which way the gauge in the specimen's line counts, if the readings tell."""
    driver = readings_of(every, "pore_pressure")
    driver = driver if driver is not None else readings_of(every, "back_pressure")
    if driver is None:
        return None
    cell = readings_of(every, "cell_pressure")
    thin = behaviour.thinned([volume.readings, driver, *(() if cell is None else (cell,))])
    return behaviour.into_specimen(thin[0], thin[1], thin[2] if cell is not None else None)


def by_behaviour(proposals: Sequence[Proposal]) -> list[Proposal]:
    """With a channel for each pressure and volume that has none, as far as there are any left."""
    answer = list(proposals)
    for quantity, channels in _KINDS.items():
        taken = {one.channel for one in answer}
        free = [channel for channel in channels if channel not in taken]
        nameless = _nameless(answer, quantity)
        guess = _pressures if quantity == "pressure" else _volumes
        guessed = guess(nameless, free, answer) if nameless and free else []
        for one in nameless:
            told = [(channel, why) for which, channel, why in guessed if which is one]
            full = replace(one, why=(f"other columns say more about every {quantity}",))
            answer[answer.index(one)] = _guessed(one, *told[0], channels) if told else full
    return answer


def _nameless(proposals: Sequence[Proposal], quantity: str) -> list[Proposal]:
    return [o for o in proposals if o.channel is None and measured(o.column) == quantity]


def _guessed(one: Proposal, channel: str, why: str, others: Sequence[str]) -> Proposal:
    doubt = Doubt(
        f"log.channels.{channel}",
        f'"{plain(one.column.name, 40)}" is taken for {channel} only because {why}',
        f"find out which gauge it is: {' or '.join(others)}",
    )
    return with_unit(Proposal(one.column, channel, why=(why,), doubts=(doubt,)))


def _in(one: Proposal, quantity: str) -> Column:
    inside = _INSIDE[quantity]
    return convert(one.column.values, one.column.unit or inside, inside)


def _pressures(nameless: list[Proposal], free: list[str], every: Sequence[Proposal]) -> _Guesses:
    found: _Guesses = []
    left = sorted(nameless, key=lambda one: -_highest(_in(one, "pressure")))
    cell = readings_of(every, "cell_pressure")
    if "cell_pressure" in free:
        found.append((left[0], "cell_pressure", "it is the highest pressure"))
        cell = _in(left.pop(0), "pressure")
    ranked = sorted(left, key=lambda one: -_answer(_in(one, "pressure"), cell))
    if "pore_pressure" in free and ranked:
        why = "it answers to cell pressure, as pores do while drainage is closed"
        found.append((ranked.pop(0), "pore_pressure", why))
    if "back_pressure" in free and ranked:
        why = "it stands while cell pressure moves, as a regulator does"
        found.append((ranked.pop(), "back_pressure", why))
    return found


def _highest(values: Column) -> float:
    return float(np.nanpercentile(values, 90))


def _answer(values: Column, cell: Column | None) -> float:
    if cell is None:
        return 0.0
    return behaviour.answer(*behaviour.thinned([values, cell])) or 0.0


def _volumes(nameless: list[Proposal], free: list[str], every: Sequence[Proposal]) -> _Guesses:
    cell = readings_of(every, "cell_pressure")

    def with_cell(one: Proposal) -> float:
        if cell is None:
            return 0.0
        return behaviour.share_with(*behaviour.thinned([_in(one, "volume"), cell]))

    ranked = sorted(nameless, key=with_cell)
    found: _Guesses = []
    if "back_volume" in free:
        why = "it moves least of the volumes while cell pressure moves"
        found.append((ranked.pop(0), "back_volume", why))
    if "cell_volume" in free and ranked:
        why = "it moves most of the volumes while cell pressure moves"
        found.append((ranked.pop(), "cell_volume", why))
    return found
