"""Looks at a folder of logs of unknown make and proposes its `cell.toml`; writes nothing."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import UTC, datetime, tzinfo
from pathlib import Path

from pydantic import ValidationError

from tui.feed.adopting.channels_told import channels_of
from tui.feed.adopting.clocks import Clock, fields_of, find_clock, propose
from tui.feed.adopting.columns import Looked, look_at, with_banner_units
from tui.feed.adopting.decimals import decimal_doubt
from tui.feed.adopting.log_files import FoundLogs, SampledLog, find_logs, layout_of
from tui.feed.adopting.phases_seen import phases_of
from tui.feed.adopting.proposals import (
    Adoption,
    Doubt,
    NothingToAdoptError,
    Proposal,
    TimeProposal,
)
from tui.feed.dialect import Dialect, listed
from tui.feed.moments import looks_like_moment
from tui.feed.plain_text import plain
from tui.settings.cell_toml import Hardware, Log

_TWO_CLOCKS_S = 60.0


def propose_adoption(folder: Path, zone: tzinfo, cells: Collection[str] = ()) -> Adoption:
    """What `cell.toml` of a folder could say.

    Args:
        folder: with logs; they are only read, and large ones in samples.
        zone: of naive timestamps: the bench's.
        cells: names that other cells of the bench have.

    Raises:
        NothingToAdoptError: there is no log, or none with rows that have a time.
    """
    found = find_logs(folder)
    clock, logs = _timed(found)
    looked = look_at(logs, clock.settings(), zone)
    if isinstance(looked, str):
        raise NothingToAdoptError(f"no row of {plain(logs[0].name, 40)} can be used: {looked}")
    dialect = logs[0].dialect
    columns = channels_of(with_banner_units(looked.columns, dialect), dialect)
    columns = [_once(one, dialect) for one in columns]
    columns, second = _without_second_clock(columns, clock, logs)
    phase = next((one for one in columns if one.channel == "phase"), None)
    time = propose(clock, logs, looked.order, zone)
    return Adoption(
        folder=folder,
        name=cell_name(folder, cells),
        files=found.pattern or "*",
        taken=found.taken,
        layout=_layout(dialect, looked),
        time=time,
        columns=tuple(columns),
        phases={} if phase is None else phases_of(phase.column.words)[0],
        live=found.live,
        first_row=_first_row(time, looked, zone),
        other_doubts=(*_glob_doubt(found), *decimal_doubt(logs, looked)),
        notes=(*found.notes, *second, *_notes(columns, time, logs, zone)),
    )


def _timed(found: FoundLogs) -> tuple[Clock, list[SampledLog]]:
    """The clock that the most files have, and those files in the order of their names."""
    for log in found.logs:
        clock = find_clock(log)
        if clock is None:
            continue
        settings = Log.model_validate({"time": clock.settings()})
        logs = []
        for one in found.logs:
            dialect = layout_of(one.sample.head, settings)
            if (
                dialect is not None
                and dialect.time_columns
                and dialect.header == log.dialect.header
            ):
                logs.append(replace(one, dialect=dialect))
        if logs:
            return clock, logs
    first = found.logs[0]
    raise NothingToAdoptError(
        f"no column of {plain(first.name, 40)} holds the time of a row: its columns are "
        f"{listed(first.dialect.header)}; looked for date and time, or a count in s, min or h"
    )


def cell_name(folder: Path, cells: Collection[str] = ()) -> str:
    """A cell's name after its folder: one that a name can be, and no other cell has."""
    where = folder.resolve()
    taken = {name.casefold() for name in cells}
    for name in (where.name, f"{where.parent.name}-{where.name}"):
        for tried in (name, "".join(c if c.isalnum() else "-" for c in name).strip("-")):
            if tried.casefold() not in taken and _is_name(tried):
                return tried
    return next(f"cell {n}" for n in range(1, len(taken) + 2) if f"cell {n}" not in taken)


