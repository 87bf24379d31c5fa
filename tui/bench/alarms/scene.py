"""What a rule is told: the cell it stands in, and the reading with the phase it belongs to."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isnan
from typing import Any, Self

from tui.bench.aims import Aims, aims_of
from tui.bench.alarms.board import Board, Condition
from tui.bench.attended import Attended
from tui.bench.checks import Checks
from tui.bench.gauges import Ends, ends_of
from tui.bench.phases import Mark
from tui.bench.readings import Reading
from tui.bench.steps import Steps
from tui.settings.alarm_limits import Limits
from tui.settings.cell_toml import CellToml

LIVE_TELLS = (
    "cell_pressure", "back_pressure", "pore_pressure", "axial_displacement", "axial_load",
    "temperature",
)  # fmt: skip
"""Channels of a live row that reach the alarms: pressures, travel, temperature."""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A cell and its test, which do not change while it is followed."""

    settings: CellToml
    aims: Aims
    limits: Limits
    ends: Ends
    """Of the gauges, as far as the settings name them."""
    attended: Attended | None
    """When somebody is there; None: always."""

    @staticmethod
    def of(settings: CellToml, attended: Attended | None = None) -> "Scene":
        """The scene that the settings describe."""
        return Scene(
            settings,
            aims_of(settings),
            Limits(settings.alarms.limits),
            ends_of(settings.log),
            attended,
        )


@dataclass(slots=True)
class Moment:
    """One reading, scheduled or live, and what is known of the cell at it."""

    reading: Reading
    time: float
    phase: str
    step: str | None
    step_since: float
    """First reading of the step, as it is told by now. [s]"""
    told: Steps
    """Levels and moves of the pressures, zeros of the phases."""
    checks: Checks
    marks: tuple[Mark, ...]
    live: bool = False
    """A row of the live file: it tells pressures, travel and temperature."""
    gauges: Mapping[str, float] = field(default_factory=dict)
    """What a gauge itself shows, of channels whose zero has moved; see `gauge`."""
    effective_stress: float = field(init=False)
    """Cell less pore pressure, or back pressure where none is measured and it drains; NaN where
    neither can be told. [kPa]"""

    def gauge(self, channel: str) -> float:
        """A channel as its gauge shows it, which decides about ends of range and stroke."""
        value: float = getattr(self.reading, channel)
        return self.gauges.get(channel, value)

    def __post_init__(self) -> None:
        cell, pore = self.reading.cell_pressure, self.reading.pore_pressure
        if isnan(pore) and self.drains:
            pore = self.reading.back_pressure
        self.effective_stress = cell - pore

    @property
    def drains(self) -> bool:
        """Whether drainage is open, by the log's word, else by phase and step."""
        word = self.reading.drainage
        if word is not None:
            return word == "open"
        if self.phase == "shear":
            return self.told.aims.test == "CD"
        return self.step in ("hold", "drained") and self.phase != "setup"


class Rule:
    """Follows the readings of one cell and tells conditions of them.

    A rule keeps plain values, tuples, lists, and things with a `copy` of their own.
    """

    every_s = 5.0
    """Rows nearer to each other tell it nothing more; those of a new step always do. [s]"""

    def __init__(self, scene: Scene, board: Board) -> None:
        self.scene, self.board = scene, board
        self.next_at = -inf
        """From when on it wants a reading, see `every_s`. [s]"""
        self.blind: dict[str, str] = {}
        """Kinds that cannot be judged now though their channels are there, and why."""
        self.marks: tuple[Mark, ...] = ()
        """What people have marked, also since the newest reading."""

    def add(self, now: Moment) -> None:
        """Follow one reading."""
        raise NotImplementedError

    def begin(self, now: Moment) -> None:
        """A phase or step begins with this reading, which follows in `add`."""

    @property
    def due(self) -> float:
        """When the next thing happens if no reading comes. [s]"""
        return inf

    def pass_time(self, now: float) -> None:
        """No reading has come until this moment."""

    def copy(self, board: Board) -> Self:
        """An independent rule in the same state, on the copy of its board."""
        other = type(self).__new__(type(self))
        for name, value in self.__dict__.items():
            other.__dict__[name] = value if type(value) in _STAND else _copied(value, board)
        other.board = board
        return other


_STAND = frozenset((float, int, str, bool, tuple, frozenset, type(None), Scene))
"""Most of what a rule has never changes."""


def _copied(value: Any, board: Board) -> Any:
    if isinstance(value, Condition):
        return board.conditions[value.key]
    if isinstance(value, dict):
        return {key: _copied(one, board) for key, one in value.items()}
    if isinstance(value, list):
        return list(value)
    if isinstance(value, (Scene, Board, tuple, str, int, float)) or value is None:
        return value
    return value.copy() if hasattr(value, "copy") else value
