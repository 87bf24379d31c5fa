"""The picture that every view shows: frozen values, written by `advance` alone.

Times are seconds since the epoch (UTC); words and commands turn them into the bench's zone. A
quantity's name ends in its unit; None is "not known", never 0 or NaN. Nothing here depends on the
moment of looking except `Bench.at`, so that a cell in which nothing happened keeps its value and
no pane repaints: ages are `bench.at - live.at`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import tzinfo
from typing import Literal

from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.surroundings import Sibling
from tui.bench.unused import Unused
from tui.settings.problems import Problem

BEING_READ = "its logs are being read"
"""Said of a cell of which nothing is known yet."""
UNTIL_MENDED = "its readings are not told until that is mended"
"""Said of a cell that could not be read or told."""
READING = Problem("note", "the bench is being read", "wait a moment")
"""Before its folders are known."""

PhaseName = Literal["setup", "saturation", "consolidation", "shear", "ended", "interrupted"]
PhaseSource = Literal["marks", "log", "inferred"]
Worst = Literal["ok", "note", "warning", "urgent", "unknown"]


@dataclass(frozen=True, slots=True)
class Phase:
    """What a cell is doing."""

    name: PhaseName
    """The phase after the contract's list."""
    step: str | None
    """Its step: "mount", "b-check", "raise", "hold", "build-up", "drained", "dock", …"""
    since: float
    """Time of the first reading of this *phase*. [s]"""
    step_since: float
    """Time of the first reading of this step. [s]"""
    previous: PhaseName | None
    """The phase before."""
    source: PhaseSource
    """Whether marks, the log's own column or the readings say so."""
    contradiction: str | None = None
    """What another source says instead, in words."""


@dataclass(frozen=True, slots=True)
class PhaseSpan:
    """One stretch of a phase and step; the spans of a cell follow each other without gaps."""

    name: PhaseName
    step: str | None
    start: float
    """Time of its first reading. [s]"""
    end: float | None
    """Time of the first reading of the next span; None while it lasts. [s]"""
    source: PhaseSource


@dataclass(frozen=True, slots=True)
class BCheck:
    """One rise of cell pressure with drainage closed."""

    at: float
    """Its settled reading, or the last before drainage opened. [s]"""
    began: float
    """The last reading before cell pressure moved. [s]"""
    back_pressure_kPa: float | None
    """Back pressure at which it was made."""
    delta_cell_kPa: float
    delta_pore_kPa: float
    B: float
    """From the settled reading. [-]"""
    B_last: float
    """From the last reading. [-]"""
    settled: bool
    """Whether pore pressure had stopped moving; an unsettled check is never accepted."""
    finished: bool
    """False while the check still runs."""


@dataclass(frozen=True, slots=True)
class Live:
    """The newest value of every channel; None where the channel is absent or unreadable."""

    at: float
    """Time of the newest reading, scheduled or live. [s]"""
    cell_pressure_kPa: float | None = None
    back_pressure_kPa: float | None = None
    pore_pressure_kPa: float | None = None
    effective_stress_kPa: float | None = None
    back_volume_ml: float | None = None
    stroke_left_ml: float | None = None
    cell_volume_ml: float | None = None
    axial_displacement_mm: float | None = None
    axial_load_N: float | None = None
    temperature_C: float | None = None


@dataclass(frozen=True, slots=True)
class ScheduleCount:
    """How far the reading schedule of the present phase (or step) has come."""

    kind: str
    """root, log, strain, times or every."""
    slots: int
    taken: int
    missed: int
    extra: int
    next_at: float | None
    """Due time of the next slot; projected for a strain schedule. [s]"""
    last_at: float | None
    """Due time of the slot that ends the schedule. [s]"""
    ticks: str = ""
    """One letter a slot: t taken, m missed, d due (not yet); at most the first 400."""


@dataclass(frozen=True, slots=True)
class Quantities:
    """The phase's own quantities, as of the newest reading."""

    B: float | None = None
    """Of the latest finished check. [-]"""
    U: float | None = None
    """Degree of consolidation. [-]"""
    axial_strain: float | None = None
    volumetric_strain: float | None = None
    deviator_kPa: float | None = None


@dataclass(frozen=True, slots=True)
class Projection:
    """What comes next and when; its times are None and `basis` says why when it cannot be told."""

    event: str
    """"B ≥ 0.95", "dissipation 95 %", "strain 15 %", …"""
    at: float | None
    earliest: float | None
    latest: float | None
    confidence: float | None
    """Probability meant by earliest … latest. [-]"""
    progress: float | None
    """How much of the phase is done. [-]"""
    basis: str
    """In words: what it rests on, or why it cannot be told."""


@dataclass(frozen=True, slots=True)
class LaneSegment:
    """The history of one phase on a lane: its own quantity on a fixed scale."""

    phase: PhaseName
    start: float
    end: float | None
    quantity: str
    """What is drawn: "B", "U", "ε₁", "σ′" …"""
    unit: str
    """"" for a ratio."""
    low: float
    high: float
    """The fixed scale."""
    target: float | None
    """The level that ends the phase, if it has one."""
    points: tuple[tuple[float, float], ...]
    """(time, value), thinned to a bounded number, in time order."""


@dataclass(frozen=True, slots=True)
class Series:
    """One line or cloud of a plot."""

    name: str
    style: Literal["readings", "fit", "construction", "sibling"]
    points: tuple[tuple[float, float], ...]
    """(x, y), thinned to a bounded number."""


