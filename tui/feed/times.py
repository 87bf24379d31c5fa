"""The time column: which it is, how it is written, and its fields as seconds since the epoch."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from typing import Protocol

import numpy as np

from tui.feed.fixed_times import Day, Stamps, seconds_of
from tui.feed.moments import DateOrder, Dates, Moment, find_moment, from_datetime, zone_s
from tui.feed.moments import read_moment as read_one
from tui.feed.numbers import NumberColumn
from tui.feed.plain_text import plain
from tui.feed.rows import Column
from tui.feed.time_columns import SHORTEST, ClockForm, clock_form, clock_like
from tui.feed.wall_time import WallTime, all_plausible
from tui.settings.cell_toml import TimeColumn
from tui.settings.problems import Problem
from tui.settings.quantities import RefusedError
from tui.settings.zones import find_zone

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - the wall's, without a zone, as naive fields are
_PINNED = re.compile(
    r"(?:%d([-/.])%m\1%Y|%m([-/.])%d\2%Y|%Y([-/.])%m\3%d)[T ]%H:%M(?::%S(?:\.%f)?)?"
)
"""Formats whose texts all have one width."""
_FACTORS = {"elapsed s": 1.0, "elapsed min": 60.0, "elapsed h": 3600.0}


class TimeReader(Protocol):
    """Fields of the time column, in file order, as seconds since the epoch."""

    @property
    def form(self) -> str:
        """In words, for people, by the rows so far."""
        ...

    wants_banner: bool
    """Whether a banner in mid-file changes how times are read."""

    numbers: NumberColumn | None
    """How its fields are read, if they are numbers."""

    def read(self, texts: list[str]) -> Column:
        """(n,) [s]; NaN where the field cannot be read."""
        ...

    def read_stamps(self, stamps: Stamps) -> Column | None:
        """(n,) [s] what `read` gives; None, and nothing has changed, if not all are plain."""
        ...

    def from_numbers(self, values: Column) -> Column:
        """(n,) [s] what `read` gives for fields that are numbers."""
        ...

    def new_banner(self, lines: Sequence[str]) -> None:
        """The logger began again in the same file and wrote these lines before its header."""
        ...

    def problems(self, file: str) -> list[Problem]:
        """What is doubtful about the times read so far."""
        ...


@dataclass(frozen=True, slots=True)
class TimeContext:
    """What a file's times are read with."""

    settings: TimeColumn
    zone: tzinfo
    """Of naive timestamps: the log's own, else the bench's."""
    order: DateOrder
    """Shared by the files of a cell."""
    file_name: str
    """Without its folder."""


def own_zone(settings: TimeColumn, bench: tzinfo) -> tuple[tzinfo, Problem | None]:
    """The zone of naive timestamps of a log."""
    if settings.zone is None:
        return bench, None
    try:
        return find_zone(settings.zone), None
    except RefusedError as refused:
        return bench, Problem(
            "error",
            f"log.time.zone {refused.what}; its times are read in the zone of the bench",
            refused.remedy,
            key="log.time.zone",
        )


def _day_first(day: int, month: int, year: int, text: str) -> int:  # noqa: ARG001 - as `Day`
    return date(year, month, day).toordinal()


def _month_first(month: int, day: int, year: int, text: str) -> int:
    return _day_first(day, month, year, text)


