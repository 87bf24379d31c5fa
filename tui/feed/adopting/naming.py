"""What a column is by its name and its unit, its values left aside."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tui.feed.adopting.phases_seen import phases_of
from tui.feed.adopting.proposals import Doubt, Proposal, SeenColumn
from tui.feed.adopting.vocabulary import (
    Meaning,
    Quantity,
    meaning,
    quantity_of,
    quantity_of_channel,
)
from tui.feed.plain_text import plain
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS

_BY_SIDE = {"cell": "cell_pressure", "back": "back_pressure", "pore": "pore_pressure"}
_ONLY: dict[Quantity | None, str] = {
    "length": "axial_displacement", "force": "axial_load", "temperature": "temperature",
}  # fmt: skip
_ROOM_C = (5.0, 45.0)


def by_name(column: SeenColumn, own: Mapping[str, str]) -> Proposal:
    """What its name and unit say.

    Args:
        column: as it was seen.
        own: channels by the columns that are named as they are.
    """
    if column.name in own:
        why = ("it is named as the channel",)
        if own[column.name] in TEXT_CHANNELS:
            return _of_words(column, own[column.name], why)
        return with_unit(Proposal(column, own[column.name], why=why))
    told = meaning(column.name)
    if not column.numeric:
        return _without_numbers(column, told)
    if told.not_read:
        return Proposal(column, None, why=(told.not_read,))
    quantity = measured(column)
    channel = _channel(column, told, quantity) or _ONLY.get(quantity)
    if channel is None:
        unknown = "its values say which" if quantity else "neither name nor unit say what it is"
        return Proposal(column, None, column.unit, why=(unknown,))
    said = f'"{told.word}" in its name' if told.word else "only its unit tells"
    if told.channel == channel:
        said = "a usual sign for it"
    against = _against_unit(column, channel, told)
    return with_unit(Proposal(column, channel, why=(said,), doubts=against))


def _against_unit(column: SeenColumn, channel: str, told: Meaning) -> tuple[Doubt, ...]:
    """A name and a unit that speak of different things."""
    named = quantity_of_channel(told.channel or "") or told.quantity
    shown = None if column.unit is None else quantity_of(column.unit)
    if named is None or shown is None or named == shown:
        return ()
    return (
        Doubt(
            f"log.channels.{channel}",
            f'"{plain(column.name, 40)}" is named as a {named}, and {column.unit} is a {shown}',
            "find out which is right",
        ),
    )


def measured(column: SeenColumn) -> Quantity | None:
    """The quantity by unit, else by name; None also for what is no measurement."""
    told = meaning(column.name)
    if not column.numeric or told.not_read:
        return None
    by_unit = None if column.unit is None else quantity_of(column.unit)
    return by_unit or told.quantity


def _without_numbers(column: SeenColumn, told: Meaning) -> Proposal:
    for channel, named in (("phase", told.is_phase), ("drainage", told.is_drainage)):
        if named and column.words:
            return _of_words(column, channel, ("by its name and its words",))
    what = "it holds words that no channel has" if column.words else "it holds no reading"
    return Proposal(column, None, why=(what,))


def _channel(column: SeenColumn, told: Meaning, quantity: Quantity | None) -> str | None:
    """The channel of a name, unless the unit speaks against it."""
    if told.channel is not None:
        fits = column.unit is None or quantity == quantity_of_channel(told.channel)
        return told.channel if fits else None
    if quantity == "pressure" or (quantity is None and told.side is not None):
        return _BY_SIDE.get(told.side or "")
    if quantity == "volume":
        if told.side == "cell":
            return "cell_volume"
        return "back_volume" if told.of_specimen else None
    return None


def _of_words(column: SeenColumn, channel: str, why: tuple[str, ...]) -> Proposal:
    if channel == "phase":
        return Proposal(column, channel, why=why, doubts=phases_of(column.words)[1])
    other = [word for word in column.words if word.casefold() not in ("open", "closed")]
    if not other:
        return Proposal(column, channel, why=why)
    doubt = Doubt(
        "log.channels.drainage",
        f'"{plain(column.name, 40)}" says "{plain(other[0], 20)}", and only open and closed are '
        "understood",
        "let the logger write open and closed, or leave drainage out",
    )
    return Proposal(column, channel, why=why, doubts=(doubt,))


def with_unit(proposal: Proposal) -> Proposal:
    """With its unit among the reasons; without one with a guess and a doubt."""
    column, channel = proposal.column, proposal.channel or ""
    if column.unit is not None:
        return replace(
            proposal, unit=column.unit, why=(*proposal.why, f"{column.unit} in {column.unit_from}")
        )
    inside = NUMERIC_CHANNELS[channel]
    if channel == "temperature":
        middle = float(np.nanmedian(column.values))
        if _ROOM_C[0] <= middle <= _ROOM_C[1]:
            return replace(proposal, unit=inside, why=(*proposal.why, "as warm as a room in °C"))
    doubt = Doubt(
        f"log.channels.{channel}.unit",
        f'no unit of {quantity_of_channel(channel)} stands with "{plain(column.name, 40)}"',
        f'write unit = "{inside}", or what the logger is set to',
    )
    return replace(proposal, unit=inside, doubts=(*proposal.doubts, doubt))
