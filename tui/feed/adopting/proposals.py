"""What is proposed for the settings of an unknown logger, with reasons and doubts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from reduce.units import convert
from tui.feed.rows import Column
from tui.settings.channel_names import NUMERIC_CHANNELS

Sign = Literal[1, -1]


class NothingToAdoptError(ValueError):
    """Why a folder cannot be adopted, in one line that says what was looked for."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that the files leave open and a person knows."""

    key: str
    """Dotted key of `cell.toml` that settles it."""
    what: str
    remedy: str


@dataclass(frozen=True, slots=True, eq=False)
class SeenColumn:
    """A column as the samples show it."""

    name: str
    """As the header writes it: untrusted."""
    unit: str | None
    """A unit of a kind that a channel may have."""
    unit_from: str
    """Where that unit stands, in words; empty without one."""
    values: Column
    """(n,) raw numbers of the sampled rows in time order, NaN where there is none."""
    words: tuple[str, ...] = ()
    """The different words of a column that holds no numbers, in order of their first row."""
    is_time: bool = False

    @property
    def numeric(self) -> bool:
        """Whether it holds any number."""
        return bool((self.values == self.values).any())


@dataclass(frozen=True, slots=True)
class Proposal:
    """What one column is taken for."""

    column: SeenColumn
    channel: str | None
    """None: it is not read."""
    unit: str | None = None
    """Of the gauge; a guess where a doubt says so, None for words."""
    sign: Sign = 1
    why: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether nothing about it is open."""
        return not self.doubts

    @property
    def readings(self) -> Column:
        """(n,) what the gauge shows in the channel's internal unit, sign and zero left aside."""
        inside = NUMERIC_CHANNELS.get(self.channel or "")
        if self.unit is None or inside is None:
            return self.column.values
        return convert(self.column.values, self.unit, inside)


def place_of(proposals: Sequence[Proposal], channel: str) -> int | None:
    """Where the one column of numbers of a channel stands; None if none or several are it."""
    found = [place for place, one in enumerate(proposals) if one.channel == channel]
    return found[0] if len(found) == 1 and proposals[found[0]].column.numeric else None


def readings_of(proposals: Sequence[Proposal], channel: str) -> Column | None:
    """What the one column of a channel reads."""
    place = place_of(proposals, channel)
    return None if place is None else proposals[place].readings


@dataclass(frozen=True, slots=True)
class TimeProposal:
    """How the time of a row is read."""

    columns: tuple[str, ...]
    """One, or date and time of day."""
    kind: str = "clock"
    """As `[log] time` names it."""
    format: str | None = None
    """Pinned only where it would have to be guessed again."""
    start: str | None = None
    """Of elapsed time."""
    why: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    choices: tuple[Mapping[str, Any], ...] = ()
    """What settles the doubts: keys and values of `[log] time`, one of them to be chosen."""


@dataclass(frozen=True, slots=True)
class Adoption:
    """Everything that is proposed for a folder."""

    folder: Path
    name: str
    """Of the cell."""
    files: str
    """The glob that takes its logs."""
    taken: tuple[str, ...]
    """Names of the logs."""
    layout: str
    """Separator, decimal mark and header in words."""
    time: TimeProposal
    columns: tuple[Proposal, ...]
    """In the order of the header."""
    phases: Mapping[str, str] = field(default_factory=dict)
    """Words of the phase column."""
    live: str | None = None
    first_row: str | None = None
    """Wall time of the first sampled row."""
    other_doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """All that is open, once each."""
        of_columns = (doubt for one in self.columns for doubt in one.doubts)
        return tuple(dict.fromkeys((*self.other_doubts, *self.time.doubts, *of_columns)))
