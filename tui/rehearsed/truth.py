"""The truth about a rehearsed cell with its times, as it is written beside the bench."""

from collections.abc import Callable
from datetime import datetime, tzinfo
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.records import TestRun
from reduce.rehearsal.truth import facts, settled_check
from tui.rehearsed.fault_kinds import step_at
from tui.rehearsed.striking import Begun, Strike

When = Callable[[float], str]
"""Seconds since the test began → ISO 8601 with offset."""

_DRY = {"water_content": 0.0, "saturation": 0.0}
"""Of a specimen set up dry; S0 is what its flushing and the first water leave."""

SCHEMA = "porewatch.rehearsal/1"


def phase_of(run: TestRun, second: float) -> str:
    """ "saturation/raise" and so on of a reading; that at an act belongs to the step before."""
    inside = [step for step in run.steps if step.act_s < second] or run.steps[:1]
    step = inside[-1]
    return f"{step.phase}/{step.step}" if step.step else step.phase


def truth_of(begun: Begun, readings_s: NDArray[np.float64], zone: tzinfo) -> dict[str, Any]:
    """Everything known about a cell, also of what comes after the end of the bench.

    Args:
        begun: the cell and what happens in it.
        readings_s: (n,) what its logger read. [s]
        zone: of the bench.
    """
    setup, run, started = begun.setup, begun.run, begun.started

    def when(second: float) -> str:
        return datetime.fromtimestamp(started + second, zone).isoformat()

    last = float(readings_s[-1]) if len(readings_s) else 0.0
    known = facts(run)
    phases, coming = _phases(run, readings_s, when)
    checks: list[dict[str, Any]] = []
    later: list[dict[str, Any]] = []
    for check in run.checks:
        found = settled_check(run, check, readings_s)
        entry = {
            "at": when(found.at_s),
            "began_at": when(check.began_s),
            "ended_at": when(check.ended_s),
            "phase": check.in_phase,
            "back_pressure_kPa": check.back_kPa,
            "delta_cell_kPa": check.delta_cell_kPa,
            "delta_pore_kPa": found.b * check.delta_cell_kPa,
            "B": found.b,
            "B_last": found.b_last,
            "B_without_lag": check.b_model,
            "settled": found.settled,
            "saturation": check.saturation,
        }
        (checks if check.ended_s <= last else later).append(entry)
    return {
        "schema": SCHEMA,
        "cell": setup.plan.cell,
        "test_id": setup.test_id,
        "kind": setup.plan.kind,
        "standard": setup.plan.standard,
        "label": setup.label,
        "started": when(0.0),
        "last_reading": when(last),
        "soil": known["soil"],
        "phases": phases,
        "coming": coming,
        "specimen": known["specimen"] | (_DRY if setup.mounting == "dry" else {}),
        "saturation": {
            "S0": setup.plan.soil.saturation,
            "b_target": setup.plan.b_target,
            "B": checks[-1]["B"] if checks else None,
            "checks": checks,
            "coming_checks": later,
        },
        "consolidation": known["consolidation"]
        and {"opened_at": when(run.opened_s), **known["consolidation"]},
        "shear": {"contact_at": when(run.contact_s), **known["shear"]},
        "faults": [_fault(strike, run, readings_s, when) for strike in begun.strikes],
    }


def _phases(
    run: TestRun, readings_s: NDArray[np.float64], when: When
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Steps that the log shows, each with its first reading, and those after its end."""
    last = float(readings_s[-1]) if len(readings_s) else 0.0
    shown: list[dict[str, Any]] = []
    coming: list[dict[str, Any]] = []
    for index, step in enumerate(run.steps):
        end = run.steps[index + 1].act_s if index + 1 < len(run.steps) else run.end_s
        since = step.act_s if index else -1.0
        own = readings_s[(readings_s > since) & (readings_s <= end)]
        entry = {
            "name": step.phase,
            "step": step.step or None,
            "start": when(float(own[0])) if len(own) else None,
            "act_at": when(step.act_s),
            "end": when(end) if end <= last else None,
        }
        (shown if len(own) else coming).append(entry)
    return shown, coming


def _fault(
    strike: Strike, run: TestRun, readings_s: NDArray[np.float64], when: When
) -> dict[str, Any]:
    onset = strike.here.onset_s
    phase, step = step_at(run, onset)
    after = readings_s[readings_s > onset]
    return {
        "kind": strike.kind.name,
        "about": strike.kind.about,
        "what": strike.kind.what,
        "onset": when(onset),
        "first_reading": when(float(after[0])) if len(after) else None,
        "until": None,
        "phase": phase,
        "step": step or None,
        "size": dict(strike.size),
    }
