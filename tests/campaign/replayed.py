"""A drawn test replayed through the fold of a cell: what was foreseen, and what came."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from drawn import Case
from numpy.typing import NDArray

from reduce.rehearsal.readings import ReadingPlan, scheduled_times, steady_times
from reduce.rehearsal.sensors import CHANNELS, sense
from tui.bench.attended import Attended
from tui.bench.cell_fold import CellFold
from tui.bench.picture import Cell, PhaseSpan, Projection
from tui.bench.surroundings import Surroundings
from tui.feed.rows import Arrivals, Rows
from tui.settings.cell_toml import CellToml

Column = NDArray[np.float64]
READING = ReadingPlan(log_ratio=1.35, log_slots=44, strain_slots=220)


def settings_of(case: Case) -> CellToml:
    """What the technician wrote about the test."""
    plan = case.plan
    tables: dict[str, dict[str, object]] = {
        "cell": {"name": plan.cell, "rating": f"{plan.rating_kPa:g} kPa"},
        "log": {"rows": "scheduled" if case.every_s is None else "steady"},
        "test": {"id": "T1", "kind": plan.kind, "standard": plan.standard},
        "specimen": {
            "diameter": f"{plan.diameter_mm:g} mm",
            "height": f"{plan.height_mm:g} mm",
            "drainage": plan.drainage,
        },
        "plan": {
            "effective_stress": f"{plan.effective_kPa:g} kPa",
            "cell_step": f"{plan.cell_step_kPa:g} kPa",
            "excess": f"{plan.excess_kPa:g} kPa",
            "b_target": plan.b_target,
            "back_pressure_limit": f"{plan.back_limit_kPa:g} kPa",
            "step_time": "6 h",
            "consolidation_end": plan.consolidation_end,
            "strain_limit": f"{plan.strain_limit * 100:g} %",
            "strain_rate": f"{case.run.rate_percent_min:g} %/min",
        },
        "schedule": {
            "saturation": {
                "kind": "root", "step": READING.root_step, "slots": READING.root_slots,
                "per": "step",
            },
            "consolidation": {
                "kind": "log", "first": f"{READING.log_first_min} min",
                "ratio": READING.log_ratio, "slots": READING.log_slots,
            },
            "shear": {"kind": "strain", "step": "0.1 %", "slots": READING.strain_slots},
        },
    }  # fmt: skip
    return CellToml.model_validate(tables)


def rows_of(case: Case, without: tuple[str, ...] = ()) -> Rows:
    """What its logger wrote.

    Args:
        case: the test.
        without: channels that this cell does not have.
    """
    run = case.run
    times = (
        scheduled_times(run, READING) if case.every_s is None else steady_times(run, case.every_s)
    )
    hour = datetime.fromtimestamp(case.started, UTC).hour
    sensed = sense(run, times, case.made, hour).values
    since = np.maximum(times - run.opened_s, 0.0)
    # The line behind the base was under the pressure of the pores: it lets go of that at once.
    sensed["back_volume"] = sensed["back_volume"] - case.tube_ml * (1.0 - np.exp(-since / 15.0))
    warm = sensed["temperature"] - sensed["temperature"][0]
    sensed["back_volume"] = sensed["back_volume"] - case.warmth_ml_C * warm
    resolution = {"back_volume": 0.01, "axial_displacement": 0.001}
    for name, step in resolution.items():
        sensed[name] = np.round(sensed[name] / step) * step
    return Rows(
        case.started + times, {name: sensed[name] for name in CHANNELS if name not in without}
    )


@dataclass(frozen=True)
class Replay:
    """A test that was followed to its end."""

    case: Case
    rows: Rows
    last: Cell
    """As it stood with all rows."""
    settings: CellToml

    def surroundings(self) -> Surroundings:
        """When somebody is there, as the settings of the bench would say."""
        return Surroundings(attended=Attended.of(self.case.attended, UTC))

    def looks(self, moments: list[float]) -> list[Cell]:
        """The picture at moments, in order, each from the rows that had come by then."""
        attended = Attended.of(self.case.attended, UTC)
        fold = CellFold("C1", "C1", self.settings, (), UTC, attended=attended, judges=False)
        found, at = [], 0
        for moment in moments:
            until = int(np.searchsorted(self.rows.times, moment, side="right"))
            if until > at:
                fold = fold.take(Arrivals("C1", _part(self.rows, at, until)))
                at = until
            found.append(fold.picture(moment, (), self.surroundings()))
        return found


def replayed(case: Case, without: tuple[str, ...] = ()) -> Replay:
    """Follow a test to its end."""
    settings, rows = settings_of(case), rows_of(case, without)
    replay = Replay(case, rows, Cell("C1", "C1"), settings)
    return replace(replay, last=replay.looks([float(rows.times[-1])])[0])


def _part(rows: Rows, start: int, stop: int) -> Rows:
    return Rows(
        rows.times[start:stop], {name: column[start:stop] for name, column in rows.channels.items()}
    )


@dataclass(frozen=True)
class Stretch:
    """A phase whose end is foreseen: from its first reading to the event."""

    phase: str
    begins: float
    event: float
    graded_as: str = ""
    """Where the end is no matter of the specimen; empty: as its phase."""

    def at(self, part: float) -> float:
        """The moment when this part of it has passed. [s]"""
        return self.begins + part * (self.event - self.begins)


def stretches(replay: Replay) -> list[Stretch]:
    """The phases of the test with the moments that are true of them."""
    case, run = replay.case, replay.case.run
    first = {step.phase: step.act_s for step in reversed(run.steps)}
    found = []
    passed = [
        check.at
        for check in replay.last.checks
        if check.settled and case.plan.b_target <= check.B <= 1.02
    ]
    if passed:
        found.append(Stretch("saturation", case.started + first["saturation"], passed[0]))
    opened = case.started + run.opened_s
    by_clock = " by the clock" if case.plan.consolidation_end == "24 h" else ""
    found.append(
        Stretch(
            "consolidation", opened, opened + consolidation_end_s(case), f"consolidation{by_clock}"
        )
    )
    strain = run.trace.at("strain", run.trace.seconds)
    inside = (run.trace.seconds >= run.contact_s) & (strain - strain[0] >= -1.0)
    zero = run.trace.one("strain", run.contact_s)
    limit = float(
        np.interp(case.plan.strain_limit, strain[inside] - zero, run.trace.seconds[inside])
    )
    found.append(Stretch("shear", case.started + run.contact_s, case.started + limit))
    return found


def consolidation_end_s(case: Case) -> float:
    """When the plan's criterion was met, by the specimen's own truth. [s since drainage opened]"""
    drains, end = case.drains, case.plan.consolidation_end
    if end == "24 h":
        return 86400.0
    if end == "t100 + 1 log cycle":
        return 10.0 * drains.t100_s
    if drains.base_is_drained:
        return drains.time_of(0.95)
    times = np.geomspace(1.0, 60.0 / drains.first_rate_per_s, 4000)
    return float(np.interp(-0.05, -drains.base(times), times))


def projected(cell: Cell, phase: str) -> Projection | None:
    """What the picture foresees of a phase; None while it believes in another one."""
    return cell.projection if cell.phase is not None and cell.phase.name == phase else None


def true_spans(case: Case, rows: Rows) -> list[PhaseSpan]:
    """The steps as they were, each with the first reading that belongs to it."""
    found = []
    for step, after in zip(case.run.steps, [*case.run.steps[1:], None], strict=True):
        begun = case.started + step.act_s
        ends = np.inf if after is None else case.started + after.act_s
        own = rows.times[(rows.times > begun) & (rows.times <= ends)]
        if len(own):
            found.append(PhaseSpan(step.phase, step.step or None, float(own[0]), None, "log"))  # type: ignore[arg-type]
    return found
