"""When a logger reads a rehearsed cell: at its slots and around each act, or at a pace."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.records import TestRun

Column = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ReadingPlan:
    """The schedules of one cell."""

    setup_s: float = 300.0
    """Between readings while setting up and after the end."""
    root_step: float = 0.5
    """Of saturation: due at (step · k)² min."""
    root_slots: int = 40
    log_first_min: float = 0.1
    """Of consolidation: due at first · ratio^(k - 1)."""
    log_ratio: float = 1.5
    log_slots: int = 26
    dock_s: float = 60.0
    strain_step: float = 0.001
    strain_slots: int = 160


def root_due_s(plan: ReadingPlan) -> list[float]:
    """Seconds after the start of a saturation step. [s]"""
    return [round(60.0 * (plan.root_step * k) ** 2) for k in range(1, plan.root_slots + 1)]


def log_due_s(plan: ReadingPlan) -> list[float]:
    """Seconds after drainage opened. [s]"""
    return [60.0 * plan.log_first_min * plan.log_ratio**k for k in range(plan.log_slots)]


def strain_due_s(run: TestRun, plan: ReadingPlan) -> list[float]:
    """When the slots of a strain schedule fall, by the strain that was reached. [s]"""
    end = next(step.act_s for step in run.steps if step.phase == "ended")
    inside = run.trace.seconds[(run.trace.seconds >= run.contact_s) & (run.trace.seconds <= end)]
    # The gauge knows no touch: it counts from where docking was declared done.
    strain = run.trace.at("strain", inside)
    strain = strain - strain[0]
    due: list[float] = []
    for k in range(1, plan.strain_slots + 1):
        index = int(np.searchsorted(strain, k * plan.strain_step))
        if index == 0:
            continue
        if index == len(strain):
            break
        part = (k * plan.strain_step - strain[index - 1]) / (strain[index] - strain[index - 1])
        due.append(float(inside[index - 1] + part * (inside[index] - inside[index - 1])))
    return due


def scheduled_times(run: TestRun, plan: ReadingPlan, extra_s: tuple[float, ...] = ()) -> Column:
    """Every reading of a logger that follows the schedules, on full seconds. (n,) [s]"""
    times: set[float] = {0.0, *run.extra_s, *extra_s}
    anchor = 0.0
    for index, step in enumerate(run.steps):
        start = step.act_s
        end = run.steps[index + 1].act_s if index + 1 < len(run.steps) else run.end_s
        if not step.continues:
            anchor = start
        times.add(start)
        if step.readings == "shear":
            due = strain_due_s(run, plan)
        elif step.readings == "saturation":
            due = [anchor + second for second in root_due_s(plan)]
        elif step.readings == "consolidation":
            due = [anchor + second for second in log_due_s(plan)]
        else:
            pace = plan.dock_s if step.readings == "dock" else plan.setup_s
            due = [start + pace * k for k in range(1, math.ceil((end - start) / pace) + 1)]
        times.update(float(round(second)) for second in due if start < round(second) < end)
    return np.array(sorted(times))


def steady_times(run: TestRun, every_s: float) -> Column:
    """Every reading of a logger with a fixed pace. (n,) [s]"""
    return np.arange(0.0, run.end_s, every_s)
