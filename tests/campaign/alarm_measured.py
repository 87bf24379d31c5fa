"""Faults laid into measured shears: open data beside this checkout, read where they lie.

Sources: Aarhus University, multi-rate CU triaxial tests on clay, test G1 (CC BY 4.0); Cullinan
sand, ten undrained and six drained tests (CC BY 4.0). Both give strain, q, p′ and more, so cell
pressure is taken as constant and the cell's pressures are made up. Of the sand no time is given:
it is sheared at 0.05 %/min here.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
from alarm_cases import Found
from alarm_stage import Column

from tui.bench.cell_fold import CellFold
from tui.feed.rows import Arrivals, Rows
from tui.settings.cell_toml import CellToml

FOLDER = Path(__file__).parents[2].parent / "shared/data"
WHY_NOT = "the open data are not beside this checkout (../shared/data)"
START = 1_928_000_000.0
CELL_KPA, BACK_KPA = 900.0, 500.0
HEIGHT_MM, AREA_MM2 = 100.0, 1963.5
_TOUCH_S, _BEFORE_S = 0.0, 3600.0


@dataclass(frozen=True)
class Measured:
    """One measured shear as a logger would write it."""

    name: str
    kind: str
    seconds: Column
    """(n,) since shear began. [s]"""
    values: dict[str, Column]
    liquefies: bool
    """Whether the soil itself does what a burst would show."""


def _gauges(
    strain: Column, q: Column, pore: Column, cell: Column, back_ml: Column
) -> dict[str, Column]:
    return {
        "cell_pressure": cell,
        "back_pressure": np.full(len(strain), BACK_KPA),
        "pore_pressure": pore,
        "back_volume": back_ml,
        "axial_displacement": 2.0 + strain * HEIGHT_MM,
        "axial_load": 20.0 + np.maximum(q, 0.0) * AREA_MM2 / (1.0 - strain) / 1000.0,
        "temperature": np.full(len(strain), 20.0),
    }


@cache
def measured() -> tuple[Measured, ...]:
    """All measured shears; none if the data are not there."""
    if not FOLDER.exists():
        return ()
    return (*_clay(), *_sands())


def _table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as table:
        return list(csv.DictReader(table))


def _clay() -> Iterator[Measured]:
    path = FOLDER / "au_clay_rate_triaxial/G1_SW400_subset.csv"
    if not path.exists():
        return
    rows = [row for row in _table(path) if row["TimeSinceStartOfTest_s"]]
    found = {
        key: np.array([float(row[key]) for row in rows])
        for key in (
            "TimeSinceStartOfTest_s",
            "ShearStrain_pct",
            "q_kPa",
            "p_eff_kPa",
            "PorePressure_kPa",
        )
    }
    time = found["TimeSinceStartOfTest_s"] - found["TimeSinceStartOfTest_s"][0]
    pore, q = found["PorePressure_kPa"], found["q_kPa"]
    cell = np.full(len(time), float(np.median(found["p_eff_kPa"] + pore - q / 3.0)))
    values = _gauges(found["ShearStrain_pct"] / 100.0, q, pore, cell, np.zeros(len(time)))
    # Its strain stands while the rate is changed: one stage alone runs without a break.
    inside = time <= time[-1]
    yield Measured("clay G1", "CU", time[inside] + 10.0, values, liquefies=False)


def _sands() -> Iterator[Measured]:
    for path in sorted((FOLDER / "cullinan_sand/csv").glob("*.csv")):
        rows = _table(path)
        strain, q, p, e = (
            np.array([float(row[key]) for row in rows])
            for key in ("axial_strain", "q", "p_prime", "e")
        )
        strain = np.maximum.accumulate(strain) / 100.0
        seconds = strain / (0.05 / 100.0 / 60.0)
        kept = np.concatenate([[True], np.diff(np.floor(seconds / 60.0)) > 0])
        strain, q, p, e, seconds = (one[kept] for one in (strain, q, p, e, seconds))
        kind = "CD" if "_CD" in path.stem else "CU"
        least = p - q / 3.0
        pore = (
            CELL_KPA - least
            if kind == "CU"
            else np.full(len(p), CELL_KPA - float(np.median(least)))
        )
        lost = AREA_MM2 * HEIGHT_MM / 1000.0 * (e[0] - e) / (1.0 + e[0])
        cell = np.full(len(p), CELL_KPA)
        values = _gauges(strain, q, pore, cell, -lost if kind == "CD" else 0.0 * lost)
        if kind == "CD":
            values["back_pressure"] = pore.copy()
        liquid = kind == "CU" and bool((least < 3.0).any())
        yield Measured(path.stem, kind, seconds + 10.0, values, liquid)


def settings_of(one: Measured) -> CellToml:
    """What would have been written about it."""
    units = {
        "back_volume": "ml",
        "axial_displacement": "mm",
        "axial_load": "N",
        "temperature": "degC",
    }
    channels: dict[str, object] = {
        name: {"column": name, "unit": "kPa", "range": "0 to 1500 kPa"}
        for name in ("cell_pressure", "back_pressure", "pore_pressure")
    } | {name: {"column": name, "unit": unit} for name, unit in units.items()}
    return CellToml.model_validate(
        {
            "cell": {"name": "C1", "rating": "1200 kPa"},
            "log": {"rows": "steady", "channels": channels},
            "test": {"id": one.name.replace(" ", "-"), "kind": one.kind},
            "specimen": {
                "diameter": "50 mm",
                "height": f"{HEIGHT_MM:g} mm",
                "drainage": "both ends",
            },
            "plan": {"effective_stress": "400 kPa"},
        }
    )


@dataclass(frozen=True)
class _Fault:
    kind: str
    way: str
    delay_s: float
    rows: int
    size: float


def _spoiled(
    one: Measured, kind: str, begins: int, dice: Random
) -> tuple[dict[str, Column], Column, float, _Fault]:
    """Values and times with a fault, and when its definition first holds. [s]"""
    values = {name: column.copy() for name, column in one.values.items()}
    seconds = one.seconds.copy()
    onset = float(seconds[begins])
    since = np.maximum(seconds - onset, 0.0)
    after = seconds > onset
    cell = values["cell_pressure"]
    undrained = one.kind == "CU"
    if kind == "over-pressure":
        goal, within = 1150.0 * dice.uniform(1.0, 1.04), 600.0
        by = (goal - cell[begins]) * np.clip(since / within, 0.0, 1.0)
        values["cell_pressure"] = cell + by
        if undrained:
            values["pore_pressure"] = values["pore_pressure"] + 0.97 * by
        crosses = onset + within * (1140.0 - cell[begins]) / (goal - cell[begins])
        return values, seconds, crosses, _Fault(kind, "measured: rating", 10.0, 2, goal / 1140.0)
    if kind == "pressure-drift":
        share = dice.uniform(1.3, 5.0)
        limit = max(2.0, 0.01 * cell[begins])
        by = -share * limit * np.clip(since / 1200.0, 0.0, 1.0)
        values["cell_pressure"] = cell + by
        if undrained:
            values["pore_pressure"] = values["pore_pressure"] + 0.97 * by
        return (
            values,
            seconds,
            onset + 1200.0 / share,
            _Fault(kind, "measured: cell falls", 300.0, 0, share),
        )
    if kind == "membrane-burst":
        joined = 1.0 - np.exp(-since / 8.0)
        values["pore_pressure"] = (
            values["pore_pressure"] + (cell - values["pore_pressure"]) * joined
        )
        load = values["axial_load"]
        values["axial_load"] = 20.0 + (load - 20.0) * np.exp(-since / 25.0)
        if not undrained:
            values["back_volume"] = values["back_volume"] - np.minimum(since / 60.0 * 10.0, 80.0)
        return values, seconds, onset + 60.0, _Fault(kind, "measured: in shear", 0.0, 2, 2.0)
    if kind == "shear-stopped":
        for name, column in one.values.items():
            values[name] = np.where(after, column[begins], column)
        # The reading at the onset still moved: the first that stands is the one after it.
        return values, seconds, onset + 1.0, _Fault(kind, "measured: stands", 300.0, 0, 5.0)
    if kind == "sensor-fault":
        values["pore_pressure"] = np.where(after, np.nan, values["pore_pressure"])
        return values, seconds, onset + 1.0, _Fault(kind, "measured: not a number", 0.0, 3, 2.0)
    assert kind == "temperature-swing"
    values["temperature"] = 20.0 + np.clip(since / 1800.0, 0.0, 1.0) * 3.5
    return (
        values,
        seconds,
        onset + 1800.0 * 2.2 / 3.5,
        _Fault(kind, "measured: warms", 600.0, 0, 1.75),
    )


MEASURED_KINDS = (
    "over-pressure", "pressure-drift", "membrane-burst", "shear-stopped", "sensor-fault",
    "temperature-swing",
)  # fmt: skip


def _followed(one: Measured, values: dict[str, Column], seconds: Column, until_s: float):
    """The spells at a moment; before shear the specimen stands for an hour."""
    dice = np.random.RandomState(len(seconds))
    lead = np.arange(-_BEFORE_S, 0.0, 30.0)
    noise = {"cell_pressure": 0.06, "back_pressure": 0.06, "temperature": 0.03}
    came = seconds <= until_s
    joined = {}
    for name, column in values.items():
        first = one.values[name][0]
        if name == "axial_load":
            first = 20.0
        whole = np.concatenate([np.full(len(lead), first), column[came]])
        joined[name] = (
            whole
            + noise.get(name, 0.0) * dice.standard_normal(len(lead) + len(seconds))[: len(whole)]
        )
    times = START + np.concatenate([lead, seconds[came]])
    words = ("consolidation/drained",) * len(lead) + ("shear/shear",) * int(came.sum())
    rows = Rows(times, joined, {"phase": words})
    fold = CellFold("C1", "C1", settings_of(one), (), UTC).take(Arrivals("C1", rows))
    return fold.picture(START + until_s, ()).spells


def measured_cases(kinds: tuple[str, ...] = MEASURED_KINDS, each: int = 1) -> list[Found]:
    """Faults in measured shears, and what liquefies by itself, graded."""
    found = []
    for one in measured():
        if len(one.seconds) < 60:
            continue
        for kind in kinds:
            for number in range(each):
                dice = Random(f"measured {one.name} {kind} {number}")
                begins = int(len(one.seconds) * dice.uniform(0.15, 0.6))
                if one.liquefies and kind in ("pressure-drift", "shear-stopped"):
                    continue  # what looks like a burst holds it back, rightly
                travel = one.values["axial_displacement"]
                strain = (travel[begins] - travel[0]) / HEIGHT_MM
                if kind == "shear-stopped" and strain > 0.97 * settings_of(one).plan.strain_limit:
                    continue  # at its limit a ram may stop
                if kind == "shear-stopped" and one.seconds[begins] < 600.0:
                    continue  # its own rate is not known yet
                load = one.values["axial_load"]
                if kind == "membrane-burst" and load[begins] - 20.0 < 0.6 * (
                    load[: begins + 1].max() - 20.0
                ):
                    continue  # what has given way already cannot collapse
                found.append(_graded(one, kind, begins, dice))
        last = float(one.seconds[-1])
        if "membrane-burst" in kinds:
            raised = [
                s
                for s in _followed(one, one.values, one.seconds, last)
                if s.kind == "membrane-burst"
            ]
            way = "measured: liquefies" if one.liquefies else "measured: as it was"
            found.append(
                Found("membrane-burst", way, 0.7, one.name, 0.0, False, bool(raised),
                      why=raised[0].message[:110] if raised else "")
            )  # fmt: skip
    return [each_one for each_one in found if each_one is not None]


def _graded(one: Measured, kind: str, begins: int, dice: Random) -> Found | None:
    values, seconds, holds, fault = _spoiled(one, kind, begins, dice)
    first = int(np.searchsorted(seconds, holds))
    if first + fault.rows + 1 >= len(seconds):
        return None
    due = float(seconds[first]) + (fault.delay_s if fault.delay_s or not fault.rows else np.inf)
    if fault.rows:
        due = min(due, float(seconds[first + fault.rows - 1]))
    after = int(np.searchsorted(seconds, due, side="right"))
    if after >= len(seconds):
        return None
    onset = START + float(seconds[begins])
    spells = _followed(one, values, seconds, float(seconds[after]))
    mine = [s for s in spells if s.kind == kind and s.raised_at > onset and s.held_back is None]
    made = Found(kind, fault.way, fault.size, one.name, seconds[begins] / 3600.0, True, bool(mine))
    if mine:
        return Found(**{**made.__dict__, "late_s": mine[0].raised_at - START - due})
    others = sorted({s.kind for s in spells if s.raised_at > onset})
    return Found(**{**made.__dict__, "why": f"never; instead {others}"})
