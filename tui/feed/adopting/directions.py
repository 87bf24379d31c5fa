"""Which way volumes, displacement and load count: by their readings, else by their names."""

from collections.abc import Mapping
from dataclasses import replace

from tui.feed.adopting import behaviour
from tui.feed.adopting.guesses import direction_of
from tui.feed.adopting.proposals import Doubt, Proposal, place_of, readings_of
from tui.feed.adopting.vocabulary import meaning
from tui.feed.plain_text import plain


def with_directions(proposals: list[Proposal], own: Mapping[str, str]) -> list[Proposal]:
    """With the signs that make readings positive as the contract wants them.

    Args:
        proposals: of all columns.
        own: channels by the columns that are named as they are: these count as the channel does.
    """
    answer = list(proposals)
    _turn_back_volume(answer, own)
    _turn_cell_volume(answer, own)
    _turn_axial(answer)
    return answer


def _turn_back_volume(answer: list[Proposal], own: Mapping[str, str]) -> None:
    place = place_of(answer, "back_volume")
    if place is None:
        return
    one = answer[place]
    told = meaning(one.column.name)
    named = 1 if one.column.name in own else told.flow
    seen = direction_of(one, answer)
    answer[place] = _turned(one, seen, named, "into the specimen", -1 if told.counts_down else 1)


def _turn_cell_volume(answer: list[Proposal], own: Mapping[str, str]) -> None:
    place = place_of(answer, "cell_volume")
    if place is None:
        return
    one = answer[place]
    cell = readings_of(answer, "cell_pressure")
    seen = None
    if cell is not None:
        inner = place_of(answer, "back_volume")
        known = inner is not None and not any(d.key.endswith("sign") for d in answer[inner].doubts)
        into = answer[inner].sign * answer[inner].readings if inner is not None and known else None
        thin = behaviour.thinned([one.readings, cell, *(() if into is None else (into,))])
        seen = behaviour.into_cell(thin[0], thin[2] if into is not None else None, thin[1])
    named = 1 if one.column.name in own else meaning(one.column.name).flow
    answer[place] = _turned(one, seen, named, "into the cell", 1)


def _turned(
    one: Proposal, seen: behaviour.Direction | None, named: int, where: str, usual: int
) -> Proposal:
    """With the sign that the readings show, else that of the name, else in doubt."""
    key = f"log.channels.{one.channel}.sign"
    name = plain(one.column.name, 40)
    if seen is None:
        if named:
            return replace(
                one, sign=1 if named > 0 else -1, why=(*one.why, "its name says which way")
            )
        doubt = Doubt(
            key,
            f'no row shows yet whether "{name}" rises when water goes {where}',
            "write sign = 1 if it rises then, sign = -1 if it falls",
        )
        return replace(one, sign=1 if usual > 0 else -1, doubts=(*one.doubts, doubt))
    if named and named != seen.sign:
        doubt = Doubt(
            key,
            f'"{name}" by its name counts the other way than its readings: {seen.why}',
            f"write sign = {seen.sign} if the readings are right",
        )
        return replace(one, sign=seen.sign, doubts=(*one.doubts, doubt))
    return replace(one, sign=seen.sign, why=(*one.why, seen.why))


def _turn_axial(answer: list[Proposal]) -> None:
    travel, load = place_of(answer, "axial_displacement"), place_of(answer, "axial_load")
    if travel is None or load is None:
        return
    seen = behaviour.pressing(answer[travel].readings, answer[load].readings)
    if seen is None:
        return
    for place, direction in zip((travel, load), seen, strict=True):
        one = answer[place]
        answer[place] = replace(one, sign=direction.sign, why=(*one.why, direction.why))
