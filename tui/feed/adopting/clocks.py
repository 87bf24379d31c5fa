"""Which column holds the time of a row, in which form, and what about it is open."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any

import numpy as np

from reduce.errors import UnitError
from reduce.units import unit
from tui.feed.adopting.log_files import SampledLog
from tui.feed.adopting.proposals import Doubt, TimeProposal
from tui.feed.dialect import Dialect, splitter
from tui.feed.moments import DateOrder, Dates, find_moment, looks_like_moment
from tui.feed.numbers import NumberColumn
from tui.feed.plain_text import plain, same_name
from tui.feed.time_columns import clock_like

PROVISIONAL_START = "2001-01-01T00:00:00"
"""From which elapsed time counts while only its course matters."""

_NUMERIC_DATE = re.compile(
    r"(\d{1,2})([-/])(\d{1,2})\2(\d{4}|\d{2})(T|,?\s+|_)(\d{1,2})([:.])(\d{2})(?:\7(\d{2})(?:([.,])\d+)?)?"
    r"(\s*[AaPp][Mm])?$"
)
_ELAPSED = ("elapsed", "time", "zeit", "tid", "t", "sec", "min", "hour", "seconds", "minutes")
_KINDS = {"s": "elapsed s", "sec": "elapsed s", "min": "elapsed min", "h": "elapsed h"}
_SPELT = {"seconds": "s", "minutes": "min", "hours": "h", "hour": "h", "hr": "h", "secs": "s"}


@dataclass(frozen=True, slots=True)
class Clock:
    """The time of some logs, as far as their first rows show it."""

    columns: tuple[str, ...]
    kind: str = "clock"
    doubts: tuple[Doubt, ...] = ()
    why: tuple[str, ...] = ()

    def settings(self) -> dict[str, Any]:
        """`[log] time` to look with."""
        if self.kind == "clock":
            return column_entry(self.columns)
        return {**column_entry(self.columns), "kind": self.kind, "start": PROVISIONAL_START}


def find_clock(log: SampledLog) -> Clock | None:
    """Where the time of a log stands; None: nowhere."""
    dialect = log.dialect
    if dialect.time_columns:
        names = tuple(dialect.header[index] for index in dialect.time_columns)
        return Clock(names, why=(_seen_as(dialect, dialect.time_columns),))
    return _elapsed(log)


def _seen_as(dialect: Dialect, columns: Sequence[int]) -> str:
    shown = " ".join(dialect.first_row[index] for index in columns)
    return f'a clock, such as "{plain(shown, 32)}"'


def fields_of(log: SampledLog) -> list[list[str]]:
    """Fields of the sampled lines that have as many as the header; to see how they are written."""
    split = splitter(log.dialect.separator)
    lines = (*log.sample.head[log.dialect.header_at + 1 :], *sum(log.sample.parts, ()))
    width = len(log.dialect.header)
    rows = ([field.strip() for field in split(line.strip(" \r\n\0"))] for line in lines)
    return [row for row in rows if len(row) == width]


def _elapsed(log: SampledLog) -> Clock | None:
    """A count that only rises, under a name or a unit of time."""
    rows = fields_of(log)
    for index, name in enumerate(log.dialect.header):
        symbol = _time_unit(log.dialect, index)
        words = re.findall(r"[a-z]+", same_name(name))
        if symbol is None and not any(word in _ELAPSED for word in words):
            continue
        texts = [row[index] for row in rows]
        if not _rises(texts):
            continue
        hours = any(np.isfinite(clock_like(text)) for text in texts[:3])
        if hours or symbol in _KINDS:
            kind = "elapsed s" if hours else _KINDS[symbol or "s"]
            return Clock((name,), kind, why=("it counts from a start",))
        doubt = Doubt(
            "log.time.kind",
            f'"{plain(name, 40)}" counts from a start, in a unit that stands nowhere',
            'write kind = "elapsed s", "elapsed min" or "elapsed h"',
        )
        return Clock((name,), "elapsed s", (doubt,), ("it counts from a start",))
    return None


def _time_unit(dialect: Dialect, index: int) -> str | None:
    texts = re.findall(r"[a-z]+", same_name(dialect.header[index]))[-1:]
    if index < len(dialect.units):
        texts.append(dialect.units[index].strip("[]() ").casefold())
    for text in texts:
        symbol = _SPELT.get(text, text)
        try:
            if unit(symbol).dimension == "time":
                return unit(symbol).symbol
        except UnitError:
            continue
    return None


def _rises(texts: Sequence[str]) -> bool:
    values, _ = NumberColumn(None).read(list(texts))
    counted = np.array([clock_like(text) for text in texts])
    values = np.where(np.isfinite(values), values, counted)
    values = values[np.isfinite(values)]
    steps = np.diff(values)
    return len(values) > 0 and bool(np.mean(steps >= 0) > 0.9 if len(steps) else True)


def propose(
    clock: Clock, logs: Sequence[SampledLog], order: DateOrder, zone: tzinfo
) -> TimeProposal:
    """What `[log] time` should say.

    Args:
        clock: as it was found.
        logs: in the order of their first rows.
        order: what the dates of all rows told about day and month.
        zone: of naive times.
    """
    if clock.kind != "clock":
        return _with_start(clock, logs, zone)
    first = logs[0].dialect
    at = [first.header.index(name) for name in clock.columns]
    stamps = [" ".join(row[i] for i in at) for log in logs for row in fields_of(log)]
    forms = _formats(next((text for text in stamps if _NUMERIC_DATE.match(text)), ""))
    if not forms:
        return TimeProposal(clock.columns, why=clock.why)
    by_name = None if order.settled else _order_by_file_name(logs, at)
    if order.settled or by_name:
        day_first = (by_name or order.order) == "DMY"
        chosen = forms[0 if day_first else 1]
        pinned = chosen if all(_fits(text, chosen) for text in stamps) else None
        which = "day first" if day_first else "month first"
        told = "the file's name says so" if by_name else "the dates themselves say so"
        return TimeProposal(clock.columns, format=pinned, why=(*clock.why, f"{which}: {told}"))
    doubt = Doubt(
        "log.time.format",
        f'"{plain(stamps[0], 40)}" may have the day or the month first',
        f'write format = "{forms[0]}" for day first, or "{forms[1]}"',
    )
    column = column_entry(clock.columns)
    return TimeProposal(
        clock.columns,
        why=clock.why,
        doubts=(doubt,),
        choices=tuple({**column, "format": form} for form in forms),
    )


def column_entry(columns: Sequence[str]) -> dict[str, Any]:
    """`column` of `[log] time`; nothing for one without a name, which is found by its content."""
    if not all(columns):
        return {}
    return {"column": columns[0] if len(columns) == 1 else list(columns)}


def _formats(text: str) -> tuple[str, str] | None:
    """The day first and the month first format of a numeric date; None for any other."""
    match = _NUMERIC_DATE.match(text)
    if match is None:
        return None
    _, dash, _, year, between, _, mark, _, second, point, half = match.groups()
    time = f"%{'I' if half else 'H'}{mark}%M"
    if second:
        time += f"{mark}%S" + (f"{point}%f" if point else "")
    if half:
        time += (" " if half[0].isspace() else "") + "%p"
    written = f"%{'Y' if len(year) == 4 else 'y'}{between}{time}"
    return f"%d{dash}%m{dash}{written}", f"%m{dash}%d{dash}{written}"


def _fits(text: str, form: str) -> bool:
    try:
        datetime.strptime(text, form)  # noqa: DTZ007 - only whether it can be read
    except ValueError:
        return not looks_like_moment(text)  # no time at all: no row either
    return True


def _order_by_file_name(logs: Sequence[SampledLog], at: Sequence[int]) -> str | None:
    """A file named by its day tells the order if only one order gives that day."""
    told: set[str] = set()
    for log in logs:
        named = find_moment(log.name, Dates(DateOrder()))
        rows = fields_of(log)
        if (
            named is None
            or not rows
            or not re.search(r"(?<!\d)\d{4}[-_.]?\d\d[-_.]?\d\d", log.name)
        ):
            continue
        day = datetime.fromtimestamp(named[0].naive_s, UTC).date()
        match = _NUMERIC_DATE.match(" ".join(rows[0][index] for index in at))
        if match is None or match[1] == match[3]:
            continue
        pair = int(match[1]), int(match[3])
        fits = {"DMY": pair == (day.day, day.month), "MDY": pair == (day.month, day.day)}
        told |= {order for order, right in fits.items() if right} or {"neither"}
    return told.pop() if len(told) == 1 and "neither" not in told else None


def _with_start(clock: Clock, logs: Sequence[SampledLog], zone: tzinfo) -> TimeProposal:
    """Elapsed time begins at a moment that stands in each file's name, its banner, or nowhere."""
    dates = Dates(DateOrder())
    named = [find_moment(log.name, dates) for log in logs]
    above = [
        any((f := find_moment(line, dates)) is not None and f[1] for line in log.dialect.banner)
        for log in logs
    ]
    if all(above):
        why = (*clock.why, "the banner says when it started")
        return TimeProposal(clock.columns, clock.kind, None, "banner", why, clock.doubts)
    if all(one is not None and one[1] for one in named):
        why = (*clock.why, "the file's name says when it started")
        return TimeProposal(clock.columns, clock.kind, None, "file name", why, clock.doubts)
    guess = _guessed_start(clock, logs[-1], zone).isoformat(timespec="minutes")
    choice = {**column_entry(clock.columns), "kind": clock.kind, "start": guess}
    what = "when its count began stands neither in a banner nor in a file's name"
    if len(logs) > 1:
        what += f", and {len(logs)} files each have a start of their own"
    doubt = Doubt(
        "log.time.start",
        what,
        f'write start = "{guess}" (a guess from when the file was last written), '
        'or "file name" once the files are named by it',
    )
    return TimeProposal(
        clock.columns, clock.kind, None, None, clock.why, (*clock.doubts, doubt), (choice,)
    )


def _guessed_start(clock: Clock, log: SampledLog, zone: tzinfo) -> datetime:
    """The file's last change less its last count, on the wall."""
    rows = fields_of(log)
    at = log.dialect.header.index(clock.columns[0])
    factor = {"elapsed min": 60.0, "elapsed h": 3600.0}.get(clock.kind, 1.0)
    last = rows[-1][at] if rows else "0"
    values, _ = NumberColumn(None).read([last])
    counted = clock_like(last) if not np.isfinite(values[0]) else float(values[0]) * factor
    back = counted if np.isfinite(counted) and counted < 3e8 else 0.0
    return datetime.fromtimestamp(log.sample.changed_s - back, zone).replace(tzinfo=None)