class ClockTimes:
    """Dates with times of day, with or without an offset from UTC."""

    def __init__(self, context: TimeContext, form: ClockForm) -> None:
        self._form = form
        self._format = context.settings.format
        self._offset_s = context.settings.offset_s
        self._order = context.order
        self._dates = Dates(context.order)
        self._wall = WallTime(context.zone)
        self.numbers = NumberColumn(None) if form == "unix" else None
        self.wants_banner = False
        self._zone = str(context.zone)

    @property
    def form(self) -> str:
        """See `TimeReader`."""
        form = {
            "iso": f"ISO 8601, {self._zone} where no offset is given",
            "other": f"date and time of day, {self._zone} where no offset is given",
            "unix": "seconds since 1970",
            "pinned": f"as pinned: {self._format}, {self._zone}",
        }[self._form]
        return ", ".join(filter(None, (form, self._dates.words, _offset(self._offset_s))))

    def read(self, texts: list[str]) -> Column:
        """See `TimeReader`."""
        if self.numbers is not None:
            return self.from_numbers(self.numbers.read(texts)[0])
        if self._form == "iso" and (naive := _naive_iso(texts)) is not None:
            return self._wall.to_utc(naive) + self._offset_s
        naive = np.full(len(texts), np.nan)
        aware = np.full(len(texts), np.nan)
        for index, text in enumerate(texts):
            try:
                moment = self._one(text.strip())
            except ValueError:
                continue
            if moment.offset_s is None:
                naive[index] = moment.naive_s
            else:
                aware[index] = moment.naive_s - moment.offset_s
        known = np.isfinite(aware)
        return np.where(known, aware, self._wall.to_utc(naive)) + self._offset_s

    def read_stamps(self, stamps: Stamps) -> Column | None:
        """See `TimeReader`."""
        day: Day = self._day
        if self._format is not None:
            if _PINNED.fullmatch(self._format) is None or self._misfits(stamps.first):
                return None
            day = _day_first if self._format.startswith("%d") else _month_first
        elif self._form == "iso" and stamps.first[4] != "-":
            return None
        found = seconds_of(stamps, day, micro=self._form != "other")
        if found is None or not all_plausible(found[0] + self._offset_s):
            return None
        naive, zone = found
        offset_s = zone_s(zone)
        if offset_s is not None:
            return naive - offset_s + self._offset_s
        return self._wall.to_utc(naive) + self._offset_s

    def _misfits(self, text: str) -> bool:
        try:
            self._one(text)
        except ValueError:
            return True
        return False

    def _day(self, first: int, second: int, year: int, text: str) -> int:
        return self._dates.day(first, second, year, text, dots="." in text)

    def from_numbers(self, values: Column) -> Column:
        """See `TimeReader`."""
        return values + self._offset_s

    def _one(self, text: str) -> Moment:
        if self._format is not None:
            return from_datetime(datetime.strptime(text, self._format))  # noqa: DTZ007
        if self._form == "iso" and len(text) >= SHORTEST and text.isascii():
            try:
                return from_datetime(datetime.fromisoformat(text))
            except ValueError:
                pass
        return read_one(text, self._dates)

    def new_banner(self, lines: Sequence[str]) -> None:
        """A clock needs no start."""

    def problems(self, file: str) -> list[Problem]:
        """See `TimeReader`."""
        return _skipped(self._wall, file)


def _offset(offset_s: float) -> str:
    return f"offset {offset_s:+g} s" if offset_s else ""


def _skipped(wall: WallTime, file: str) -> list[Problem]:
    if wall.not_there is None:
        return []
    shown = datetime.fromtimestamp(wall.not_there, UTC).strftime("%Y-%m-%d %H:%M")
    return [
        Problem(
            "warning",
            f"{shown} does not exist in {wall.zone}: the logger's clock was not put forward",
            'give the zone that the logger keeps, such as [log] time = { zone = "Etc/GMT-1" }',
            file,
        )
    ]


def _naive_iso(texts: list[str]) -> Column | None:
    """The fast way: every field naive ISO 8601 with a time of day; None if one is not."""
    try:
        moments = list(map(datetime.fromisoformat, texts))
        naive = np.fromiter(
            ((moment - _EPOCH).total_seconds() for moment in moments), float, len(moments)
        )
    except (ValueError, TypeError):
        return None
    return naive if min(map(len, texts), default=0) >= SHORTEST else None


