"""Where two columns would be one channel, and whether pressures do what their names promise."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tui.feed.adopting import behaviour
from tui.feed.adopting.proposals import Doubt, Proposal, readings_of
from tui.feed.plain_text import plain
from tui.feed.rows import Column

_PRESSURES = ("cell_pressure", "back_pressure", "pore_pressure")
_TWIN = {"back_pressure": "pore_pressure", "pore_pressure": "back_pressure"}
_ALIKE_KPA = 1.0
_REMEDIES = {
    "axial_load": "keep one, or give each its range in a list: the finest in range is taken",
    "phase": "keep one of them",
    "drainage": "keep one of them",
}


def with_rivals(proposals: Sequence[Proposal]) -> list[Proposal]:
    """Two columns for one channel: which of them is meant only a person knows."""
    answer = []
    for one in proposals:
        rivals = [o for o in proposals if one.channel is not None and o.channel == one.channel]
        if len(rivals) < 2:
            answer.append(one)
            continue
        names = " and ".join(f'"{plain(o.column.name, 30)}"' for o in rivals)
        doubt = Doubt(
            f"log.channels.{one.channel}",
            f"{names} could each be {one.channel}{_alike(rivals)}",
            _REMEDIES.get(one.channel or "", "keep one of them, or combine them"),
        )
        answer.append(replace(one, doubts=(*one.doubts, doubt)))
    return answer


def _alike(rivals: Sequence[Proposal]) -> str:
    if len(rivals) != 2 or rivals[0].channel not in _PRESSURES:
        return ""
    apart = np.abs(rivals[0].readings - rivals[1].readings)
    if not np.isfinite(apart).any() or float(np.nanmax(apart)) > _ALIKE_KPA:
        return ""
    return f", and they read alike to {float(np.nanmax(apart)):.1g} kPa"


def checked(proposals: Sequence[Proposal]) -> list[Proposal]:
    """With what the pressures do as further reasons, or as doubts."""
    found = {name: readings_of(proposals, name) for name in _PRESSURES}
    present = {name: values for name, values in found.items() if values is not None}
    if "cell_pressure" not in present or len(present) < 2:
        return list(proposals)
    thin = dict(zip(present, behaviour.thinned(list(present.values())), strict=True))
    return [_checked(one, thin) if one.channel in thin else one for one in proposals]


def _checked(one: Proposal, thin: dict[str, Column]) -> Proposal:
    if one.channel == "cell_pressure":
        others = [values for name, values in thin.items() if name != "cell_pressure"]
        share = behaviour.leads(thin["cell_pressure"], others)
        if share is None:
            return one
        if share < behaviour.MOSTLY:
            return _doubted(one, "is lower than another pressure for much of the time")
        return replace(one, why=(*one.why, "it is the highest pressure"))
    channel = one.channel or ""
    mine = behaviour.answer(thin[channel], thin["cell_pressure"])
    twin = _TWIN[channel]
    other = behaviour.answer(thin[twin], thin["cell_pressure"]) if twin in thin else None
    if mine is None:
        return one
    hears, deaf = mine > behaviour.HEARS, mine < behaviour.DEAF
    if channel == "pore_pressure":
        if deaf and other is not None and other > behaviour.HEARS:
            return _doubted(one, f"stands while {twin} answers to cell pressure: exchanged?")
        return replace(one, why=(*one.why, "it answers to cell pressure")) if hears else one
    if hears and other is not None and other < behaviour.DEAF:
        return _doubted(one, f"answers to cell pressure while {twin} stands: exchanged?")
    return replace(one, why=(*one.why, "it stands when cell pressure moves")) if deaf else one


def _doubted(one: Proposal, what: str) -> Proposal:
    doubt = Doubt(
        f"log.channels.{one.channel}",
        f'"{plain(one.column.name, 40)}" {what}',
        "find out which gauge it is",
    )
    return replace(one, doubts=(*one.doubts, doubt))
