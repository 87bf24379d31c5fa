"""Entries of the journal in words."""

from datetime import tzinfo

from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.words.plain import Manner, plain, sanitise
from tui.words.times import date_and_time

_ENDS = {"cleared": "it clears", "phase-end": "the phase ends"}
_LATE_ENTRY_S = 60.0
"""From here on it is told that an entry was made at another time than the one it holds at. [s]"""


def entry_lines(entry: Entry, names: dict[str, str], zone: tzinfo, manner: Manner) -> list[str]:
    """One entry in words."""
    act = entry.act
    what = said(act, zone)
    if entry.refers is not None:
        what += f" of {entry.refers}"
    if entry.undone_by is not None:
        what += f" (taken back by {entry.undone_by})"
    origin = f"{sanitise(act.who)} at {sanitise(act.host)}"
    if entry.client:
        origin += f" from {sanitise(entry.client)}"
    if abs(act.entered_at - act.held_at) >= _LATE_ENTRY_S:
        origin += f", entered {date_and_time(act.entered_at, zone)}"
    cell = sanitise(names.get(act.cell, act.cell)) or "the bench"
    lines = [
        f"{act.entry:>4}  {date_and_time(act.held_at, zone)}  {cell}  {what}",
        f"      {origin}",
    ]
    if act.text:
        lines.append(
            f"      “{sanitise(act.text)}”" if not manner.ascii else f'      "{sanitise(act.text)}"'
        )
    return [plain(line, manner) for line in lines]


def said(act: Act, zone: tzinfo) -> str:
    """What an entry says, without who and when."""
    what = sanitise(act.kind)
    if act.alarm:
        what += f" {sanitise(act.alarm)}" + (f" ({sanitise(act.about)})" if act.about else "")
    if act.phase:
        what += f" {sanitise(act.phase)}" + (f"/{sanitise(act.step)}" if act.step else "")
    if act.channel:
        what += f" {sanitise(act.channel)}"
    if act.reads is not None:
        what += f", reads {act.reads:g} {NUMERIC_CHANNELS.get(act.channel or '', '')}"
    if act.route:
        what += f" by {sanitise(act.route)}"
    if act.priority and act.kind == "raised":
        what += f", {sanitise(act.priority)}"
    if act.since is not None and act.kind == "raised" and act.since != act.held_at:
        what += f", since {date_and_time(act.since, zone)}"
    if act.kind == "duty":
        return f"{what} over" if act.until is not None else what
    if act.until not in (None, act.held_at):
        first = f"{_ENDS[act.ends]}, at the latest " if act.ends else ""
        what += f" until {first}{date_and_time(act.until, zone)}"
    return what
