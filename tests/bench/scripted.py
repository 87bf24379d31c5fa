"""A test told by hand: rows of a made-up cell whose phases, checks and volumes are known exactly.

The numbers are invented; nothing here checks a formula, only what the picture makes of rows.
"""

from dataclasses import dataclass, field
from math import exp, sqrt

import numpy as np

from tui.bench.readings import Reading
from tui.feed.rows import Rows
from tui.settings.cell_toml import NUMERIC_CHANNELS, TEXT_CHANNELS, CellToml

START = 1_928_000_000.0
"""An ordinary moment. [s since the epoch]"""
ROOT_MIN = [(0.5 * k) ** 2 for k in range(1, 25)]
"""Due times of a root-time schedule of 24 slots. [min]"""


def settings(**changes: dict[str, object]) -> CellToml:
    """A cell as its settings file would say it; tables may be changed key by key."""
    tables: dict[str, dict[str, object]] = {
        "cell": {"name": "C1", "rating": "1700 kPa"},
        "test": {"id": "T1", "kind": "CU", "standard": "BS 1377-8"},
        "specimen": {
            "label": "A-1",
            "diameter": "50 mm",
            "height": "100 mm",
            "drainage": "one end",
        },
        "plan": {
            "effective_stress": "150 kPa",
            "cell_step": "50 kPa",
            "excess": "10 kPa",
            "back_pressure_limit": "600 kPa",
            "strain_limit": "15 %",
        },
        "schedule": {
            "saturation": {"kind": "root", "step": 0.5, "slots": 24, "per": "step"},
            "consolidation": {"kind": "root", "step": 0.5, "slots": 60},
            "shear": {"kind": "strain", "step": "0.2 %", "slots": 80},
        },
    }
    for table, keys in changes.items():
        tables.setdefault(table, {}).update(keys)
    return CellToml.model_validate(tables)


@dataclass
class Script:
    """Writes rows and keeps what really happened."""

    now: float = START
    cell: float = 0.0
    back: float = 0.0
    pore: float = 0.0
    volume: float = 0.0
    travel: float = 2.0
    load: float = 5.0
    rows: list[Reading] = field(default_factory=list)
    begins: list[tuple[str, str, float]] = field(default_factory=list)
    """(phase, step, time of the first reading that belongs to it)."""
    b_values: list[float] = field(default_factory=list)
    phase_word: str | None = None

    def row(self, after_s: float = 0.0) -> None:
        """One row, some seconds after the last moment."""
        self.now += after_s
        self.rows.append(
            Reading(
                self.now,
                cell_pressure=self.cell,
                back_pressure=self.back,
                pore_pressure=self.pore,
                back_volume=self.volume,
                axial_displacement=self.travel,
                axial_load=self.load,
                phase=self.phase_word,
            )
        )

    def begin(self, phase: str, step: str, first_after_s: float) -> None:
        """The next row, so many seconds from now, belongs to this phase and step."""
        self.begins.append((phase, step, self.now + first_after_s))

    def set_up(self) -> None:
        """Mounted, then under a small cell pressure."""
        self.begin("setup", "mount", 0.0)
        for _ in range(4):
            self.row(120)
        self.begins[-1] = ("setup", "mount", self.rows[0].time)
        self.begin("setup", "hold", 120)
        self.cell, self.pore = 20.0, 12.0
        for _ in range(6):
            self.row(120)

    def check(self, b: float, step_kpa: float = 50.0, *, build_up: bool = False) -> None:
        """Cell pressure up with drainage closed; pore pressure follows with a short delay."""
        self.row(10)  # the zero reading
        where = ("consolidation", "build-up") if build_up else ("saturation", "b-check")
        self.begin(*where, 15.0)
        self.b_values.append(b)
        zero, pore = self.now, self.pore
        self.cell += step_kpa
        for due in ROOT_MIN[:14]:
            self.now = zero + 60.0 * due
            self.pore = pore + b * step_kpa * (1.0 - exp(-due / 1.5))
            self.row()

    def raise_back(self, to_kpa: float) -> None:
        """Back pressure follows, the valve opens, the specimen drinks; then it is held."""
        self.row(10)
        self.begin("saturation", "raise", 15.0)
        zero, pore, volume = self.now, self.pore, self.volume
        self.back = to_kpa
        for k, due in enumerate(ROOT_MIN):
            self.now = zero + 60.0 * due
            share = 1.0 - exp(-due / 10.0)
            self.pore = pore + (self.back - pore) * share
            self.volume = volume + 0.8 * share
            if k == 2:
                self.begins.append(("saturation", "hold", self.now))
            self.row()

    def drain(self, full_ml: float = 6.0, t90_min: float = 90.0) -> None:
        """Drainage opened: volume leaves by the early root-time law, then levels off."""
        self.row(10)
        zero, pore, volume = self.now, self.pore, self.volume
        self.begin("consolidation", "drained", 15.0)
        for k in range(1, 61):
            due = (0.5 * k) ** 2
            self.now = zero + 60.0 * due
            degree = (
                min(1.0, sqrt(0.848 * due / t90_min * 4.0 / np.pi))
                if due < 35
                else (1.0 - 0.8106 * exp(-2.4674 * 0.848 * due / t90_min))
            )
            self.volume = volume - full_ml * degree
            self.pore = pore + (self.back - pore) * max(0.0, degree - 0.05)
            self.row()

    def shear(self, to_strain: float = 0.10, per_min: float = 0.0005) -> None:
        """The ram docks (travel without load), then shears at a steady rate."""
        self.row(60)
        self.begin("shear", "dock", 30.0)
        for _ in range(4):
            self.travel += 0.3
            self.row(30)
        step = 0.002
        self.begin("shear", "shear", step / per_min * 60.0)
        travel, pore, load = self.travel, self.pore, self.load
        for k in range(1, round(to_strain / step) + 1):
            strain = k * step
            self.travel = travel + 100.0 * strain
            self.load = load + 300.0 * strain / (strain + 0.01)
            self.pore = pore + 60.0 * strain / (strain + 0.02)
            self.row(step / per_min * 60.0)

    def let_go(self) -> None:
        """The pressures are let down."""
        self.row(60)
        self.begin("ended", "", 60.0)
        self.cell, self.back, self.pore, self.load = 50.0, 20.0, 30.0, 10.0
        for _ in range(5):
            self.row(60)
            self.cell = max(0.0, self.cell - 20.0)


def whole_test() -> Script:
    """Set-up to end: three saturation steps, build-up, consolidation, shear."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for target, b in ((60.0, 0.62), (110.0, 0.84)):
        script.check(b)
        script.raise_back(target)
    script.check(0.96)
    script.raise_back(160.0)
    script.check(0.97, 140.0, build_up=True)
    script.drain()
    script.shear()
    script.let_go()
    return script


def as_rows(readings: list[Reading]) -> Rows:
    """Readings as the feed hands them on."""
    return Rows(
        np.array([reading.time for reading in readings]),
        {
            name: np.array([getattr(reading, name) for reading in readings])
            for name in NUMERIC_CHANNELS
        },
        {name: tuple(getattr(reading, name) for reading in readings) for name in TEXT_CHANNELS},
    )