def _is_name(text: str) -> bool:
    try:
        text.encode("utf-8")
        return Hardware.model_validate({"name": text}).name == text
    except (ValidationError, UnicodeEncodeError):
        return False


def _once(one: Proposal, dialect: Dialect) -> Proposal:
    count = dialect.header.count(one.column.name)
    if one.channel is None or count < 2:
        return one
    name = plain(one.column.name, 40)
    doubt = Doubt(
        f"log.channels.{one.channel}",
        f'{count} columns are named "{name}", and only the first can be read',
        "let the logger give every column a name of its own",
    )
    return replace(one, doubts=(*one.doubts, doubt))


def _without_second_clock(
    columns: Sequence[Proposal], clock: Clock, logs: Sequence[SampledLog]
) -> tuple[list[Proposal], tuple[str, ...]]:
    """Another column of moments is no gauge; which clock is right is for a person to say."""
    answer: list[Proposal] = []
    notes: tuple[str, ...] = ()
    header = logs[0].dialect.header
    rows = fields_of(logs[0])[:3]
    for one in columns:
        at = header.index(one.column.name)
        if one.channel is not None or not any(looks_like_moment(row[at]) for row in rows):
            answer.append(one)
            continue
        answer.append(replace(one, why=("another clock",)))
        names = " and ".join(f'"{plain(name, 30)}"' for name in clock.columns)
        notes += (
            f'there are two clocks: {names} is used, "{plain(one.column.name, 30)}" is not; '
            "change column of [log] time if the other one is right",
        )
    return answer, notes


def _glob_doubt(found: FoundLogs) -> tuple[Doubt, ...]:
    if found.pattern is not None:
        return ()
    return (
        Doubt(
            "log.files",
            f"no simple pattern takes {listed(found.taken, 3)} without files that are no such logs",
            "move the other files away, or write a pattern that takes the logs alone",
        ),
    )


def _layout(dialect: Dialect, looked: Looked) -> str:
    words = {".": "decimal points", ",": "decimal commas"}
    marks = " and ".join(words[mark] for mark in sorted(looked.decimals)) or "whole numbers"
    units = ", units in the line below" if dialect.units else ""
    name = dialect.separator_name
    between = {",": "comma", ";": "semicolon"}.get(name, name)
    return f"fields between {between}, {marks}, header in line {dialect.header_at + 1}{units}"


def _first_row(time: TimeProposal, looked: Looked, zone: tzinfo) -> str | None:
    if time.kind != "clock" or time.doubts:
        return None
    first = datetime.fromtimestamp(float(looked.times[0]), UTC).astimezone(zone)
    return first.replace(tzinfo=None).isoformat(timespec="minutes")


def _notes(
    columns: Sequence[Proposal], time: TimeProposal, logs: Sequence[SampledLog], zone: tzinfo
) -> tuple[str, ...]:
    notes: list[str] = []
    first = [logs[0].dialect.first_row[index] for index in logs[0].dialect.time_columns]
    aware = " ".join(first).rstrip()
    if time.kind == "clock" and not (aware.endswith("Z") or aware[-6:-5] in ("+", "-")):
        notes.append(
            f"no zone stands behind the times: they are read in {zone}; if the logger does not "
            'follow daylight saving, add zone = "Etc/GMT-1" or the like to [log] time'
        )
    channels = {one.channel for one in columns}
    if len({"pore_pressure", "back_pressure"} & channels) == 1:
        there = "pore_pressure" if "pore_pressure" in channels else "back_pressure"
        missing = "back_pressure" if there == "pore_pressure" else "pore_pressure"
        notes.append(
            f"no column is {missing}; if one transducer measures both by a valve, write "
            f'{missing} = {{ same_as = "{there}" }}'
        )
    travel = [one for one in columns if one.channel in ("axial_displacement", "axial_load")]
    if any(not any("presses" in why for why in one.why) for one in travel):
        notes.append("no row shows the ram pressing yet: compression is taken as positive")
    return tuple(notes)