class ElapsedTimes:
    """Seconds, minutes or hours (or h:mm:ss) since a start."""

    def __init__(self, context: TimeContext, start_s: float, where: str) -> None:
        self._context = context
        self.wants_banner = context.settings.start == "banner"
        self._factor = _FACTORS[context.settings.kind]
        self._start_s = start_s
        self.numbers: NumberColumn | None = NumberColumn(None)
        self._where = where

    @property
    def form(self) -> str:
        """See `TimeReader`."""
        settings = self._context.settings
        started = datetime.fromtimestamp(self._start_s, self._context.zone).isoformat()
        form = f"{settings.kind} since {started} ({self._where})"
        return ", ".join(filter(None, (form, _offset(settings.offset_s))))

    def read(self, texts: list[str]) -> Column:
        """See `TimeReader`."""
        assert self.numbers is not None
        values, faults = self.numbers.read(texts)
        times = self.from_numbers(values)
        for index, _ in faults:
            times[index] = clock_like(texts[index]) + self._origin_s
        return times

    def read_stamps(self, stamps: Stamps) -> Column | None:  # noqa: ARG002 - the protocol's
        """See `TimeReader`."""
        return None

    def from_numbers(self, values: Column) -> Column:
        """See `TimeReader`."""
        with np.errstate(over="ignore"):  # beyond all times, which no row may have
            return values * self._factor + self._origin_s

    @property
    def _origin_s(self) -> float:
        return self._start_s + self._context.settings.offset_s

    def new_banner(self, lines: Sequence[str]) -> None:
        """Count from the new banner's start, if that is where the start stands."""
        found = banner_start(lines, self._context) if self.wants_banner else None
        self._start_s = self._start_s if found is None else found

    def problems(self, file: str) -> list[Problem]:  # noqa: ARG002 - the protocol's
        """See `TimeReader`."""
        return []


def _utc(seconds: float, offset_s: float | None, zone: tzinfo) -> float:
    if offset_s is not None:
        return seconds - offset_s
    return float(WallTime(zone).to_utc(np.array([seconds]))[0])


def banner_start(lines: Sequence[str], context: TimeContext) -> float | None:
    """The first date with a time of day that a banner line holds. [s]"""
    for line in lines:
        found = find_moment(line, Dates(context.order))
        if found is not None and found[1]:
            return _utc(found[0].naive_s, found[0].offset_s, context.zone)
    return None


def _start(context: TimeContext, banner: Sequence[str]) -> tuple[float, str] | str:
    start = context.settings.start
    if isinstance(start, str) and start not in ("file name", "banner"):
        try:
            start = datetime.fromisoformat(start)
        except ValueError:
            return f'the start "{start}" of its elapsed time is no ISO date with a time of day'
    if isinstance(start, datetime):
        moment = from_datetime(start)
        started_s = _utc(moment.naive_s, moment.offset_s, context.zone)
        if not all_plausible(np.array([started_s])):
            return f"the start {start.isoformat()} of its elapsed time is no moment of a test"
        return started_s, "settings"
    if start == "banner":
        found = banner_start(banner, context)
        if found is None:
            return "no line above its header holds the date and time at which it started"
        return found, "banner"
    named = find_moment(context.file_name, Dates(context.order))
    if named is None:
        return "its name holds no date at which it started"
    moment = named[0]
    note = "file name" if named[1] else "file name, at 00:00"
    return _utc(moment.naive_s, moment.offset_s, context.zone), note


def make_reader(
    context: TimeContext, banner: Sequence[str], fields: Sequence[str]
) -> TimeReader | str:
    """The reader of a file's time column, or in words why there is none.

    Args:
        context: settings, zone and file.
        banner: the lines above the header.
        fields: the time fields of the first row.
    """
    if context.settings.kind != "clock":
        start = _start(context, banner)
        return start if isinstance(start, str) else ElapsedTimes(context, *start)
    form = clock_form(" ".join(fields), context.settings.format)
    if form is None:
        return f'its first time "{plain(" ".join(fields), 40)}" is no date with a time of day'
    return ClockTimes(context, form)