@dataclass(frozen=True, slots=True)
class Plot:
    """A picture of the cell in focus, in numbers; panes only draw it."""

    title: str
    x_label: str
    x_unit: str
    y_label: str
    y_unit: str
    series: tuple[Series, ...]
    target: tuple[str, float] | None = None
    """A level of y to be drawn and its name."""
    x_is_time: bool = False
    x_is_log: bool = False
    """Whether x is drawn on a scale of its logarithm; then it is above zero."""
    is_path: bool = False
    """Whether x goes to and fro, as along a stress path: points are in order of time."""
    of_set: bool = False
    """Whether the same plot of the other specimens of its set is to be seen behind it."""
    marks: tuple[tuple[str, float, float], ...] = ()
    """What is constructed, at its place: "t90", x, y."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that a construction or a fit came to."""

    name: str
    value: float
    unit: str
    uncertainty: float | None
    """Standard uncertainty, in the same unit; None where it is not known."""
    basis: str
    """In words: what it rests on."""


@dataclass(frozen=True, slots=True)
class SetEnvelope:
    """The failure envelope of the specimens of one set that have passed their peak."""

    set_name: str
    points: tuple[tuple[str, float, float], ...]
    """Folder of the cell, s′ and t′ at its peak deviator. [kPa]"""
    intercept_kPa: float
    """Of t′ on s′."""
    slope: float
    """Of t′ on s′: sin φ′. [-]"""
    c_kPa: float
    phi_deg: float


@dataclass(frozen=True, slots=True)
class Blind:
    """An alarm kind that cannot be judged, and why; never counted as well."""

    kind: str
    why: str


@dataclass(frozen=True, slots=True)
class Hand:
    """Something that needs a person."""

    cell: str
    what: str
    """"B check 6", "end of consolidation", "schedule runs out", …"""
    at: float | None
    """When it is ready to be done. [s]"""
    earliest: float | None
    latest: float | None
    attended_at: float | None = None
    """When somebody is there for it, where that is later than it is ready. [s]"""
    good_until: float | None = None
    """Until when it can wait without harm. [s]"""


@dataclass(frozen=True, slots=True)
class Visit:
    """A window in which one person at the bench serves all these."""

    at: float
    """From when; to the minute where it is due already. [s]"""
    until: float
    hands: tuple[Hand, ...]
    """Soonest first."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as far as it could be told."""

    cell: str
    folder: str
    test_id: str | None = None
    specimen: str | None = None
    test: str | None = None
    """CU, CD or UU."""
    phase: Phase | None = None
    spans: tuple[PhaseSpan, ...] = ()
    checks: tuple[BCheck, ...] = ()
    live: Live | None = None
    schedule: ScheduleCount | None = None
    quantities: Quantities = Quantities()
    projection: Projection = Projection("", None, None, None, None, None, "no readings yet")
    lane: tuple[LaneSegment, ...] = ()
    plots: Sequence[Plot] = ()
    """Of its phases, the present one's first; they are made when they are looked at."""
    hands: tuple[Hand, ...] = ()
    blind: tuple[Blind, ...] = ()
    rows_used: int = 0
    rows_unused: int = 0
    problems: tuple[Problem, ...] = ()
    idle: bool = False
    """No test runs in it: its hardware is known, nothing is expected of it."""
    ahead: tuple[Projection, ...] = ()
    """What else is foreseen: peak and end of travel in shear, then the phases to come, each after
    the one before; the last is the end of the test."""
    set_name: str | None = None
    """Of the specimens that share one failure envelope."""
    came_to: Sibling | None = None
    """What other specimens of its set may go by."""
    advice: tuple[str, ...] = ()
    """What the schedule still covers and which readings to add, at most three lines."""
    slots_end_early: bool = False
    """Whether slots end before what they are meant for; the first line of advice says so."""
    alarms: tuple[Alarm, ...] = ()
    """That stand, are shelved, or have returned and nobody knows; the most pressing first."""
    spells: tuple[Spell, ...] = ()
    """Everything that was ever raised, in the order of raising."""
    being_read: bool = False
    """Whether its logs hold more than the picture: before that nothing is over or new."""
    figures: tuple[Figure, ...] = ()
    """What its plots are read for."""
    failure: tuple[float, float] | None = None
    """s′ and t′ at the greatest deviator, once that has passed. [kPa]"""
    unused: Unused = field(default_factory=Unused)
    """What of its logs could not be used."""

    @property
    def told(self) -> bool:
        """Whether it can be said what this cell is doing."""
        known = self.idle or self.phase is not None
        return known and not any(problem.severity == "error" for problem in self.problems)


@dataclass(frozen=True, slots=True)
class Guard:
    """Whether somebody keeps the night watch."""

    on_duty: bool = False
    host: str | None = None
    beat_age_s: float | None = None


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything that the views show."""

    at: float
    """The moment of this picture. [s]"""
    folder: str
    """As the user named it."""
    name: str
    zone: tzinfo
    units: Literal["SI", "US"] = "SI"
    cells: tuple[Cell, ...] = ()
    not_adopted: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    hands: tuple[Hand, ...] = ()
    """Of all cells, earliest first."""
    visits: tuple[Visit, ...] = ()
    """In which they can be served: each hand that is due soon is in one of them; earliest first."""
    guard: Guard = Guard()
    worst: Worst = "unknown"
    follows_clock: bool = True
    """False for a finished bench, shown as of its newest row, and for --at and --replay."""
    alarms: tuple[Alarm, ...] = ()
    """Of the bench as a whole: one for what several cells share."""
    spells: tuple[Spell, ...] = ()
    """Of the bench as a whole."""
    envelopes: tuple[SetEnvelope, ...] = ()
    """Of its sets, as far as they are known."""
    carried: object = field(default=None, compare=False, repr=False)
    """What `advance` carries from look to look; no view reads it."""
